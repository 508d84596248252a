"""Gathers the evidence for a match from the store."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from datetime import UTC, datetime, time, timedelta, timezone

import sqlalchemy as sa
from sqlmodel import Session, select

from onsite.checkin.deck_cards import read_card_assignments
from onsite.matching.evidence import (
    CardAssignment,
    Evidence,
    FrameEvidence,
    Join,
    Override,
    SlateShown,
    Split,
    Symbol,
)
from onsite.roster.read_people import removed_ids
from onsite.store.events import Event, EventKind, read_events
from onsite.store.schema import Camera, DeckCard, EventRow, Frame, Person, PersonState, SymbolReading
from onsite.store.shoot import Shoot

OVERRIDE_KINDS = (EventKind.GIVEN, EventKind.SET_ASIDE, EventKind.FREED, EventKind.SPLIT, EventKind.JOINED)
"""Events that record overrides."""


def gather_evidence(session: Session, shoot: Shoot) -> Evidence:
    """All evidence of a shoot."""
    events = read_events(session, OVERRIDE_KINDS)
    removed = removed_ids(session)
    people = [row for row in session.exec(select(Person.id, Person.code)) if row[0] not in removed]
    return Evidence(
        shoot=shoot.mark,
        frames=frame_evidence(session, camera_zone(shoot)),
        codes={code: person for person, code in people},
        arrived=arrival_seconds(session),
        cards=card_assignments(session),
        slates_shown=[shown for shown in slates_shown(session) if shown.person not in removed],
        overrides=overrides_of(events, removed),
        regroupings=regroupings_of(events),
    )


def slates_shown(session: Session, only: Collection[int] | None = None) -> list[SlateShown]:
    """The slates shown at stations; or those of the people in `only`."""
    conditions = () if only is None else (EventRow.person_id.in_(only),)
    events = read_events(session, (EventKind.SLATE_SHOWN,), *conditions)
    return [SlateShown(e.at.timestamp(), e.person_id, e.station) for e in events if e.person_id is not None]


def overrides_of(events: Iterable[Event], removed: Collection[int] = ()) -> dict[int, Override]:
    """The overrides by frame: the last decision counts. Frames given to people in `removed` have none."""
    by_hand: dict[int, Override] = {}
    for event in events:
        if event.frame_id is None:
            continue
        if event.kind is EventKind.FREED or event.person_id in removed:
            by_hand.pop(event.frame_id, None)
        elif event.kind in (EventKind.GIVEN, EventKind.SET_ASIDE):
            by_hand[event.frame_id] = Override(event.person_id)
    return by_hand


def regroupings_of(events: Iterable[Event]) -> tuple[Split | Join, ...]:
    """Splits and joins in the order of the decisions. Clearing the override of a frame takes back its own."""
    made: list[Split | Join] = []
    for event in events:
        frame = event.frame_id
        if frame is None:
            continue
        if event.kind is EventKind.SPLIT:
            made.append(Split(frame))
        elif event.kind is EventKind.JOINED:
            made.append(Join(frame, event.details["to"]))
        elif event.kind is EventKind.FREED:
            made = [
                regrouping
                for regrouping in made
                if regrouping.frame != frame and getattr(regrouping, "to", None) != frame
            ]
    return tuple(made)


def arrival_seconds(session: Session, only: Collection[int] | None = None) -> dict[int, float]:
    """When each person, or each in `only`, first arrived, in seconds since 1970 UTC."""
    wanted = select(PersonState.person_id, PersonState.arrived)
    if only is not None:
        wanted = wanted.where(PersonState.person_id.in_(only))
    return {person: at.timestamp() for person, at in session.exec(wanted) if at is not None}


def card_assignments(
    session: Session, only: Collection[str] | None = None
) -> dict[str, list[CardAssignment]]:
    """Who held each deck card, or each with a code in `only`, in order of time; by code."""
    tied = read_card_assignments(session, only)
    codes = select(DeckCard.code)
    return {
        code: [CardAssignment(at.timestamp(), person) for at, person in tied.get(code, ())]
        for code in session.exec(codes if only is None else codes.where(DeckCard.code.in_(only)))
    }


def frame_evidence(
    session: Session, zone: timezone, only: Sequence[int] | None = None
) -> list[FrameEvidence]:
    """The evidence of a shoot's frames, or of those with an id in `only`. `zone` is that of cameras that
    write no offset."""
    sure = {camera for camera, serial in session.exec(select(Camera.id, Camera.serial)) if serial}
    read = select(SymbolReading.frame_id, SymbolReading.text, SymbolReading.turned).order_by(SymbolReading.id)
    wanted = sa.select(
        Frame.id,
        Frame.camera_id,
        Frame.name,
        Frame.taken,
        Frame.utc_offset,
        Frame.counter,
        Frame.source,
        Frame.trouble,
        Frame.look,
    ).order_by(Frame.id)
    if only is not None:
        read = read.where(SymbolReading.frame_id.in_(only))
        wanted = wanted.where(Frame.id.in_(only))
    symbols: dict[int, list[Symbol]] = {}
    for frame, text, turned in session.exec(read):
        symbols.setdefault(frame, []).append(Symbol(text, turned))
    return [
        FrameEvidence(
            id=frame,
            camera=camera,
            name=name,
            taken=seconds_of(taken, offset, zone),
            counter=counter,
            source=source,
            sure_body=camera in sure,
            symbols=tuple(symbols.get(frame, ())),
            look=look,
            seen=not trouble,
        )
        for frame, camera, name, taken, offset, counter, source, trouble, look in session.execute(wanted)
    ]


def camera_zone(shoot: Shoot) -> timezone:
    """The UTC offset assumed for cameras that write none: the shoot's zone on its day, for all frames.

    Cameras do not change to summer time by themselves, so one offset serves, and the order of their times
    stays as they wrote it.
    """
    day = datetime.fromisoformat(shoot.settings.date) if shoot.settings.date else datetime.now(UTC)
    noon = datetime.combine(day.date(), time(12), shoot.zone)
    return timezone(noon.utcoffset() or timedelta())


def seconds_of(taken: datetime | None, offset: int | None, zone: timezone) -> float | None:
    """A camera's own time as seconds since 1970 UTC, with its `offset` in minutes if it wrote one, else in
    `zone`."""
    if taken is None:
        return None
    written = zone if offset is None else timezone(timedelta(minutes=offset))
    return taken.replace(tzinfo=written).timestamp()
