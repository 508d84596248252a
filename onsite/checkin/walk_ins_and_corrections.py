"""Walk-ins, corrections and confirmed names at the door.

A correction made at the door stays when the client's list is loaded again (`onsite.roster.known_people`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from shlex import quote
from typing import Any

from sqlmodel import Session, func, select

from onsite.checkin.waiting_people import Arrival, ArrivalDesk, arrival_time, arrivals
from onsite.core.codes import new_code
from onsite.core.errors import Problem
from onsite.core.text import escaped
from onsite.roster.find_people import RosterPerson
from onsite.roster.known_people import CORRECTED_BY
from onsite.roster.parse_consent import Consent, parse_consent
from onsite.roster.person_names import fold_name, full_name, rename_parts
from onsite.roster.publication_consent import is_first_yes, stays_refused
from onsite.roster.read_people import TakenCodes, read_people, read_person, record_consent_asked
from onsite.roster.roster_groups import resolve_group
from onsite.store.events import EventKind, add_event
from onsite.store.schema import Person
from onsite.store.shoot import Shoot


def add_walk_in(
    shoot: Shoot,
    given: str,
    family: str,
    group: str = "",
    email: str = "",
    card: str | int | None = None,
    at: datetime | None = None,
    station: str = "",
    another: bool = True,
    consent: str = "",
    new_group: bool = False,
) -> Arrival:
    """Adds a new person and checks them in.

    Either name may be empty, not both. `consent` is a plain yes or no, or empty if they were not asked;
    without a yes they are not published.

    Two people may share a name: the arrival's `same_name` lists the others, so that the door can check.
    Without `another`, anybody of that name who is on the list or has arrived is a reason to refuse. Raises
    UnknownGroup unless `new_group` is set, and Problem for other bad input.
    """
    typed = {"given": given, "family": family, "group": group, "email": email, "consent": consent}
    fields = walk_in_fields(typed)
    with shoot.reading() as session:
        everybody = read_people(session)
        groups = (roster_person.group for roster_person in everybody)
        fields["group"] = resolve_group(fields["group"], groups, new_group)
        folded = fold_name(fields["name"])
        namesakes = [roster_person for roster_person in everybody if fold_name(roster_person.name) == folded]
        if namesakes and not another:
            _refuse_namesakes(session, namesakes)
    same = tuple(roster_person.key for roster_person in namesakes)
    with shoot.writing() as session:
        code, key = new_code(shoot.mark, TakenCodes(session)), free_key(session)
        at = arrival_time(shoot, at)
        arrival = record_walk_in(session, {**fields, "code": code, "key": key}, at, station, card)
    return replace(arrival, same_name=same)


WALK_IN_TEXTS = ("given", "family", "group", "email", "consent")
"""What is typed about a walk-in, beside a deck card."""


def walk_in_fields(typed: Mapping[str, str]) -> dict[str, str]:
    """The fields of a walk-in from what was typed, with the full name. Raises Problem for bad input."""
    fields = {name: text.strip() for name, text in typed.items()}
    require_printable(*fields.values())
    if not fold_name(fields["given"] + fields["family"]):
        raise Problem("A walk-in needs a name.", "Type a given name, a family name, or both.")
    _require_plain_consent(fields["consent"])
    return {"name": full_name(fields["given"], fields["family"]), **fields}


def record_walk_in(
    session: Session,
    fields: Mapping[str, str],
    at: datetime,
    station: str,
    card: str | int | None = None,
    number: int | None = None,
) -> Arrival:
    """Write down a walk-in, their arrival and what they said about being published.

    `number` was given to them while the server was gone.
    """
    person = Person(key=fields["key"], code=fields["code"], name=fields["name"], own_key=True, walk_in=True)
    for name in WALK_IN_TEXTS:
        setattr(person, name, fields[name])
    session.add(person)
    session.flush()
    assert person.id is not None
    desk = ArrivalDesk(session, person.id)
    arrival = desk.arrive(read_person(session, person.id), at, station, card, number)
    if person.consent:
        details = {"consent": ["", person.consent], CORRECTED_BY: "hand"}
        add_event(session, EventKind.CHANGED, at, station=station, person_id=person.id).details = details
    return arrival


def _refuse_namesakes(session: Session, namesakes: Sequence[RosterPerson]) -> None:
    """Raises Problem that lists everybody of the walk-in's name, unless all were withdrawn from the list."""
    here = arrivals(session)
    known = [namesake for namesake in namesakes if not namesake.withdrawn]
    if not known:
        return
    listed = "; ".join(
        f"{escaped(namesake.name)}"
        + (f" of {escaped(namesake.group)}" if namesake.group else "")
        + (" has arrived already" if namesake.id in here else " is on the list and expected")
        + (f" ({escaped(namesake.key)})" if len(known) > 1 else "")
        for namesake in known
    )
    commands = " or ".join(
        f"onsite checkin {quote(escaped(namesake.key))}" for namesake in known if namesake.id not in here
    )
    other = "for another person of that name: --another"
    raise Problem(listed, f"{commands}; {other}" if commands else other.capitalize())


def free_key(session: Session, wanted: str = "") -> str:
    """A key that nobody has, for a walk-in: the wanted one, or else the next number."""
    made = session.exec(select(func.lower(Person.key)).where(func.lower(Person.key).like("walkin-%")))
    taken = set(made)
    if wanted and wanted not in taken:
        return wanted
    number = 1
    while f"walkin-{number}" in taken:
        number += 1
    return f"walkin-{number}"


NAMES = ("name", "given", "family")
FIELDS = (*NAMES, "spoken", "group", "note", "consent")
"""The fields that can be corrected at the door."""


def correct_person(
    shoot: Shoot, person_id: int, changes: Mapping[str, str], station: str = "", new_group: bool = False
) -> RosterPerson:
    """Corrects fields of a person and returns the person as they are now.

    A new full name also gives new parts, and a new part a new full name. Unchanged values do nothing. Raises
    Problem for any other field, a name without a letter, a text that cannot be stored, a new consent that is
    neither a plain yes nor a plain no, or an empty text in place of a refusal to be published; UnknownGroup
    unless `new_group` is set.
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
        if new.get("consent", "") != person.consent.strip():
            _require_plain_consent(new.get("consent", ""))
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
    """Records that the person, or whoever came with them, confirmed the spelling of the name."""
    with shoot.writing() as session:
        person = read_person(session, person_id)
        add_event(
            session, EventKind.CONFIRMED, shoot.now(), station=station, person_id=person_id, name=person.name
        )
        return person


def _row(session: Session, person_id: int) -> Person:
    read_person(session, person_id)  # raises Problem if there is no such person
    return session.get_one(Person, person_id)


def _require_plain_consent(text: str) -> None:
    """Raises Problem for an answer about being published that is not a plain yes, a plain no, or empty."""
    if parse_consent(text) is Consent.UNCLEAR:
        raise Problem(
            f"{escaped(text)} is neither a yes nor a no to being published.",
            "Write yes or no; leave it empty if they were not asked.",
        )


def require_printable(*texts: str) -> None:
    """Raises Problem for a text that cannot be stored.

    That is bytes of a command line that are no text in its encoding, and NUL, which not every database
    accepts.
    """
    for text in texts:
        if "\0" in text or any("\ud800" <= character <= "\udfff" for character in text):
            raise Problem(f"{escaped(text)} holds what is not text", "Type it again.")
