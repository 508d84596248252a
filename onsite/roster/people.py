"""The people of a shoot, out of the store."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any, cast

from sqlmodel import Session, col, select

from onsite.problems import Problem
from onsite.roster.find import Someone
from onsite.roster.publication import publication_of
from onsite.store.record import REMOVED, Kind, happened
from onsite.store.tables import Card, Event, Meta, Person, SequenceNumber


def people(session: Session, ids: Collection[int] | None = None, removed_too: bool = False) -> list[Someone]:
    """Everybody in the order in which they came to the shoot, withdrawn people and walk-ins among them; of
    `ids`, few enough for one query, only those. Walk-ins who were taken back are left out, but for
    `removed_too`, where names of what once happened are looked up."""
    gone, asked = withdrawn_ids(session, ids), is_asked(session)
    left_out = set() if removed_too else removed_ids(session)
    wanted: Any = (
        select(
            Person.consent,
            Person.walk_in,
            Person.id,
            Person.key,
            Person.code,
            SequenceNumber.number,
            Person.name,
            Person.given,
            Person.family,
            Person.group,
        )  # type: ignore[call-overload]
        .outerjoin(SequenceNumber, col(SequenceNumber.person_id) == col(Person.id))
        .order_by(col(Person.id))
    )
    if ids is not None:
        wanted = wanted.where(col(Person.id).in_(ids))
    everybody: list[Someone] = []
    for consent, walk_in, *row in cast(Any, session.exec(wanted)):
        if row[0] not in left_out:
            withdrawn = row[0] in gone
            may = publication_of(consent, asked=asked, walk_in=walk_in, withdrawn=withdrawn)
            everybody.append(Someone(*row, withdrawn, may))  # type: ignore[call-arg]
    return everybody


_ASKED = "consent_asked"


def is_asked(session: Session) -> bool:
    """Whether the client's list has, or ever had, answers about consent: see `publication`."""
    return session.get(Meta, _ASKED) is not None


def note_asked(session: Session) -> None:
    """Notes that it has. Nothing takes that back."""
    if not is_asked(session):
        session.add(Meta(key=_ASKED, value="yes"))


def person_of(session: Session, person_id: int, removed_too: bool = False) -> Someone:
    """The person of that id in the store, without reading the others."""
    for someone in people(session, (person_id,), removed_too):
        return someone
    raise Problem("That person is not in this shoot.", "Find them again.")


def withdrawn_ids(session: Session, ids: Collection[int] | None = None) -> set[int]:
    """The people, of all or of `ids`, who are no longer on the client's list: of listed and withdrawn, the
    last counts."""
    wanted: Any = (
        select(Event.person_id, Event.kind)
        .where(col(Event.kind).in_([Kind.LISTED.value, Kind.WITHDRAWN.value]))
        .order_by(col(Event.at), col(Event.id))
    )
    if ids is None:
        ever = select(Event.person_id).where(col(Event.kind) == Kind.WITHDRAWN.value)
        wanted = wanted.where(col(Event.person_id).in_(ever))
    else:
        wanted = wanted.where(col(Event.person_id).in_(ids))
    last = {person_id: kind for person_id, kind in session.exec(wanted) if person_id is not None}
    return {person_id for person_id, kind in last.items() if kind == Kind.WITHDRAWN}


def removed_ids(session: Session) -> set[int]:
    """The walk-ins who were taken back: they stay in the tables, since the record speaks of them, and are
    nobody's any more, as are their numbers and codes."""
    undone = happened(session, (Kind.UNDONE,))
    return {one.person_id for one in undone if one.person_id is not None and REMOVED in one.details}


def codes_taken(session: Session) -> set[str]:
    """Every code of a person or a card of this shoot."""
    return {*session.exec(select(Person.code)), *session.exec(select(Card.code))}


class Codes:
    """The same, asked one by one, where a single code is to be new."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def __contains__(self, code: object) -> bool:
        person = self._session.exec(select(Person.id).where(Person.code == code)).first()
        return (
            person is not None
            or self._session.exec(select(Card.id).where(Card.code == code)).first() is not None
        )
