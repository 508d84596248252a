"""Writes the report, for the client or as books, as HTML, CSV or JSON by the file's extension.

All three are made from the same frozen `ReportFacts`, so that they cannot disagree. None of them holds
addresses, telephone numbers or the names of proof pages.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, fields
from datetime import date, datetime, timedelta, tzinfo
from decimal import Decimal
from pathlib import Path
from typing import Any

from onsite.core.errors import Problem
from onsite.core.progress import Progress
from onsite.files.atomic_write import atomic_file
from onsite.files.write_tables import csv_text
from onsite.report.report_facts import STEPS, gather_facts
from onsite.report.report_numbers import GroupLine, ReportFacts, ReportNumbers, count_report
from onsite.report.report_page import report_html
from onsite.status.batch_status import Batch
from onsite.status.person_status import PersonStatus, Stage, is_absent, stage_of_pick
from onsite.status.read_status import collector_paused
from onsite.store.shoot import Shoot


@dataclass(frozen=True, slots=True)
class PersonRow:
    """A row of the CSV report: the status of a person. Times are aware, in the shoot's zone.

    `first_frame` is by the stations' clock, None where it is not known, and `waited_minutes` the time from
    arriving until then. Of the `picks`, `sent` counts those that are or were at retouch, `back` those
    accepted and `delivered` those delivered.
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
"""Columns only in the books: the last batch of each of a person's picks, and its retoucher."""


def person_rows(facts: ReportFacts) -> list[PersonRow]:
    """The rows of all people, in the order of the roster."""
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
    """The row as texts: `yes` or empty, times in ISO 8601 in whole seconds."""
    return [_cell(getattr(row, column)) for column in COLUMNS]


def book_cells(status: PersonStatus, batches: Mapping[str, Batch]) -> list[str]:
    """The cells of the columns `OF_BOOKS`."""
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


def write_report(shoot: Shoot, path: Path, progress: Progress, books: bool = False) -> int:
    """Writes the report for the client, or with costs and retouchers as `books`, whole or not at all.

    Returns the number of people it counts, as its page says: without those who left the list before anything
    happened to them. Raises Problem for an extension other than .html, .csv or .json, for an existing file
    that is no report, and where it cannot be written.
    """
    make = _KINDS.get(path.suffix.lower())
    if make is None:
        raise Problem(f"{path} does not end in {', '.join(_KINDS)}.", "The ending says the kind of report.")
    _refuse_other_file(path)
    with collector_paused():
        facts = gather_facts(shoot, progress, STEPS + 1)
        content = make(facts, books).encode("utf-8")
    with atomic_file(path) as stream:
        stream.write(content)
    progress(STEPS + 1, STEPS + 1)
    return sum(s.counts for s in facts.people)


def _html(facts: ReportFacts, books: bool) -> str:
    return report_html(facts, count_report(facts), books)


def _csv(facts: ReportFacts, books: bool) -> str:
    rows = [row_cells(row) for row in person_rows(facts)]
    if books:
        batches = {batch.name: batch for batch in facts.batches}
        rows = [[*row, *book_cells(status, batches)] for row, status in zip(rows, facts.people, strict=True)]
    return csv_text([*COLUMNS, *(OF_BOOKS if books else ())], rows)


def _json(facts: ReportFacts, books: bool) -> str:
    return json.dumps(report_data(facts, count_report(facts), books), ensure_ascii=False, indent=1) + "\n"


_KINDS: dict[str, Callable[[ReportFacts, bool], str]] = {".html": _html, ".csv": _csv, ".json": _json}

_BEGINS = (b"<!DOCTYPE html>", ",".join(COLUMNS).encode(), b'{\n "name":')
"""Beginnings of report files, in the order of `_KINDS`."""

_MARKS = (b'content="onsite report"', b"<title>Report: ")
"""Every page has one of these in its head; the second is in those of earlier versions."""


