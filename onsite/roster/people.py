"""The people of a shoot, out of the store."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any, cast

from sqlmodel import Session, col, select

from onsite.problems import Problem
from onsite.roster.find import Someone
from onsite.store.record import Kind
from onsite.store.tables import Card, Event, Person, SequenceNumber


def people(session: Session, ids: Collection[int] | None = None) -> list[Someone]:
    """Everybody in the order in which they came to the shoot, withdrawn people and walk-ins among them; of
    `ids`, few enough for one query, only those."""
    gone = withdrawn_ids(session, ids)
    wanted: Any = (
        select(
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
    rows = cast(Any, session.exec(wanted))
    return [Someone(*(*row, row[0] in gone)) for row in rows]


def person_of(session: Session, person_id: int) -> Someone:
    """The person of that id in the store, without reading the others."""
    for someone in people(session, (person_id,)):
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
