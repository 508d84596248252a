"""Checking in people on the roster, undoing an arrival, and recording which slates were shown."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, select

from onsite.checkin.deck_cards import find_deck_card, whose_now
from onsite.checkin.waiting_people import Arrival, ArrivalDesk, arrival_time, arrivals
from onsite.core.errors import Problem
from onsite.core.text import escaped, plural
from onsite.core.times import parse_time
from onsite.roster.find_people import RosterPerson
from onsite.roster.person_lookup import resolve_person
from onsite.roster.read_people import read_people, read_person
from onsite.store.events import AFTERWARDS, REMOVED, Event, EventKind, add_event, read_events
from onsite.store.schema import Person, VerdictRow
from onsite.store.shoot import Shoot

__all__ = [
    "Arrival",
    "UndoneArrival",
    "assign_deck_card",
    "check_in",
    "check_in_person",
    "resolve_roster_person",
    "take_back_arrival",
    "undo_arrival",
    "undo_arrival_of",
    "undone_arrival_text",
]


@dataclass(frozen=True, slots=True)
class UndoneArrival:
    """An arrival that was undone: when it was, and in words whose the deck cards are now.

    A person on the list keeps their sequence number for when they arrive after all. A walk-in is `removed`
    from the shoot: `frames` is how many frames had their name, and their number is not assigned again.
    """

    person: RosterPerson
    sequence: int | None
    at: datetime
    cards: str = ""
    removed: bool = False
    frames: int = 0


def check_in(
    shoot: Shoot,
    who_text: str,
    *,
    at: datetime | None = None,
    station: str = "",
    card: str | int | None = None,
) -> Arrival:
    """Checks in the person whom a text identifies (`resolve_person`) and gives them a sequence number.

    `card` is the number or the code of a deck card, assigned to them from then on. A person who is here
    already keeps number and time, and gets the card. Raises AmbiguousPerson or another Problem, and changes
    nothing, when the text does not identify one person or there is no such card.
    """
    person = resolve_roster_person(shoot, who_text)
    with shoot.writing() as session:
        return _arrive(
            session, shoot, resolve_person(who_text, [read_person(session, person.id)]), station, card, at
        )


def check_in_person(
    shoot: Shoot,
    person_id: int,
    station: str = "",
    card: str | int | None = None,
    at: datetime | None = None,
) -> Arrival:
    """Checks in the person with this id; only their own data is read.

    If two stations do it at the same moment, one assigns the number; the other gets the same arrival with
    `is_repeated`, when and where it was.
    """
    with shoot.writing() as session:
        return _arrive(session, shoot, read_person(session, person_id), station, card, at)


def _arrive(
    session: Session,
    shoot: Shoot,
    person: RosterPerson,
    station: str,
    card: str | int | None,
    at: datetime | None,
) -> Arrival:
    return ArrivalDesk(session, person.id).arrive(person, arrival_time(shoot, at), station, card)


def undo_arrival(shoot: Shoot, who_text: str, station: str = "") -> UndoneArrival:
    """Undoes the arrival of the person whom a text identifies, and the deck cards assigned since.

    A walk-in is removed from the shoot. Raises Problem when the person has not arrived, and for a walk-in who
    has overridden frames, proofs or picks.
    """
    person = resolve_roster_person(shoot, who_text)
    with shoot.writing() as session:
        return take_back_arrival(
            session, shoot, resolve_person(who_text, [read_person(session, person.id)]), station
        )


def undo_arrival_of(shoot: Shoot, person_id: int, station: str = "") -> UndoneArrival:
    """Undoes the arrival of the person with this id, as `undo_arrival` does."""
    with shoot.writing() as session:
        return take_back_arrival(session, shoot, read_person(session, person_id), station)


def take_back_arrival(session: Session, shoot: Shoot, person: RosterPerson, station: str) -> UndoneArrival:
    """The same inside a writing session."""
    kinds = (EventKind.ARRIVED, EventKind.CARD_TIED)
    ever = read_events(session, person_id=person.id)
    events = [event for event in ever if event.kind in kinds]
    arrived = [event for event in events if event.kind is EventKind.ARRIVED]
    if not arrived:
        raise Problem(f"{escaped(person.name)} has not arrived", "There is nothing to take back.")
    first = min(event.id for event in arrived)
    undone = [event for event in events if event.id >= first]
    cards = [event.card_id for event in undone if event.card_id is not None]
    undoes = sorted(event.id for event in undone)
    removed = _is_only_walk_in(session, person, ever)
    frames = _frames_losing_name(session, person, ever) if removed else 0
    undo = add_event(
        session, EventKind.UNDONE, shoot.now(), station=station, person_id=person.id, undoes=undoes
    )
    if removed:
        undo.details = {"undoes": undoes, REMOVED: True}
    session.flush()
    return UndoneArrival(person, person.sequence, arrived[0].at, whose_now(session, cards), removed, frames)


def _is_only_walk_in(session: Session, person: RosterPerson, ever: Sequence[Event]) -> bool:
    """Whether a person is in the shoot as a walk-in only, and was never on the client's list."""
    return session.get_one(Person, person.id).walk_in and all(
        event.kind is not EventKind.LISTED for event in ever
    )


