"""Reads people's status from the store: everybody, or the few whose events are new."""

from __future__ import annotations

import gc
from collections import defaultdict
from collections.abc import Callable, Collection, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone

import sqlalchemy as sa
from sqlmodel import Session, func, select

from onsite.matching.evidence import FrameKind
from onsite.reconcile.gather_evidence import camera_zone
from onsite.reconcile.shoot_times import corrected_times, wrong_clocks
from onsite.roster.read_people import read_people
from onsite.status.person_status import PersonStatus, stage_of
from onsite.status.picture_status import NO_PICTURES, read_picture_statuses
from onsite.store.schema import CardHolder, DeckCard, Frame, Person, PersonState, VerdictRow
from onsite.store.shoot import Shoot


@dataclass(frozen=True, slots=True)
class PhotographedFrames:
    """Number of frames named for a person, and the shoot time of the first."""

    frames: int = 0
    first: datetime | None = None


NOT_PHOTOGRAPHED = PhotographedFrames()


def read_everybody(session: Session, shoot: Shoot) -> dict[int, PersonStatus]:
    """Everybody by id, in the order of the roster, with frames as last matched."""
    return read_statuses(session, photographed_frames(session, shoot))


def read_statuses(
    session: Session, shot: Mapping[int, PhotographedFrames], ids: Collection[int] | None = None
) -> dict[int, PersonStatus]:
    """The status of everybody, or of the few in `ids`; `shot` are the frames of each person."""
    facts = {
        row.id: row for row in session.execute(_FACTS if ids is None else _FACTS.where(Person.id.in_(ids)))
    }
    cards = _cards(session)
    after = read_picture_statuses(session, ids)
    statuses: dict[int, PersonStatus] = {}
    for person in read_people(session, ids):
        row = facts[person.id]
        has = shot.get(person.id, NOT_PHOTOGRAPHED)
        became = after.get(person.id, NO_PICTURES)
        statuses[person.id] = PersonStatus(
            person,
            stage_of(row.arrived is not None, has.frames, became),
            row.arrived,
            has.frames,
            role=row.role,
            slot=row.slot,
            consent=row.consent,
            note=row.note,
            spoken=row.spoken,
            language=row.language,
            walk_in=row.walk_in,
            confirmed=row.confirmed == person.name,
            station=row.station or "",
            arrival=row.arrival,
            cards=tuple(cards.get(person.id, ())),
            shown=row.shown,
            first_frame=has.first,
            pictures=became,
        )
    return statuses


_FACTS = sa.select(
    Person.id,
    Person.role,
    Person.slot,
    Person.consent,
    Person.note,
    Person.spoken,
    Person.language,
    Person.walk_in,
    PersonState.arrived,
    PersonState.station,
    PersonState.arrival,
    PersonState.shown,
    PersonState.confirmed,
).outerjoin(PersonState, PersonState.person_id == Person.id)


def _cards(session: Session) -> dict[int, list[int]]:
    """The numbers of the deck cards that each person holds, in the order of assignment."""
    wanted = (
        select(CardHolder.person_id, DeckCard.number)
        .join(DeckCard, DeckCard.id == CardHolder.card_id)
        .order_by(CardHolder.since, CardHolder.event_id)
    )
    held: dict[int, list[int]] = defaultdict(list)
    for person, number in session.exec(wanted):
        held[person].append(number)
    return held


def changed_people(session: Session, since: int, limit: int) -> list[int]:
    """The ids of people whose status may have changed by events after `since`; at most `limit`."""
    return list(session.exec(select(PersonState.person_id).where(PersonState.changed > since).limit(limit)))


def photographed_frames(session: Session, shoot: Shoot) -> dict[int, PhotographedFrames]:
    """Frames named for each person, as last matched."""
    zone, wrong = camera_zone(shoot), wrong_clocks(session)
    found: dict[int, PhotographedFrames] = {}
    for person, count, first in _counted(session, zone, wrong) + _corrected_times(session, zone, wrong):
        before = found.get(person, NOT_PHOTOGRAPHED)
        times = [time for time in (before.first, first) if time is not None]
        found[person] = PhotographedFrames(before.frames + count, min(times, default=None))
    return found


_FrameTimes = list[tuple[int, int, datetime | None]]
"""(person, number of frames, shoot time of the first)."""


def _counted(session: Session, zone: timezone, wrong: Collection[int]) -> _FrameTimes:
    """Frames of cameras whose clocks are right."""
    wanted = (
        select(VerdictRow.person_id, Frame.utc_offset, func.count(), func.min(Frame.taken))
        .join(Frame, Frame.id == VerdictRow.frame_id)
        .where(VerdictRow.kind == FrameKind.NAMED.value, Frame.camera_id.not_in(wrong))
        .group_by(VerdictRow.person_id, Frame.utc_offset)
    )
    rows = session.exec(wanted)
    return [(person or 0, count, _moment(first, offset, zone)) for person, offset, count, first in rows]


def _corrected_times(session: Session, zone: timezone, wrong: Collection[int]) -> _FrameTimes:
    """Frames of the other cameras, one by one."""
    if not wrong:
        return []
    times = corrected_times(session, zone, wrong)
    wanted = (
        select(VerdictRow.person_id, Frame.id, Frame.utc_offset, Frame.taken)
        .join(Frame, Frame.id == VerdictRow.frame_id)
        .where(VerdictRow.kind == FrameKind.NAMED.value, Frame.camera_id.in_(wrong))
    )
    return [
        (person or 0, 1, times.get(frame, _moment(taken, offset, zone)))
        for person, frame, offset, taken in session.exec(wanted)
    ]


def _moment(taken: datetime | None, offset: int | None, zone: timezone) -> datetime | None:
    if taken is None:
        return None
    return taken.replace(tzinfo=zone if offset is None else timezone(timedelta(minutes=offset)))


def read_person_statuses(shoot: Shoot) -> list[PersonStatus]:
    """Everybody, in the order of the roster, after updating the match."""
    from onsite.reconcile.current_match import update_match

    update_match(shoot)
    with shoot.reading() as session, collector_paused():
        return list(read_everybody(session, shoot).values())


@contextmanager
def collector_paused(then: Callable[[], None] | None = None) -> Iterator[None]:
    """Pause Python's garbage collector while very many lasting objects are made: it would scan them again and
    again. `then` is called before it resumes, unless there was an error: with `gc.freeze` it exempts the new
    objects for good."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
        if then is not None:
            then()
    finally:
        if was_on:
            gc.enable()
