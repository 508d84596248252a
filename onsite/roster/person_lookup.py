"""The one person that a text identifies: a key, a code, a sequence number or a name."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
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
        self._wholes: dict[str, list[RosterPerson]] = defaultdict(list)
        self._words: dict[str, list[RosterPerson]] = defaultdict(list)
        for person in self.people:
            for whole in {person.key.casefold(), person.code, str(person.sequence)}:
                self._wholes[whole].append(person)
            for word in {*_words(person.name), *_words(person.given), *_words(person.family)}:
                self._words[word].append(person)

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
        fitting: Sequence[RosterPerson] = ()
        if len(text) <= 10 * LONGEST:
            near = {person.id: person for person in self._near(text)}
            fitting = _exact_matches(text, self._in_order(near.values())) or self._plainly.matching_people(
                text
            )
        return _only_candidate(
            text, fitting, lambda: [hit.person for hit in self._finder.find(text, limit=3)]
        )

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
        """Keys, codes and full names in any order -> the people who have them."""
        named: dict[str, set[int]] = defaultdict(set)
        for person in self.people:
            for text in (person.key, person.code, *_full_names(person)):
                if words := fold_name(text).split():
                    named[" ".join(words)].add(person.id)
        return dict(named)

    @cached_property
    def _longest(self) -> dict[str, int]:
        """First word -> the number of words in the longest name that begins with it."""
        longest: dict[str, int] = defaultdict(int)
        for name in self._in_full:
            words = name.split()
            longest[words[0]] = max(longest[words[0]], len(words))
        return dict(longest)

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


def _only_candidate(
    text: str, fitting: Sequence[RosterPerson], nearest: Callable[[], Sequence[RosterPerson]]
) -> RosterPerson:
    """The only person that a text fits. Raises AmbiguousPerson, or Problem with the nearest people."""
    if len(fitting) == 1:
        return fitting[0]
    if fitting:
        raise AmbiguousPerson(text, fitting)
    listed = "; ".join(map(_described, nearest()))
    raise Problem(
        f"{escaped(text)} is nobody's key, code, sequence number or name",
        f"Nearest: {listed}." if listed else "Nobody has a name like it: see the roster.",
    )


def _exact_matches(text: str, people: Sequence[RosterPerson]) -> list[RosterPerson]:
    """Everybody whom the text fits exactly. Case of a key is ignored only if no key fits as written."""
    code = parse_slate_code(text)
    number = int(text) if text.isdecimal() and len(text) < 10 else None
    name = fold_name(text)
    by_key = {person.id for person in people if person.key == text}
    if not by_key:
        by_key = {person.id for person in people if person.key and person.key.casefold() == text.casefold()}
    return [
        person
        for person in people
        if person.id in by_key
        or (code is not None and person.code == code.text)
        or (number is not None and person.sequence == number)
        or (name and name in _names(person))
    ]


def _full_names(person: RosterPerson) -> list[str]:
    given, family = person.given, person.family
    both = [f"{given} {family}", f"{family} {given}", f"{family}, {given}"] if given and family else []
    return [person.name, *both]


def _names(person: RosterPerson) -> set[str]:
    return {fold_name(name) for name in (*_full_names(person), person.given, person.family)} - {""}


def _described(person: RosterPerson) -> str:
    marks = [escaped(person.group)] if person.group else []
    marks.append(f"key {escaped(person.key)}" if person.key else f"code {person.code}")
    if person.withdrawn:
        marks.append("withdrawn")
    return f"{escaped(person.name)} ({', '.join(marks)})"
