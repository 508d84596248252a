"""The report as rows: one for each person, without addresses and telephone numbers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from datetime import datetime, timedelta, tzinfo

from onsite.progress.absent import is_absent
from onsite.progress.batches import Batch
from onsite.progress.stage import PersonStatus, Stage, stage_of_pick
from onsite.report.numbers import ReportFacts


@dataclass(frozen=True, slots=True)
class PersonRow:
    """How one person stands. Moments are aware, in the shoot's zone, None where it has not come to that.

    `first_frame` is by the stations' time, where it could be told, and `waited_minutes` from arriving until
    then. Of `picks`, `sent` are or were at retouch, `back` were accepted and `delivered` handed over.
    """

    key: str
    name: str
    group: str
    sequence: int | None
    stage: str
    absent: bool
    withdrawn: bool
    walk_in: bool
    arrived: datetime | None
    first_frame: datetime | None
    waited_minutes: float | None
    frames: int
    proofed: datetime | None
    picked: datetime | None
    picks: int
    sent: int
    back: int
    delivered: int
    reminded: datetime | None
    may_be_published: bool
    not_published_because: str


COLUMNS = tuple(field.name for field in fields(PersonRow))
OF_BOOKS = ("batches", "retouchers")
"""Columns that only the books have: in which batches somebody's picks went out last, and to whom."""


def person_rows(facts: ReportFacts) -> list[PersonRow]:
    """Everybody, in the order of the roster."""
    return [_row(s, facts) for s in facts.people]


def _row(s: PersonStatus, facts: ReportFacts) -> PersonRow:
    zone, after = facts.made.tzinfo, s.pictures
    first = facts.firsts.get(s.person.id)
    waited = (first - s.arrived) / timedelta(minutes=1) if first and s.arrived else None
    return PersonRow(
        key=s.person.key,
        name=s.person.name,
        group=s.person.group,
        sequence=s.person.sequence,
        stage=s.stage.value,
        absent=is_absent(s, facts.over),
        withdrawn=s.person.withdrawn,
        walk_in=s.walk_in,
        arrived=_local(s.arrived, zone),
        first_frame=first,
        waited_minutes=None if waited is None else round(max(waited, 0.0), 1),
        frames=s.frames,
        proofed=_local(after.proofed, zone),
        picked=_local(after.picked, zone),
        picks=len(after.picks),
        sent=sum(pick.sent is not None for pick in after.picks),
        back=sum(pick.received is not None for pick in after.picks),
        delivered=sum(stage_of_pick(pick) is Stage.DELIVERED for pick in after.picks),
        reminded=_local(after.reminded, zone),
        may_be_published=s.publication.allowed,
        not_published_because=s.publication.reason or "",
    )


def _local(moment: datetime | None, zone: tzinfo | None) -> datetime | None:
    return None if moment is None else moment.astimezone(zone)


def row_cells(row: PersonRow) -> list[str]:
    """The row as texts: yes or nothing, ISO 8601 in whole seconds."""
    return [_cell(getattr(row, column)) for column in COLUMNS]


def book_cells(status: PersonStatus, batches: Mapping[str, Batch]) -> list[str]:
    """The cells under `OF_BOOKS`."""
    names = list(dict.fromkeys(pick.batch for pick in status.pictures.picks if pick.batch))
    hands = list(dict.fromkeys(batches[name].retoucher for name in names if name in batches))
    return [_cell("; ".join(names)), _cell("; ".join(hands))]


def _cell(value: object) -> str:
    if value is None or value is False:
        return ""
    if value is True:
        return "yes"
    if isinstance(value, datetime):
        return value.isoformat(timespec="seconds")
    return str(value)
