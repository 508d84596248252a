"""Reading the people of a shoot from the store."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from functools import cached_property

import sqlalchemy as sa
from sqlmodel import Session, select

from onsite.core.codes import parse_slate_code
from onsite.core.errors import Problem
from onsite.roster.find_people import (
    LONGEST,
    PersonFinder,
    RosterPerson,
    exact_matches,
    only_candidate,
    resolve_person,
)
from onsite.roster.name_spellings import PlainNameIndex
from onsite.roster.person_names import fold_name
from onsite.roster.publication import decide_publication
from onsite.store.schema import DeckCard, Meta, Person, PersonState, SequenceNumber


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
    """Whether the client's list has, or ever had, answers about consent: see `publication`."""
    return session.get(Meta, _ASKED) is not None


def record_consent_asked(session: Session) -> None:
    """Records that the client's list has answers about consent. Nothing takes that back."""
    if not asks_consent(session):
        session.add(Meta(key=_ASKED, value="yes"))


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


class PersonLookup:
    """Resolves many texts, each to one person, without scanning everybody each time.

    An index narrows the people down; the rules of `resolve_person` then decide among the candidates.
    """

    def __init__(self, people: Iterable[RosterPerson]) -> None:
        self.people = tuple(people)
        self._wholes: dict[str, list[RosterPerson]] = defaultdict(list)
        self._words: dict[str, list[RosterPerson]] = defaultdict(list)
        for person in self.people:
            for whole in {person.key.casefold(), person.code, str(person.sequence)}:
                self._wholes[whole].append(person)
            for word in {*_words(person.name), *_words(person.given), *_words(person.family)}:
                self._words[word].append(person)

    def resolve(self, text: str) -> RosterPerson:
        """The person that a text identifies, with the same result or Problem as `resolve_person`."""
        text = text.strip()
        if not text or len(text) > 10 * LONGEST:
            return resolve_person(text, self.people)
        near = {person.id: person for person in self._near(text)}
        fitting = exact_matches(text, self._in_order(near.values())) or self._plainly.matching_people(text)
        return only_candidate(text, fitting, lambda: [hit.person for hit in self._finder.find(text, limit=3)])

    def _in_order(self, people: Iterable[RosterPerson]) -> list[RosterPerson]:
        return sorted(people, key=lambda person: self._place[person.id])

    def _near(self, text: str) -> Iterator[RosterPerson]:
        """A superset of the people whom the text fits."""
        code = parse_slate_code(text)
        wholes = {text.casefold()}
        if code is not None:
            wholes.add(code.text)
        if text.isdecimal() and len(text) < 10:
            wholes.add(str(int(text)))
        for whole in wholes:
            yield from self._wholes.get(whole, ())
        words = [self._words.get(word, []) for word in _words(text)]
        yield from min(words, key=len, default=[])

    @cached_property
    def _plainly(self) -> PlainNameIndex:
        return PlainNameIndex(self.people)

    @cached_property
    def _finder(self) -> PersonFinder:
        return PersonFinder(self.people)

    @cached_property
    def _place(self) -> dict[int, int]:
        return {person.id: place for place, person in enumerate(self.people)}


def _words(text: str) -> list[str]:
    """The folded words, without the comma of "Family, Given"."""
    return [word.strip(",") for word in fold_name(text).split()]
