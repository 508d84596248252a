"""Reading the people of a shoot from the store."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from functools import cached_property
from typing import Any, cast

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
from onsite.store.events import REMOVED, EventKind, read_events
from onsite.store.schema import DeckCard, EventRow, Meta, Person, SequenceNumber


def read_people(
    session: Session, ids: Collection[int] | None = None, removed_too: bool = False
) -> list[RosterPerson]:
    """Everybody in the order in which they were added, withdrawn people and walk-ins included.

    With `ids`, few enough for one query, only those people. Removed walk-ins are left out, unless
    `removed_too` is set to look up names in past events.
    """
    gone, asked = withdrawn_ids(session, ids), asks_consent(session)
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
        .outerjoin(SequenceNumber, SequenceNumber.person_id == Person.id)
        .order_by(Person.id)
    )
    if ids is not None:
        wanted = wanted.where(Person.id.in_(ids))
    everybody: list[RosterPerson] = []
    for consent, walk_in, *row in cast(Any, session.exec(wanted)):
        if row[0] not in left_out:
            withdrawn = row[0] in gone
            may = decide_publication(consent, asked=asked, walk_in=walk_in, withdrawn=withdrawn)
            everybody.append(RosterPerson(*row, withdrawn, may))  # type: ignore[call-arg]
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


def withdrawn_ids(session: Session, ids: Collection[int] | None = None) -> set[int]:
    """The ids of people who are no longer on the client's list, among all or among `ids`.

    Of each person's LISTED and WITHDRAWN events the last counts.
    """
    wanted: Any = (
        select(EventRow.person_id, EventRow.kind)
        .where(EventRow.kind.in_([EventKind.LISTED.value, EventKind.WITHDRAWN.value]))
        .order_by(EventRow.at, EventRow.id)
    )
    if ids is None:
        ever = select(EventRow.person_id).where(EventRow.kind == EventKind.WITHDRAWN.value)
        wanted = wanted.where(EventRow.person_id.in_(ever))
    else:
        wanted = wanted.where(EventRow.person_id.in_(ids))
    last = {person_id: kind for person_id, kind in session.exec(wanted) if person_id is not None}
    return {person_id for person_id, kind in last.items() if kind == EventKind.WITHDRAWN}


def removed_ids(session: Session) -> set[int]:
    """The ids of removed walk-ins.

    They stay in the tables, since events refer to them; their numbers and codes are not used again.
    """
    undone = read_events(session, (EventKind.UNDONE,))
    return {undo.person_id for undo in undone if undo.person_id is not None and REMOVED in undo.details}


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
