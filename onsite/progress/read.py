"""How people stand, out of the store: everybody at once, or the few to whom something happened."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta, timezone
from typing import Any, cast

from sqlmodel import Session, col, func, select

from onsite.checkin.taken_back import taken_back
from onsite.matching.evidence import FrameKind
from onsite.progress.after import NOTHING_YET, read_after
from onsite.progress.stage import Standing, stage_of
from onsite.roster.people import people
from onsite.store.record import Kind
from onsite.store.shoot import Shoot
from onsite.store.tables import Card, Event, Frame, Person, Verdict
from onsite.wrap.gather import camera_zone
from onsite.wrap.timing import corrected, wrong_clocks

TOLD = (Kind.ARRIVED, Kind.CARD_TIED, Kind.SLATE_SHOWN, Kind.CONFIRMED)
"""What happened on the day that a standing is made from."""


@dataclass(frozen=True, slots=True)
class Shot:
    """How many frames are under somebody's name, and the shoot time of the first."""

    frames: int = 0
    first: datetime | None = None


NOT_SHOT = Shot()


@dataclass(slots=True)
class _Told:
    """What the record says of one person."""

    arrived: datetime | None = None
    station: str = ""
    arrival: int | None = None
    shown: datetime | None = None
    confirmed: str | None = None
    cards: dict[int, None] = field(default_factory=dict)
    """Ids of the cards that were ever theirs, the last tied last."""


def read_everybody(session: Session, shoot: Shoot) -> dict[int, Standing]:
    """Everybody by id, in the order of the roster, with frames as last matched."""
    undone = taken_back(session)
    numbers = card_numbers(session)
    return read_standings(session, undone, numbers, holders(session, undone), shots(session, shoot))


def read_standings(
    session: Session,
    undone: Collection[int],
    numbers: Mapping[int, int],
    holder: Mapping[int, int],
    shot: Mapping[int, Shot],
    ids: Collection[int] | None = None,
) -> dict[int, Standing]:
    """How everybody stands, or those of `ids`, which are few. `numbers` are those of the cards by id,
    `holder` is who holds a card, by its id."""
    told = _told(session, undone, ids)
    more = _more(session, ids)
    after = read_after(session, ids, undone)
    standings: dict[int, Standing] = {}
    for person in people(session, ids):
        theirs = told.get(person.id, _NOTHING)
        has = shot.get(person.id, NOT_SHOT)
        became = after.get(person.id, NOTHING_YET)
        role, slot, consent, note, spoken, language, walk_in = more[person.id]
        standings[person.id] = Standing(
            person,
            stage_of(theirs.arrived is not None, has.frames, became),
            theirs.arrived,
            has.frames,
            role=role,
            slot=slot,
            consent=consent,
            note=note,
            spoken=spoken,
            language=language,
            walk_in=walk_in,
            confirmed=theirs.confirmed == person.name,
            station=theirs.station,
            arrival=theirs.arrival,
            cards=tuple(numbers[card] for card in theirs.cards if holder.get(card) == person.id),
            shown=theirs.shown,
            first_frame=has.first,
            after=became,
        )
    return standings


_NOTHING = _Told()


def _told(session: Session, undone: Collection[int], ids: Collection[int] | None) -> dict[int, _Told]:
    wanted: Any = (
        select(Event.id, Event.at, Event.kind, Event.station, Event.person_id, Event.card_id)  # type: ignore[call-overload]
        .where(col(Event.kind).in_([kind.value for kind in TOLD]))
        .order_by(col(Event.at), col(Event.id))
    )
    if ids is not None:
        wanted = wanted.where(col(Event.person_id).in_(ids))
    told: dict[int, _Told] = {}
    confirmed: dict[int, _Told] = {}
    for event_id, at, kind, station, person_id, card_id in cast(Any, session.exec(wanted)):
        if event_id in undone or person_id is None:
            continue
        theirs = told.setdefault(person_id, _Told())
        if kind == Kind.ARRIVED:
            if theirs.arrived is None:
                theirs.arrived, theirs.station, theirs.arrival = at, station, event_id
        elif kind == Kind.CARD_TIED:
            theirs.cards.pop(card_id, None)
            theirs.cards[card_id] = None
        elif kind == Kind.SLATE_SHOWN:
            theirs.shown = at
        else:
            confirmed[event_id] = theirs
    _add_confirmed(session, confirmed, ids)
    return told


