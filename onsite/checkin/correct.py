"""At the door: a name is confirmed, or something that the client's list has wrong is put right.

What a hand has put right stays when the client's list is loaded again (`roster.by_hand`).
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlmodel import Session

from onsite.checkin.writable import refuse_unwritable
from onsite.problems import Problem
from onsite.roster.by_hand import BY_HAND
from onsite.roster.find import Someone
from onsite.roster.names import fold, renamed
from onsite.roster.people import person_of
from onsite.store.record import Kind, add
from onsite.store.shoot import Shoot
from onsite.store.tables import Person

NAMES = ("name", "given", "family")
FIELDS = (*NAMES, "spoken", "group", "note", "consent")
"""What can be corrected at the door."""


def correct(shoot: Shoot, person_id: int, changes: Mapping[str, str], station: str = "") -> Someone:
    """Puts fields of a person right, and returns them as they are now.

    A new full name also gives new parts, and a new part a new full name. Values that are as before change
    nothing. Raises Problem for another field, a name without a letter, or what is not text.
    """
    wrong = next((name for name in changes if name not in FIELDS), None)
    if wrong is not None:
        raise Problem(f"{wrong} cannot be corrected at the door", f"Fields: {', '.join(FIELDS)}.")
    new = {name: text.strip() for name, text in changes.items()}
    refuse_unwritable(*new.values())
    with shoot.writing() as session:
        person = _row(session, person_id)
        names = {name: new[name] for name in NAMES if name in new and new[name] != getattr(person, name)}
        if names:
            new |= dict(zip(NAMES, renamed((person.name, person.given, person.family), **names), strict=True))
            if not fold(new["name"]):
                raise Problem("A person needs a name.", "Type a given name, a family name or both.")
        differing: dict[str, Any] = {
            name: [getattr(person, name), text] for name, text in new.items() if text != getattr(person, name)
        }
        for name, (_, text) in differing.items():
            setattr(person, name, text)
        if differing:
            details = {**differing, BY_HAND: "hand"}
            add(session, Kind.CHANGED, shoot.now(), station=station, person_id=person_id).details = details
            session.flush()
        return person_of(session, person_id)


def confirm(shoot: Shoot, person_id: int, station: str = "") -> Someone:
    """Notes that the name is spelt right, as the person or whoever came with them said."""
    with shoot.writing() as session:
        someone = person_of(session, person_id)
        add(session, Kind.CONFIRMED, shoot.now(), station=station, person_id=person_id, name=someone.name)
        return someone


def _row(session: Session, person_id: int) -> Person:
    person_of(session, person_id)  # raises where there is nobody
    return session.get_one(Person, person_id)
