"""Days made up for tests of matching, put into a store."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import UTC, datetime, timedelta

from onsite.matching.evidence import FrameEvidence
from onsite.store.events import EventKind, add_event
from onsite.store.schema import Camera, DeckCard, Frame, Person, SymbolReading
from onsite.store.shoot import Shoot
from tests.matching.days import Day, code


def store_day(shoot: Shoot, *days: Day) -> None:
    """The people, frames and events of these cameras. Ids are those of the days."""
    store_people(shoot, *days)
    for day in days:
        store_frames(shoot, day, day.frames)
        store_arrivals(shoot, day, day.arrived)
        store_cards(shoot, day)
        store_showings(shoot, day)


def store_people(shoot: Shoot, *days: Day) -> None:
    """Everybody, and the cameras."""
    with shoot.writing() as session:
        for person in sorted({person for day in days for person in day.arrived}):
            session.add(Person(id=person, key=f"C-{person}", name=f"Singer {person}", code=code(person)))
        for day in days:
            label = "?ABCD"[day.camera]
            session.add(Camera(id=day.camera, label=label, identity=label, serial=label))


def store_frames(shoot: Shoot, day: Day, frames: Sequence[FrameEvidence]) -> None:
    """Some frames of a camera, as an ingest brings them."""
    with shoot.writing() as session:
        for frame in frames:
            taken = None
            if frame.taken is not None:
                taken = datetime.fromtimestamp(frame.taken, UTC).replace(tzinfo=None)
            session.add(
                Frame(
                    id=frame.id,
                    camera_id=day.camera,
                    counter=frame.counter,
                    name=frame.name,
                    taken=taken,
                    utc_offset=0,
                    source="card",
                    look=frame.look,
                )
            )
        session.flush()
        for frame in frames:
            for symbol in frame.symbols:
                reading = SymbolReading(frame_id=frame.id, text=symbol.text, turned=symbol.turned, share=0.3)
                session.add(reading)
        add_event(session, EventKind.INGESTED, datetime.now(UTC), frames=len(frames))


def store_arrivals(shoot: Shoot, day: Day, people: Iterable[int]) -> None:
    with shoot.writing() as session:
        for person in people:
            at = datetime.fromtimestamp(day.arrived[person], UTC)
            add_event(session, EventKind.ARRIVED, at, person_id=person)


def store_cards(shoot: Shoot, day: Day) -> None:
    with shoot.writing() as session:
        for number, (text, ties) in enumerate(day.cards.items(), 1):
            session.add(DeckCard(id=number, number=number, code=text))
            session.flush()
            for tie in ties:
                at = datetime.fromtimestamp(tie.at, UTC)
                add_event(session, EventKind.CARD_TIED, at, person_id=tie.person, card_id=number)


def store_showings(shoot: Shoot, day: Day) -> None:
    with shoot.writing() as session:
        for shown in day.shown:
            at = datetime.fromtimestamp(shown.at, UTC)
            add_event(session, EventKind.SLATE_SHOWN, at, station=shown.station, person_id=shown.person)


def near(one: timedelta, other: timedelta) -> bool:
    """Within what slates take from being shown to being photographed."""
    return abs(one - other) < timedelta(seconds=45)