def _add_confirmed(session: Session, confirmed: dict[int, _Told], ids: Collection[int] | None) -> None:
    """The names that were confirmed: the only details read, since reading them takes as long as all else."""
    if not confirmed:
        return
    wanted = select(Event.id, Event.details).where(Event.kind == Kind.CONFIRMED.value)
    if ids is not None:
        wanted = wanted.where(col(Event.person_id).in_(ids))
    names = {event_id: details.get("name") for event_id, details in session.exec(wanted)}
    for event_id, theirs in confirmed.items():
        theirs.confirmed = names[event_id]


def _more(session: Session, ids: Collection[int] | None) -> dict[int, tuple[Any, ...]]:
    """Role, slot, consent, note, how the name is said, the language, and whether a walk-in."""
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
        wanted = wanted.where(col(Person.id).in_(ids))
    return {row[0]: tuple(row[1:]) for row in cast(Any, session.exec(wanted))}


def card_numbers(session: Session) -> dict[int, int]:
    """Card id -> number."""
    return {card: number for card, number in session.exec(select(Card.id, Card.number)) if card is not None}


def holders(
    session: Session, undone: Collection[int], cards: Collection[int] | None = None
) -> dict[int, int]:
    """Card id -> the id of the person who holds it now; of `cards`, few, only those."""
    wanted = (
        select(Event.id, Event.card_id, Event.person_id)
        .where(Event.kind == Kind.CARD_TIED.value)
        .order_by(col(Event.at), col(Event.id))
    )
    if cards is not None:
        wanted = wanted.where(col(Event.card_id).in_(cards))
    return {
        card: person
        for event_id, card, person in session.exec(wanted)
        if event_id not in undone and card is not None and person is not None
    }


def shots(session: Session, shoot: Shoot) -> dict[int, Shot]:
    """The frames under each person's name, as last matched."""
    zone, wrong = camera_zone(shoot), wrong_clocks(session)
    found: dict[int, Shot] = {}
    for person, count, first in _counted(session, zone, wrong) + _put_right(session, zone, wrong):
        before = found.get(person, NOT_SHOT)
        times = [time for time in (before.first, first) if time is not None]
        found[person] = Shot(before.frames + count, min(times, default=None))
    return found


_Some = list[tuple[int, int, datetime | None]]
"""A person with the number of some frames and the shoot time of the first."""


def _counted(session: Session, zone: timezone, wrong: Collection[int]) -> _Some:
    """The frames of cameras whose clocks are right."""
    wanted: Any = (
        select(Verdict.person_id, Frame.utc_offset, func.count(), func.min(Frame.taken))
        .join(Frame, col(Frame.id) == col(Verdict.frame_id))
        .where(Verdict.kind == FrameKind.NAMED.value, col(Frame.camera_id).not_in(wrong))
        .group_by(col(Verdict.person_id), col(Frame.utc_offset))
    )
    rows = cast(Any, session.exec(wanted))
    return [(person, count, _moment(first, offset, zone)) for person, offset, count, first in rows]


def _put_right(session: Session, zone: timezone, wrong: Collection[int]) -> _Some:
    """The frames of the other cameras, one by one."""
    if not wrong:
        return []
    times = corrected(session, zone, wrong)
    wanted: Any = (
        select(Verdict.person_id, Frame.id, Frame.utc_offset, Frame.taken)
        .join(Frame, col(Frame.id) == col(Verdict.frame_id))
        .where(Verdict.kind == FrameKind.NAMED.value, col(Frame.camera_id).in_(wrong))
    )
    rows = cast(Any, session.exec(wanted))
    return [
        (person, 1, times.get(frame, _moment(taken, offset, zone))) for person, frame, offset, taken in rows
    ]


def _moment(taken: datetime | None, offset: int | None, zone: timezone) -> datetime | None:
    if taken is None:
        return None
    return taken.replace(tzinfo=zone if offset is None else timezone(timedelta(minutes=offset)))


def standings(shoot: Shoot) -> list[Standing]:
    """Everybody, in the order of the roster, as things stand now."""
    from onsite.progress.collector import collector_paused
    from onsite.wrap.current import bring_up_to_date

    bring_up_to_date(shoot)
    with shoot.reading() as session, collector_paused():
        return list(read_everybody(session, shoot).values())
