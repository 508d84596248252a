"""Somebody who is not on the list, at the door."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from shlex import quote

from sqlmodel import Session, func, select

from onsite.checkin.desk import Arrival, Desk, arrivals, moment
from onsite.checkin.writable import refuse_unwritable
from onsite.problems import Problem
from onsite.roster.entry import shown
from onsite.roster.find import Someone
from onsite.roster.names import fold, full_name
from onsite.roster.people import Codes, people
from onsite.slate.code import new_code
from onsite.store.shoot import Shoot
from onsite.store.tables import Person


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
) -> Arrival:
    """A new person, arrived. Either name may be empty, not both.

    Two people may share a name: the arrival's `same_name` tells, so that somebody at the door can look.
    Without `another`, somebody of that name and group who is still expected is a reason to refuse.
    """
    given, family, group, email = (text.strip() for text in (given, family, group, email))
    refuse_unwritable(given, family, group, email)
    if not fold(given + family):
        raise Problem("A walk-in needs a name.", "Give --given, --family or both.")
    name = full_name(given, family)
    with shoot.reading() as session:
        namesakes = [someone for someone in people(session) if fold(someone.name) == fold(name)]
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
            code=new_code(shoot.mark, Codes(session)),
        )
        someone = _added(session, person)
        arrival = Desk(session, someone.id).arrive(someone, moment(shoot, at), station, card)
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
        of_group = f" of {shown(first.group)}" if first.group else ""
        commands = " or ".join(f"onsite checkin {quote(shown(one.key))}" for one in expected)
        raise Problem(
            f"{shown(first.name)}{of_group} is on the list and expected",
            f"{commands}; for another person of that name: --another",
        )


def _free_key(session: Session) -> str:
    made = session.exec(select(func.lower(Person.key)).where(func.lower(Person.key).like("walkin-%")))
    taken = set(made)
    number = 1
    while f"walkin-{number}" in taken:
        number += 1
    return f"walkin-{number}"


def _added(session: Session, person: Person) -> Someone:
    session.add(person)
    session.flush()
    assert person.id is not None
    return Someone(
        person.id, person.key, person.code, None, person.name, person.given, person.family, person.group
    )
