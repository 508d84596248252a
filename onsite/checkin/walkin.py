"""Somebody who is not on the list, at the door."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from shlex import quote

from sqlmodel import Session, func, select

from onsite.checkin.desk import Arrival, ArrivalDesk, arrival_events, arrival_time
from onsite.checkin.writable import require_printable
from onsite.problems import Problem
from onsite.roster.by_hand import CORRECTED_BY
from onsite.roster.consent import Consent, parse_consent
from onsite.roster.find import RosterPerson
from onsite.roster.groups import resolve_group
from onsite.roster.names import fold_name, full_name
from onsite.roster.people import TakenCodes, read_people, read_person
from onsite.slate.code import new_code
from onsite.store.record import EventKind, add_event
from onsite.store.shoot import Shoot
from onsite.store.tables import Person
from onsite.words import escaped


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
    """A new person, arrived. Either name may be empty, not both. `consent` is a plain yes or no, or empty
    where they were not asked: they are not published then.

    Two people may share a name: the arrival's `same_name` tells, so that somebody at the door can look.
    Without `another`, somebody of that name and group who is still expected is a reason to refuse. Raises
    NoSuchGroup unless a `new_group` is wanted.
    """
    given, family, group, email, consent = (text.strip() for text in (given, family, group, email, consent))
    require_printable(given, family, group, email, consent)
    if not fold_name(given + family):
        raise Problem("A walk-in needs a name.", "Give --given, --family or both.")
    if parse_consent(consent) is Consent.UNCLEAR:
        raise Problem(
            f"{escaped(consent)} is neither a yes nor a no to being published.",
            "Write yes or no; leave it empty if they were not asked.",
        )
    name = full_name(given, family)
    with shoot.reading() as session:
        everybody = read_people(session)
        group = resolve_group(group, (roster_person.group for roster_person in everybody), new_group)
        namesakes = [
            roster_person for roster_person in everybody if fold_name(roster_person.name) == fold_name(name)
        ]
        if namesakes and not another:
            _refuse_expected(session, namesakes, group)
    same = tuple(roster_person.key for roster_person in namesakes)
    with shoot.writing() as session:
        person = Person(
            key=_free_key(session),
            own_key=True,
            walk_in=True,
            name=name,
            given=given,
            family=family,
            group=group,
            email=email,
            consent=consent,
            code=new_code(shoot.mark, TakenCodes(session)),
        )
        session.add(person)
        session.flush()
        assert person.id is not None
        when = arrival_time(shoot, at)
        arrival = ArrivalDesk(session, person.id).arrive(read_person(session, person.id), when, station, card)
        if consent:
            details = {"consent": ["", consent], CORRECTED_BY: "hand"}
            add_event(
                session, EventKind.CHANGED, when, station=station, person_id=person.id
            ).details = details
        return replace(arrival, same_name=same)


def _refuse_expected(session: Session, namesakes: list[RosterPerson], group: str) -> None:
    here = {event.person_id for event in arrival_events(session)}
    expected = [
        namesake
        for namesake in namesakes
        if fold_name(namesake.group) == fold_name(group)
        and namesake.id not in here
        and not namesake.withdrawn
    ]
    if expected:
        first = expected[0]
        of_group = f" of {escaped(first.group)}" if first.group else ""
        commands = " or ".join(f"onsite checkin {quote(escaped(namesake.key))}" for namesake in expected)
        raise Problem(
            f"{escaped(first.name)}{of_group} is on the list and expected",
            f"{commands}; for another person of that name: --another",
        )


def _free_key(session: Session) -> str:
    made = session.exec(select(func.lower(Person.key)).where(func.lower(Person.key).like("walkin-%")))
    taken = set(made)
    number = 1
    while f"walkin-{number}" in taken:
        number += 1
    return f"walkin-{number}"