def _frames_losing_name(session: Session, person: RosterPerson, ever: Sequence[Event]) -> int:
    """How many frames of the last match lose the name of a walk-in who is to be removed.

    Raises Problem if more than slates depends on the walk-in: overrides, proofs or picks.
    """
    by_hand: dict[int, Event] = {}
    for event in read_events(session, (EventKind.GIVEN, EventKind.SET_ASIDE, EventKind.FREED)):
        if event.frame_id is not None:
            by_hand[event.frame_id] = event
    given = sum(
        own_event.kind is EventKind.GIVEN and own_event.person_id == person.id
        for own_event in by_hand.values()
    )
    name = escaped(person.name)
    if given:
        raise Problem(
            f"{name} is a walk-in, and {plural(given, 'frame was', 'frames were')} given to them by hand.",
            "Give these frames to somebody else, or free them; then take the walk-in back.",
        )
    if any(own_event.kind in AFTERWARDS for own_event in ever):
        raise Problem(
            f"{name} is a walk-in who has proofs or picks already, and stays.",
            "Correct the name if it is wrong: Ctrl+O at the door.",
        )
    named = (VerdictRow.person_id == person.id) & (VerdictRow.kind == "named")
    return len(set(session.exec(select(VerdictRow.frame_id).where(named))) - by_hand.keys())


def undone_arrival_text(back: UndoneArrival) -> str:
    """What was undone, as a message for the door."""
    cards = f" {back.cards}".rstrip()
    if not back.removed:
        return f"{back.person.name} is expected again; number {back.sequence} stays theirs.{cards}"
    lost = plural(back.frames, "frame with this name is", "frames with this name are")
    frames = f" {lost} nobody's now." if back.frames else ""
    gone = f"{back.person.name}, a walk-in, is taken off again; number {back.sequence} is not used any more."
    return gone + cards + frames


def assign_deck_card(
    shoot: Shoot, person_id: int, card: str | int, station: str = "", at: datetime | None = None
) -> Arrival:
    """Assigns a deck card, by its number or code, to a person who has arrived; the arrival stays as it is.

    `card_before` of the result is the name of the card's previous holder. Raises Problem when the person has
    not arrived or there is no such card.
    """
    with shoot.writing() as session:
        person = read_person(session, person_id)
        if person.sequence is None or not arrivals(session, person_id):
            raise Problem(f"{escaped(person.name)} has not arrived", "Check them in with the card.")
        return ArrivalDesk(session, person_id).arrive(
            person, arrival_time(shoot, at), station, find_deck_card(session, card).number
        )


def resolve_roster_person(shoot: Shoot, who_text: str) -> RosterPerson:
    """The person whom a text identifies, looked up in a read session: searching a long list takes time.

    Whoever then writes checks again that the text still identifies them.
    """
    with shoot.reading() as session:
        return resolve_person(who_text, read_people(session))


def show_and_record_slate(
    shoot: Shoot,
    text: str,
    at: str | None,
    station: str,
    draw: Callable[[RosterPerson], object] = lambda _: None,
) -> tuple[RosterPerson, datetime]:
    """Shows this person's slate at a station and records it, now or `at` an ISO 8601 time.

    `draw` shows it; if it raises a Problem, nothing is recorded.
    """
    shown_at = arrival_time(shoot, parse_time(at, shoot.zone, shoot.day) if at else None)
    person = resolve_roster_person(shoot, text)
    draw(person)
    return person, record_slate_shown(shoot, person.id, station, shown_at)


def record_slate_shown(
    shoot: Shoot, person_id: int, station: str = "", at: datetime | None = None
) -> datetime:
    """Records that a person's slate was shown at a station; returns when."""
    shown_at = arrival_time(shoot, at)
    with shoot.writing() as session:
        read_person(session, person_id)
        add_event(session, EventKind.SLATE_SHOWN, shown_at, station=station, person_id=person_id)
    return shown_at
