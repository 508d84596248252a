"""Undo at the door: a station takes back what it did last with one person, and nothing of another station."""

from __future__ import annotations

from shlex import quote

from sqlmodel import Session

from onsite.checkin.check_in import take_back_arrival, undone_arrival_text
from onsite.checkin.deck_cards import whose_now
from onsite.core.errors import Problem
from onsite.core.text import escaped
from onsite.roster.find_people import RosterPerson
from onsite.roster.known_people import CORRECTED_BY, LISTED
from onsite.roster.publication_consent import publication_text
from onsite.roster.read_people import read_person
from onsite.store.events import Event, EventKind, add_event, read_events
from onsite.store.schema import Person
from onsite.store.shoot import Shoot

_ALONE = (EventKind.CHANGED, EventKind.CONFIRMED, EventKind.CARD_TIED)
"""Acts that are taken back without the arrival."""


def undo_last_act(shoot: Shoot, person_id: int, station: str) -> str:
    """Takes back the correction, the confirmed spelling or the deck card that is the last act of `station` on
    this person, else their arrival if it was checked in there. Returns what was taken back, in words.

    The fields of a correction have their earlier values again. That the client's list has answers about
    consent stays, once it was so. Raises Problem, and changes nothing, where the station did nothing that
    counts, where what it corrected was changed since, and where somebody would be published who is not now.
    """
    with shoot.writing() as session:
        person = read_person(session, person_id)
        events = read_events(session, person_id=person_id)
        own = [event for event in events if event.station == station and _is_act(event, events)]
        last = own[-1] if own else None
        if last is not None and last.kind in _ALONE:
            if last.kind is EventKind.CHANGED:
                _restore_fields(session, person, last, [event for event in events if event.id > last.id])
            add_event(
                session, EventKind.UNDONE, shoot.now(), station=station, person_id=person_id, undoes=[last.id]
            )
            session.flush()
            now = read_person(session, person_id)
            if now.publication.allowed and not person.publication.allowed:
                raise Problem(
                    f"{escaped(person.name)} is not published now, and undo would change that.",
                    "If they say yes: Ctrl+O. If they are not here: Ctrl+P, “Undo a check-in”.",
                )
            cards = [] if last.card_id is None else [last.card_id]
            return whose_now(session, cards) or _undone_text(person, now, last)
        arrivals = [event for event in events if event.kind is EventKind.ARRIVED]
        if arrivals and arrivals[0].station != station:
            where = arrivals[0].station
            raise Problem(
                f"{escaped(person.name)} was checked in at {escaped(where) or 'a station without a name'}.",
                f"Undo it there, or: onsite checkin undo {quote(escaped(person.key))}",
            )
        return undone_arrival_text(take_back_arrival(session, shoot, person, station))


def _is_act(event: Event, events: list[Event]) -> bool:
    """Whether an event is something that a station did with a person at the door. A deck card, and the answer
    about consent, that somebody came with are part of the arrival."""
    came_with = any(other.kind is EventKind.ARRIVED and other.at == event.at for other in events)
    is_part = event.kind in (EventKind.CHANGED, EventKind.CARD_TIED) and came_with
    return is_made_at_door(event) and not is_part


def is_made_at_door(event: Event) -> bool:
    """Whether a person at a station's door made this event."""
    if event.kind is EventKind.CHANGED:
        return event.details.get(CORRECTED_BY) == "hand"
    return event.kind in (EventKind.ARRIVED, EventKind.CARD_TIED, EventKind.CONFIRMED)


def _restore_fields(session: Session, person: RosterPerson, correction: Event, later: list[Event]) -> None:
    """Gives the fields of a correction their earlier values, unless something else was said of them since."""
    row = session.get_one(Person, person.id)
    fields = {name: values for name, values in correction.details.items() if isinstance(values, list)}
    for name, (_, new) in fields.items():
        said_since = any(
            name in event.details or name in (event.details.get(LISTED) or {})
            for event in later
            if event.kind is EventKind.CHANGED
        )
        if said_since or getattr(row, name) != new:
            raise Problem(
                f"{escaped(person.name)}: {name} was changed again since this correction.",
                "Correct it by hand: Ctrl+O.",
            )
    for name, (old, _) in fields.items():
        setattr(row, name, old)


def _undone_text(before: RosterPerson, now: RosterPerson, undone: Event) -> str:
    if undone.kind is EventKind.CONFIRMED:
        return f"{now.name}: the spelling is not confirmed any more"
    fields = [
        f"{name} is {escaped(str(values[0])) or 'empty'} again"
        for name, values in undone.details.items()
        if isinstance(values, list)
    ]
    said = f"{now.name}: correction taken back; {', '.join(fields)}"
    return said if before.publication == now.publication else f"{said}; {publication_text(now.publication)}"
