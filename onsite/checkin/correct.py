"""At the door: a name is confirmed, or something that the client's list has wrong is put right.

What a hand has put right stays when the client's list is loaded again (`roster.by_hand`).
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlmodel import Session

from onsite.checkin.writable import require_printable
from onsite.problems import Problem
from onsite.roster.by_hand import CORRECTED_BY
from onsite.roster.find import RosterPerson
from onsite.roster.groups import resolve_group
from onsite.roster.names import fold_name, rename_parts
from onsite.roster.people import read_people, read_person, record_consent_asked
from onsite.roster.publication import is_first_yes, stays_refused
from onsite.store.record import EventKind, add_event
from onsite.store.shoot import Shoot
from onsite.store.tables import Person
from onsite.words import escaped

NAMES = ("name", "given", "family")
FIELDS = (*NAMES, "spoken", "group", "note", "consent")
"""What can be corrected at the door."""


def correct_person(
    shoot: Shoot, person_id: int, changes: Mapping[str, str], station: str = "", new_group: bool = False
) -> RosterPerson:
    """Puts fields of a person right, and returns them as they are now.

    A new full name also gives new parts, and a new part a new full name. Values that are as before change
    nothing. Raises Problem for another field, a name without a letter, what is not text, or nothing in the
    place of a refusal to be published; NoSuchGroup unless a `new_group` is wanted.
    """
    wrong = next((name for name in changes if name not in FIELDS), None)
    if wrong is not None:
        raise Problem(f"{wrong} cannot be corrected at the door", f"Fields: {', '.join(FIELDS)}.")
    new = {name: text.strip() for name, text in changes.items()}
    require_printable(*new.values())
    with shoot.writing() as session:
        person = _row(session, person_id)
        names = {name: new[name] for name in NAMES if name in new and new[name] != getattr(person, name)}
        if names:
            new |= dict(
                zip(NAMES, rename_parts((person.name, person.given, person.family), **names), strict=True)
            )
            if not fold_name(new["name"]):
                raise Problem("A person needs a name.", "Type a given name, a family name or both.")
        if new.get("group", person.group) != person.group:
            new["group"] = resolve_group(
                new["group"], (roster_person.group for roster_person in read_people(session)), new_group
            )
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
            details = {**differing, CORRECTED_BY: "hand"}
            add_event(
                session, EventKind.CHANGED, shoot.now(), station=station, person_id=person_id
            ).details = details
            if "consent" in differing and is_first_yes(person.consent, person.walk_in):
                record_consent_asked(session)
            session.flush()
        return read_person(session, person_id)


def confirm_person(shoot: Shoot, person_id: int, station: str = "") -> RosterPerson:
    """Notes that the name is spelt right, as the person or whoever came with them said."""
    with shoot.writing() as session:
        person = read_person(session, person_id)
        add_event(
            session, EventKind.CONFIRMED, shoot.now(), station=station, person_id=person_id, name=person.name
        )
        return person


def _row(session: Session, person_id: int) -> Person:
    read_person(session, person_id)  # raises where there is nobody
    return session.get_one(Person, person_id)
