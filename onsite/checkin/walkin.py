"""Somebody who is not on the list, at the door."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from shlex import quote

from sqlmodel import Session, func, select

from onsite.checkin.desk import Arrival, Desk, arrivals, moment
from onsite.checkin.writable import refuse_unwritable
from onsite.problems import Problem
from onsite.roster.by_hand import BY_HAND
from onsite.roster.consent import Consent, consent_of
from onsite.roster.find import Someone
from onsite.roster.groups import group_for
from onsite.roster.names import fold, full_name
from onsite.roster.people import Codes, people, person_of
from onsite.slate.code import new_code
from onsite.store.record import Kind, add
from onsite.store.shoot import Shoot
from onsite.store.tables import Person
from onsite.words import escaped


def walk_in(
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
    refuse_unwritable(given, family, group, email, consent)
    if not fold(given + family):
        raise Problem("A walk-in needs a name.", "Give --given, --family or both.")
    if consent_of(consent) is Consent.UNCLEAR:
        raise Problem(
            f"{escaped(consent)} is neither a yes nor a no to being published.",
            "Write yes or no; leave it empty if they were not asked.",
        )
    name = full_name(given, family)
    with shoot.reading() as session:
        everybody = people(session)
        group = group_for(group, (someone.group for someone in everybody), new_group)
        namesakes = [someone for someone in everybody if fold(someone.name) == fold(name)]
        if namesakes and not another:
            _refuse_expected(session, namesakes, group)
    same = tuple(someone.key for someone in namesakes)
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
            code=new_code(shoot.mark, Codes(session)),
        )
        session.add(person)
        session.flush()
        assert person.id is not None
        when = moment(shoot, at)
        arrival = Desk(session, person.id).arrive(person_of(session, person.id), when, station, card)
        if consent:
            details = {"consent": ["", consent], BY_HAND: "hand"}
            add(session, Kind.CHANGED, when, station=station, person_id=person.id).details = details
        return replace(arrival, same_name=same)


def _refuse_expected(session: Session, namesakes: list[Someone], group: str) -> None:
    here = {event.person_id for event in arrivals(session)}
    expected = [
        one
        for one in namesakes
        if fold(one.group) == fold(group) and one.id not in here and not one.withdrawn
    ]
    if expected:
        first = expected[0]
        of_group = f" of {escaped(first.group)}" if first.group else ""
        commands = " or ".join(f"onsite checkin {quote(escaped(one.key))}" for one in expected)
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
