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
from onsite.roster.groups import group_for
from onsite.roster.names import fold, renamed
from onsite.roster.people import note_asked, people, person_of
from onsite.roster.publication import begins_asking, stays_refused
from onsite.store.record import Kind, add
from onsite.store.shoot import Shoot
from onsite.store.tables import Person
from onsite.words import escaped

NAMES = ("name", "given", "family")
FIELDS = (*NAMES, "spoken", "group", "note", "consent")
"""What can be corrected at the door."""


def correct(
    shoot: Shoot, person_id: int, changes: Mapping[str, str], station: str = "", new_group: bool = False
) -> Someone:
    """Puts fields of a person right, and returns them as they are now.

    A new full name also gives new parts, and a new part a new full name. Values that are as before change
    nothing. Raises Problem for another field, a name without a letter, what is not text, or nothing in the
    place of a refusal to be published; NoSuchGroup unless a `new_group` is wanted.
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
        if new.get("group", person.group) != person.group:
            new["group"] = group_for(new["group"], (one.group for one in people(session)), new_group)
        if stays_refused(person.consent, new.get("consent", person.consent)):
            raise Problem(
                f"{escaped(person.name)} is not to be published ({escaped(person.consent)}), and that stays.",
                "Only a yes takes it back: type yes once they say so.",
            )
        differing: dict[str, Any] = {
            name: [getattr(person, name), text] for name, text in new.items() if text != getattr(person, name)
        }
        for name, (_, text) in differing.items():
            setattr(person, name, text)
        if differing:
            details = {**differing, BY_HAND: "hand"}
            add(session, Kind.CHANGED, shoot.now(), station=station, person_id=person_id).details = details
            if "consent" in differing and begins_asking(person.consent, person.walk_in):
                note_asked(session)
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
