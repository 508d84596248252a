"""The one person that a text identifies: a key, a code, a sequence number or a name."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from functools import cached_property

from onsite.core.codes import CODE_LENGTH, parse_slate_code
from onsite.core.errors import Problem
from onsite.core.frame_ref import PUNCTUATION
from onsite.core.text import escaped
from onsite.roster.find_people import LONGEST, PersonFinder
from onsite.roster.name_spellings import PlainNameIndex, RosterPerson
from onsite.roster.person_names import fold_name

_LISTED = 8
"""The maximum number of candidates in a message."""


class AmbiguousPerson(Problem):
    """A text that fits more than one person, all of them in `candidates`."""

    def __init__(self, text: str, candidates: Sequence[RosterPerson]) -> None:
        self.candidates = tuple(candidates)
        listed = "; ".join(_described(candidate) for candidate in self.candidates[:_LISTED])
        more = f"; and {len(candidates) - _LISTED} more" if len(candidates) > _LISTED else ""
        super().__init__(
            f"{escaped(text)} fits {len(candidates)} people: {listed}{more}",
            "Use the key or the code, or the full name if only one has it.",
        )


def resolve_person(text: str, people: Iterable[RosterPerson]) -> RosterPerson:
    """The person that a text identifies, for a single text: see `PersonLookup.resolve`."""
    return PersonLookup(people).resolve(text)


class PersonLookup:
    """Resolves texts, each to one person, without scanning everybody each time."""

    def __init__(self, people: Iterable[RosterPerson]) -> None:
        self.people = tuple(people)
        self._by_key: dict[str, set[int]] = defaultdict(set)  # to places in `people`, as all of these
        self._by_code: dict[str, set[int]] = defaultdict(set)
        self._by_number: dict[int | None, set[int]] = defaultdict(set)
        self._by_name: dict[str, set[int]] = defaultdict(set)
        for place, person in enumerate(self.people):
            self._by_key[person.key.casefold()].add(place)
            self._by_code[person.code].add(place)
            self._by_number[person.sequence].add(place)
            for name in (*_full_names(person), fold_name(person.given), fold_name(person.family)):
                self._by_name[name].add(place)

    def resolve(self, text: str) -> RosterPerson:
        """The person that a key, a code, a sequence number or a name identifies.

        A name is the full name in either order, or the given or the family name alone; case and accents do
        not matter. If nobody has it, whole words of a name will do (`PlainNameIndex`). Similarity is never
        enough. Raises AmbiguousPerson if more than one person fits in any way, and Problem with the nearest
        names if nobody does.
        """
        text = text.strip()
        if not text:
            raise Problem("Nobody is named", "Give a key, a code, a sequence number or a name.")
        fitting: list[RosterPerson] = []
        if len(text) <= 10 * LONGEST:
            fitting = self._exact_matches(text) or self._plain_names.matching_people(text)
        if len(fitting) == 1:
            return fitting[0]
        if fitting:
            raise AmbiguousPerson(text, fitting)
        nearest = "; ".join(_described(hit.person) for hit in self._finder.find(text, limit=3))
        raise Problem(
            f"{escaped(text)} is nobody's key, code, sequence number or name",
            f"Nearest: {nearest}." if nearest else "Nobody has a name like it: see the roster.",
        )

    def _exact_matches(self, text: str) -> list[RosterPerson]:
        """Everybody whom the text fits. Case of a key is ignored only if no key fits as written."""
        keys = self._by_key.get(text.casefold(), set())
        places = {place for place in keys if self.people[place].key == text} or set(keys)
        if (code := parse_slate_code(text)) is not None:
            places |= self._by_code.get(code.text, set())
        if text.isdecimal() and len(text) < 10:
            places |= self._by_number.get(int(text), set())
        if name := fold_name(text):
            places |= self._by_name.get(name, set())
        return [self.people[place] for place in sorted(places)]

    def named_in_full(self, text: str) -> frozenset[int]:
        """The ids of the people with this key, code or full name."""
        if len(text) > 2 * LONGEST or not text.strip():
            return frozenset()
        found = self._in_full.get(fold_name(text))
        if found is None and len(text) >= CODE_LENGTH and (code := parse_slate_code(text)) is not None:
            found = self._in_full.get(fold_name(code.text))
        return frozenset(found or ())

    def named_in_words(self, words: Sequence[str]) -> tuple[frozenset[int], list[str]]:
        """(ids of people named in running text, the words that name nobody). Numbers in it are no keys."""
        plain = [fold_name(word).strip(PUNCTUATION + ":") for word in words]
        found: set[int] = set()
        naming: set[int] = set()
        for start, word in enumerate(plain):
            for end in range(start + 1, start + 1 + self._longest.get(word, 0)):
                text = " ".join(plain[start:end])
                if not text.isdecimal() and text in self._in_full:
                    found |= self._in_full[text]
                    naming.update(range(start, end))
        return frozenset(found), [word for place, word in enumerate(words) if place not in naming]

    @cached_property
    def _in_full(self) -> dict[str, set[int]]:
        """Keys, codes and full names in any order, folded -> the people who have them."""
        named: dict[str, set[int]] = defaultdict(set)
        for person in self.people:
            for text in (fold_name(person.key), fold_name(person.code), *_full_names(person)):
                if text:
                    named[text].add(person.id)
        return dict(named)

    @cached_property
    def _longest(self) -> dict[str, int]:
        """First word -> the number of words in the longest name that begins with it."""
        longest: dict[str, int] = defaultdict(int)
        for name in self._in_full:
            words = name.split()
            longest[words[0]] = max(longest[words[0]], len(words))
        return dict(longest)

    @cached_property
    def _plain_names(self) -> PlainNameIndex:
        return PlainNameIndex(self.people)

    @cached_property
    def _finder(self) -> PersonFinder:
        return PersonFinder(self.people)


def _full_names(person: RosterPerson) -> list[str]:
    """The full name in every order, folded."""
    given, family = fold_name(person.given), fold_name(person.family)
    both = [f"{given} {family}", f"{family} {given}", f"{family}, {given}"] if given and family else []
    return [fold_name(person.name), *both]


def _described(person: RosterPerson) -> str:
    marks = [escaped(person.group)] if person.group else []
    marks.append(f"key {escaped(person.key)}" if person.key else f"code {person.code}")
    if person.withdrawn:
        marks.append("withdrawn")
    return f"{escaped(person.name)} ({', '.join(marks)})"
