"""Reads people's status from the store: everybody, or the few whose events are new."""

from __future__ import annotations

import gc
from collections.abc import Callable, Collection, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime, timedelta, timezone
from typing import Any, cast

from sqlmodel import Session, func, select

from onsite.matching.evidence import FrameKind
from onsite.reconcile.gather_evidence import camera_zone
from onsite.reconcile.shoot_times import corrected_times, wrong_clocks
from onsite.roster.people_in_store import read_people
from onsite.status.person_status import PersonStatus, stage_of
from onsite.status.picture_status import NO_PICTURES, read_picture_statuses
from onsite.store.events import EventKind, undone_event_ids
from onsite.store.schema import DeckCard, EventRow, Frame, Person, VerdictRow
from onsite.store.shoot import Shoot

DOOR_KINDS = (EventKind.ARRIVED, EventKind.CARD_TIED, EventKind.SLATE_SHOWN, EventKind.CONFIRMED)
"""Events of the day that a status is computed from."""


@dataclass(frozen=True, slots=True)
class PhotographedFrames:
    """Number of frames named for a person, and the shoot time of the first."""

    frames: int = 0
    first: datetime | None = None


NOT_PHOTOGRAPHED = PhotographedFrames()


@dataclass(slots=True)
class _DoorFacts:
    """What the record says about one person's day."""

    arrived: datetime | None = None
    station: str = ""
    arrival: int | None = None
    shown: datetime | None = None
    confirmed: str | None = None
    cards: dict[int, None] = field(default_factory=dict)
    """Ids of all cards ever assigned to them, in the order of assignment."""


def read_everybody(session: Session, shoot: Shoot) -> dict[int, PersonStatus]:
    """Everybody by id, in the order of the roster, with frames as last matched."""
    undone = undone_event_ids(session)
    numbers = card_numbers(session)
    return read_statuses_of(
        session, undone, numbers, holders(session, undone), photographed_frames(session, shoot)
    )


def read_statuses_of(
    session: Session,
    undone: Collection[int],
    numbers: Mapping[int, int],
    holder: Mapping[int, int],
    shot: Mapping[int, PhotographedFrames],
    ids: Collection[int] | None = None,
) -> dict[int, PersonStatus]:
    """The status of everybody, or of the few in `ids`. `numbers` are the cards' numbers and `holder` their
    holders, by card id."""
    door_facts = _door_facts(session, undone, ids)
    more = _more(session, ids)
    after = read_picture_statuses(session, ids, undone)
    statuses: dict[int, PersonStatus] = {}
    for person in read_people(session, ids):
        facts = door_facts.get(person.id, _NOTHING)
        has = shot.get(person.id, NOT_PHOTOGRAPHED)
        became = after.get(person.id, NO_PICTURES)
        role, slot, consent, note, spoken, language, walk_in = more[person.id]
        statuses[person.id] = PersonStatus(
            person,
            stage_of(facts.arrived is not None, has.frames, became),
            facts.arrived,
            has.frames,
            role=role,
            slot=slot,
            consent=consent,
            note=note,
            spoken=spoken,
            language=language,
            walk_in=walk_in,
            confirmed=facts.confirmed == person.name,
            station=facts.station,
            arrival=facts.arrival,
            cards=tuple(numbers[card] for card in facts.cards if holder.get(card) == person.id),
            shown=facts.shown,
            first_frame=has.first,
            pictures=became,
        )
    return statuses


_NOTHING = _DoorFacts()


