"""Many texts, each for exactly one person: `find.who` without going through everybody each time."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from functools import cached_property

from onsite.roster.find import (
    LONGEST,
    PersonFinder,
    RosterPerson,
    exact_matches,
    only_candidate,
    resolve_person,
)
from onsite.roster.names import fold_name
from onsite.roster.plainly import PlainNameIndex
from onsite.slate.code import parse_slate_code


class PersonLookup:
    """An index that narrows the people down; `find.who` then decides among those left."""

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
        """The one person meant; the same answer or Problem as `find.who` gives."""
        text = text.strip()
        if not text or len(text) > 10 * LONGEST:
            return resolve_person(text, self.people)
        near = {person.id: person for person in self._near(text)}
        fitting = exact_matches(text, self._in_order(near.values())) or self._plainly.matching_people(text)
        return only_candidate(text, fitting, lambda: [hit.person for hit in self._finder.find(text, limit=3)])

    def _in_order(self, people: Iterable[RosterPerson]) -> list[RosterPerson]:
        return sorted(people, key=lambda person: self._place[person.id])

    def _near(self, text: str) -> Iterator[RosterPerson]:
        """At least everybody whom the text fits."""
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
    """The folded words, without the commas that "Family, Given" brings."""
    return [word.strip(",") for word in fold_name(text).split()]
