"""Reading the people of a shoot from the store."""

from __future__ import annotations

import re
from collections.abc import Collection

import sqlalchemy as sa
from sqlmodel import Session, select

from onsite.core.errors import Problem
from onsite.roster.find_people import RosterPerson
from onsite.roster.publication_consent import decide_publication
from onsite.store.events import EventKind
from onsite.store.schema import DeckCard, EventRow, Meta, Person, PersonState, SequenceNumber


def read_people(
    session: Session, ids: Collection[int] | None = None, removed_too: bool = False
) -> list[RosterPerson]:
    """Everybody in the order in which they were added, withdrawn people and walk-ins included.

    With `ids`, few enough for one query, only those people. Removed walk-ins are left out, unless
    `removed_too` is set to look up names in past events.
    """
    asked = asks_consent(session)
    wanted = (
        sa.select(
            Person.id,
            Person.key,
            Person.code,
            SequenceNumber.number,
            Person.name,
            Person.given,
            Person.family,
            Person.group,
            Person.consent,
            Person.walk_in,
            PersonState.withdrawn,
        )
        .outerjoin(SequenceNumber, SequenceNumber.person_id == Person.id)
        .outerjoin(PersonState, PersonState.person_id == Person.id)
        .order_by(Person.id)
    )
    if ids is not None:
        wanted = wanted.where(Person.id.in_(ids))
    if not removed_too:
        wanted = wanted.where(PersonState.removed.is_not(True))
    everybody: list[RosterPerson] = []
    for *fields, consent, walk_in, state in session.execute(wanted):
        withdrawn = bool(state)
        may = decide_publication(consent, asked=asked, walk_in=walk_in, withdrawn=withdrawn)
        everybody.append(RosterPerson(*(*fields, withdrawn, may)))
    return everybody


_ASKED = "consent_asked"


def asks_consent(session: Session) -> bool:
    """Whether the client's list has, or ever had, answers about consent: see `publication_consent`."""
    return session.get(Meta, _ASKED) is not None


def record_consent_asked(session: Session) -> None:
    """Records that the client's list has answers about consent. Nothing takes that back."""
    if not asks_consent(session):
        session.add(Meta(key=_ASKED, value="yes"))


_TICKETS = "tickets_made"


def record_tickets_made(session: Session, until: int) -> None:
    """Records that everybody on the list by the event `until` has a ticket."""
    session.merge(Meta(key=_TICKETS, value=str(until)))


def without_ticket(session: Session) -> set[int]:
    """The ids of all who came onto the list after tickets were made for everybody on it."""
    made = session.get(Meta, _TICKETS)
    listed = select(EventRow.person_id).where(
        EventRow.kind == EventKind.LISTED, EventRow.id > (int(made.value) if made else 0)
    )
    return {person_id for person_id in session.exec(listed) if person_id is not None}


def read_person(session: Session, person_id: int, removed_too: bool = False) -> RosterPerson:
    """The person with that id, without reading the others. Raises Problem if there is none."""
    for person in read_people(session, (person_id,), removed_too):
        return person
    raise Problem("That person is not in this shoot.", "Find them again.")


def arrived_ids(session: Session) -> set[int]:
    """The ids of all who have arrived."""
    return set(session.exec(select(PersonState.person_id).where(PersonState.arrived.is_not(None))))


def removed_ids(session: Session) -> set[int]:
    """The ids of removed walk-ins.

    They stay in the tables, since events refer to them; their numbers and codes are not used again.
    """
    return set(session.exec(select(PersonState.person_id).where(PersonState.removed)))


def codes_taken(session: Session) -> set[str]:
    """Every code of a person or a deck card of this shoot."""
    return {*session.exec(select(Person.code)), *session.exec(select(DeckCard.code))}


class TakenCodes:
    """The codes in use, queried one by one, for making a single new code."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def __contains__(self, code: object) -> bool:
        person = self._session.exec(select(Person.id).where(Person.code == code)).first()
        return (
            person is not None
            or self._session.exec(select(DeckCard.id).where(DeckCard.code == code)).first() is not None
        )


def read_addresses(session: Session) -> dict[str, int]:
    """The e-mail addresses of the roster that belong to one person only -> that person's id."""
    people_of: dict[str, set[int]] = {}
    for person, email in session.exec(select(Person.id, Person.email)):
        for address in re.split(r"[,;\s]+", email or ""):
            if person is not None and "@" in address:
                people_of.setdefault(address.casefold().strip("<>"), set()).add(person)
    return {address: next(iter(ids)) for address, ids in people_of.items() if len(ids) == 1}