def _door_facts(
    session: Session, undone: Collection[int], ids: Collection[int] | None
) -> dict[int, _DoorFacts]:
    wanted: Any = (
        select(
            EventRow.id, EventRow.at, EventRow.kind, EventRow.station, EventRow.person_id, EventRow.card_id
        )  # type: ignore[call-overload]
        .where(EventRow.kind.in_([kind.value for kind in DOOR_KINDS]))
        .order_by(EventRow.at, EventRow.id)
    )
    if ids is not None:
        wanted = wanted.where(EventRow.person_id.in_(ids))
    facts_by_person: dict[int, _DoorFacts] = {}
    confirmed: dict[int, _DoorFacts] = {}
    for event_id, at, kind, station, person_id, card_id in cast(Any, session.exec(wanted)):
        if event_id in undone or person_id is None:
            continue
        facts = facts_by_person.setdefault(person_id, _DoorFacts())
        if kind == EventKind.ARRIVED:
            if facts.arrived is None:
                facts.arrived, facts.station, facts.arrival = at, station, event_id
        elif kind == EventKind.CARD_TIED:
            facts.cards.pop(card_id, None)
            facts.cards[card_id] = None
        elif kind == EventKind.SLATE_SHOWN:
            facts.shown = at
        else:
            confirmed[event_id] = facts
    _add_confirmed(session, confirmed, ids)
    return facts_by_person


def _add_confirmed(session: Session, confirmed: dict[int, _DoorFacts], ids: Collection[int] | None) -> None:
    """Add the confirmed names. Only these details are read, since reading them takes as long as everything
    else."""
    if not confirmed:
        return
    wanted = select(EventRow.id, EventRow.details).where(EventRow.kind == EventKind.CONFIRMED.value)
    if ids is not None:
        wanted = wanted.where(EventRow.person_id.in_(ids))
    names = {event_id: details.get("name") for event_id, details in session.exec(wanted)}
    for event_id, facts in confirmed.items():
        facts.confirmed = names[event_id]


def _more(session: Session, ids: Collection[int] | None) -> dict[int, tuple[Any, ...]]:
    """Role, slot, consent, note, pronunciation, language, and whether a walk-in, by person id."""
    wanted: Any = select(
        Person.id,
        Person.role,
        Person.slot,
        Person.consent,
        Person.note,
        Person.spoken,
        Person.language,
        Person.walk_in,
    )  # type: ignore[call-overload]
    if ids is not None:
        wanted = wanted.where(Person.id.in_(ids))
    return {row[0]: tuple(row[1:]) for row in cast(Any, session.exec(wanted))}


def card_numbers(session: Session) -> dict[int, int]:
    """Deck card numbers by card id."""
    return {
        card: number
        for card, number in session.exec(select(DeckCard.id, DeckCard.number))
        if card is not None
    }


def holders(
    session: Session, undone: Collection[int], cards: Collection[int] | None = None
) -> dict[int, int]:
    """Current holders by card id; for `cards` (few), only those."""
    wanted = (
        select(EventRow.id, EventRow.card_id, EventRow.person_id)
        .where(EventRow.kind == EventKind.CARD_TIED.value)
        .order_by(EventRow.at, EventRow.id)
    )
    if cards is not None:
        wanted = wanted.where(EventRow.card_id.in_(cards))
    return {
        card: person
        for event_id, card, person in session.exec(wanted)
        if event_id not in undone and card is not None and person is not None
    }


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
    wanted: Any = (
        select(VerdictRow.person_id, Frame.utc_offset, func.count(), func.min(Frame.taken))
        .join(Frame, Frame.id == VerdictRow.frame_id)
        .where(VerdictRow.kind == FrameKind.NAMED.value, Frame.camera_id.not_in(wrong))
        .group_by(VerdictRow.person_id, Frame.utc_offset)
    )
    rows = cast(Any, session.exec(wanted))
    return [(person, count, _moment(first, offset, zone)) for person, offset, count, first in rows]


def _corrected_times(session: Session, zone: timezone, wrong: Collection[int]) -> _FrameTimes:
    """Frames of the other cameras, one by one."""
    if not wrong:
        return []
    times = corrected_times(session, zone, wrong)
    wanted: Any = (
        select(VerdictRow.person_id, Frame.id, Frame.utc_offset, Frame.taken)
        .join(Frame, Frame.id == VerdictRow.frame_id)
        .where(VerdictRow.kind == FrameKind.NAMED.value, Frame.camera_id.in_(wrong))
    )
    rows = cast(Any, session.exec(wanted))
    return [
        (person, 1, times.get(frame, _moment(taken, offset, zone))) for person, frame, offset, taken in rows
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
