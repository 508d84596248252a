"""Every exact spelling of a person, and the e-mail addresses of people."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Sequence

from sqlmodel import Session, select

from onsite.core.codes import CODE_LENGTH, parse_slate_code
from onsite.core.frame_ref import PUNCTUATION
from onsite.roster.find_people import RosterPerson
from onsite.roster.person_names import fold_name
from onsite.store.schema import Person

_NONE: frozenset[int] = frozenset()


class PeopleIndex:
    """Every exact spelling of a person -> the people it matches. Similarity is never enough."""

    def __init__(self, people: Iterable[RosterPerson]) -> None:
        self._of: dict[str, set[int]] = defaultdict(set)
        self._longest: dict[str, int] = defaultdict(int)
        """First word -> the number of words in the longest name that begins with it."""
        for person in people:
            for text in (person.key, person.code, *_ways(person)):
                if words := fold_name(text).split():
                    self._of[" ".join(words)].add(person.id)
                    self._longest[words[0]] = max(self._longest[words[0]], len(words))

    def resolve(self, text: str) -> frozenset[int]:
        """The people with this key, code or full name."""
        if len(text) > 200 or not text.strip():
            return _NONE
        found = self._of.get(fold_name(text))
        if found is None and len(text) >= CODE_LENGTH and (code := parse_slate_code(text)) is not None:
            found = self._of.get(fold_name(code.text))
        return frozenset(found) if found else _NONE

    def in_words(self, words: Sequence[str]) -> tuple[frozenset[int], list[str]]:
        """(people named in running text, the words that name nobody). Numbers in it are not taken as keys."""
        plain = [fold_name(word).strip(PUNCTUATION + ":") for word in words]
        found: set[int] = set()
        naming: set[int] = set()
        for start, word in enumerate(plain):
            for end in range(start + 1, start + 1 + self._longest.get(word, 0)):
                text = " ".join(plain[start:end])
                if not text.isdecimal() and text in self._of:
                    found |= self._of[text]
                    naming.update(range(start, end))
        return frozenset(found), [word for place, word in enumerate(words) if place not in naming]


def _ways(person: RosterPerson) -> list[str]:
    given, family = person.given, person.family
    both = [f"{given} {family}", f"{family} {given}", f"{family}, {given}"] if given and family else []
    return [person.name, *both]


def read_addresses(session: Session) -> dict[str, int]:
    """The e-mail addresses of the roster that belong to one person only -> that person's id."""
    people_of: dict[str, set[int]] = {}
    for person, email in session.exec(select(Person.id, Person.email)):
        for address in re.split(r"[,;\s]+", email or ""):
            if person is not None and "@" in address:
                people_of.setdefault(address.casefold().strip("<>"), set()).add(person)
    return {address: next(iter(ids)) for address, ids in people_of.items() if len(ids) == 1}
