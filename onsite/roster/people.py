"""The people of a shoot, out of the store."""

from __future__ import annotations

from typing import Any, cast

from sqlmodel import Session, col, select

from onsite.roster.find import Someone
from onsite.store.record import Kind
from onsite.store.tables import Card, Event, Person, SequenceNumber


def people(session: Session) -> list[Someone]:
    """Everybody in the order in which they came to the shoot, withdrawn people and walk-ins among them."""
    gone = withdrawn_ids(session)
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
    rows = cast(Any, session.exec(wanted))
    return [Someone(*(*row, row[0] in gone)) for row in rows]


def withdrawn_ids(session: Session) -> set[int]:
    """The people who are no longer on the client's list: of listed and withdrawn, the last counts."""
    ever = select(Event.person_id).where(col(Event.kind) == Kind.WITHDRAWN.value)
    wanted = (
        select(Event.person_id, Event.kind)
        .where(col(Event.kind).in_([Kind.LISTED.value, Kind.WITHDRAWN.value]))
        .where(col(Event.person_id).in_(ever))
        .order_by(col(Event.at), col(Event.id))
    )
    last = {person_id: kind for person_id, kind in session.exec(wanted) if person_id is not None}
    return {person_id for person_id, kind in last.items() if kind == Kind.WITHDRAWN}


def codes_taken(session: Session) -> set[str]:
    """Every code of a person or a card of this shoot."""
    return {*session.exec(select(Person.code)), *session.exec(select(Card.code))}