def _refuse_other_file(path: Path) -> None:
    """Raises Problem for a file that is no report: only an earlier report may be overwritten."""
    if not path.is_file():
        return
    begins = dict(zip(_KINDS, _BEGINS, strict=True))[path.suffix.lower()]
    with path.open("rb") as file:
        is_own = file.read(len(begins)) == begins
        if path.suffix.lower() == ".html":
            head = file.read(2000)
            is_own = is_own and any(mark in head for mark in _MARKS)
    if not is_own:
        raise Problem(f"{path} is there and is not a report.", "Name another file, or move it away.")


def report_data(facts: ReportFacts, n: ReportNumbers, books: bool = False) -> dict[str, Any]:
    """The report as a JSON object, for the client, or with batches and costs as books.

    Times are ISO 8601 in the shoot's zone, amounts are decimal numbers as text, null is unknown.
    """
    return {
        "name": facts.name,
        "report": "books" if books else "client",
        "client": facts.client,
        "date": _plain(facts.day, facts),
        "made": _plain(facts.made, facts),
        "over": facts.over,
        "people": n.people,
        "photographed": n.photographed,
        "absent": n.absent,
        "publication": {
            "may_be_published": n.to_publish,
            "not_published": {reason.value: number for reason, number in n.withheld.items()},
        },
        "stages": {stage.value: number for stage, number in n.stages.items()},
        "groups": [_group_data(group) for group in n.groups],
        "pace": [_plain(asdict(slot), facts) for slot in n.pace],
        "waited": {
            "known": n.waited.known,
            "median_minutes": _rounded(n.waited.median),
            "longest_minutes": _rounded(n.waited.longest),
            "bins": [{"from": low, "to": high, "people": number} for low, high, number in n.waited.bins],
        },
        "frames": asdict(n.frames),
        "frames_a_person": [{"frames": frames, "people": people} for frames, people in n.frames_each],
        "make_up_day": [
            {"key": s.person.key, "name": s.person.name, "group": s.person.group} for s in n.never_came
        ],
        "waits": [
            {"for": line.what.value, "people": line.people, "since": _plain(line.since, facts)}
            for line in n.waits
        ],
        "picks": asdict(n.picks),
        "pictures": {stage.value: number for stage, number in n.pictures.items()},
        "deliveries": [_plain(asdict(delivery), facts) for delivery in n.deliveries],
        "everybody": [_plain(asdict(row), facts) for row in person_rows(facts)],
        **(_book_data(facts, n) if books else {}),
    }


def _group_data(group: GroupLine) -> dict[str, Any]:
    return {
        "group": group.name,
        "people": group.people,
        "came": group.came,
        "photographed": group.photographed,
        "stages": {stage.value: number for stage, number in group.stages.items()},
    }


def _book_data(facts: ReportFacts, n: ReportNumbers) -> dict[str, Any]:
    """The part for the photographer only: retouchers and costs."""
    return {
        "batches": [
            {
                "name": batch.name,
                "hand": batch.retoucher,
                "sent": _plain(batch.sent, facts),
                "due": _plain(batch.due, facts),
                "price": _plain(batch.price, facts),
                "currency": batch.currency,
                "files": batch.files,
                "out": batch.out,
                "back": batch.back,
                "again": batch.sent_back,
                "overdue": batch.overdue(facts.made.date()),
            }
            for batch in n.batches
        ],
        "costs": _plain({**asdict(n.costs), "retouch": dict(n.costs.retouch)}, facts),
    }


def _rounded(minutes: float | None) -> float | None:
    return None if minutes is None else round(minutes, 1)


def _plain(value: Any, facts: ReportFacts) -> Any:
    if isinstance(value, dict):
        return {name: _plain(item, facts) for name, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item, facts) for item in value]
    if isinstance(value, datetime):
        return value.astimezone(facts.made.tzinfo).isoformat(timespec="seconds")
    if isinstance(value, date):
        return value.isoformat()
    return str(value) if isinstance(value, Decimal) else value
