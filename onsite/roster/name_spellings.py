"""The texts by which a person can be found: words of the name, whole keys and codes, initials.

`PlainNameIndex` finds names typed in plain letters, with words left out or without spaces, apostrophes or
accents. It guesses no spelling: every word typed is a whole word of the name, in its own script.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache

from onsite.roster.person_names import fold_name, to_latin
from onsite.roster.publication_consent import UNKNOWN, Publication

NAME, PLAIN_NAME, LATIN_NAME, GROUP = "name", "name, accents aside", "name, in Latin letters", "group"
AFTER_APOSTROPHE = "name, from its apostrophe on"
"""Kinds of words, and the reason shown for a hit."""

_MOST_WORDS = 6  # of what was typed: more than any name that people call out
_SPELLED_OUT = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "å": "aa", "ø": "oe", "æ": "ae"})


@dataclass(frozen=True, slots=True)
class RosterPerson:
    """A person as search needs them.

    `sequence` is the number assigned at check-in, None before; `publication` whether their pictures may be
    published.
    """

    id: int
    key: str
    code: str
    sequence: int | None
    name: str
    given: str
    family: str
    group: str
    withdrawn: bool = False
    publication: Publication = UNKNOWN


def name_words(person: RosterPerson) -> Iterator[tuple[str, str]]:
    """Every word by which a person can be found, with the best kind of each."""
    written = " ".join((person.name, person.given, person.family))
    texts: dict[str, str] = {}
    for text, kind in (
        (" ".join(written.casefold().split()), NAME),
        (fold_name(written), PLAIN_NAME),
        (fold_name(written.casefold().translate(_SPELLED_OUT)), PLAIN_NAME),
        (to_latin(written), LATIN_NAME),
    ):
        texts.setdefault(text, kind)
    kinds: dict[str, str] = {}
    for text, kind in texts.items():
        for word in query_words(text, most=40):
            kinds.setdefault(word, kind)
    if _UNVOWELLED.search(written):
        for word in query_words(to_latin(written), most=40):
            kinds.setdefault(consonants(word), LATIN_NAME)
        kinds.pop("", None)
    for part in fold_name(written).split("'")[1:]:  # ambrosetti finds D'Ambrosetti
        for word in query_words(part)[:1]:
            kinds.setdefault(word, AFTER_APOSTROPHE)
    for word in _group_words(person.group):
        kinds.setdefault(word, GROUP)
    yield from kinds.items()


_UNVOWELLED = re.compile("[\u0590-\u05ff\u0600-\u06ff]")
"""A letter of Hebrew or Arabic, which leave out most vowels (Unicode's blocks of these scripts)."""
_FEWEST_CONSONANTS = 3
_WEAK = frozenset("aeiouyhvw'’")


def consonants(word: str) -> str:
    """The strong consonants of a word in Latin letters, marked as such: "samer" and "smr" both give "~smr".

    Empty where they are too few to tell names apart.
    """
    strong = "".join(letter for letter in word if letter.isalpha() and letter not in _WEAK)
    return f"~{strong}" if len(strong) >= _FEWEST_CONSONANTS else ""


@lru_cache(maxsize=4096)
def _group_words(group: str) -> tuple[str, ...]:
    texts = dict.fromkeys((fold_name(group), to_latin(group)))
    return tuple(word for text in texts for word in query_words(text, most=40))


def exact_keys(person: RosterPerson) -> Iterator[tuple[str, str]]:
    """The texts without spaces that identify a person as a whole, each with its kind."""
    kinds: dict[str, str] = {}
    if person.sequence is not None:
        kinds[str(person.sequence)] = "sequence number"
    for text, kind in (
        (person.key, "key"),
        (person.code, "code"),
        (person.name, NAME),
        (f"{person.family} {person.given}", NAME),
    ):
        kinds.setdefault(without_spaces(text), kind)
    kinds.pop("", None)
    yield from kinds.items()


def name_initials(person: RosterPerson) -> set[str]:
    """The initials of a person.

    First letters of given and family names in either order, with and without the middle names; and of either
    part alone if it has several words: "jl" for Jean-Luc.
    """
    words = query_words(to_latin(person.name), most=8)
    if len(words) < 2:
        return set()
    first = [word[0] for word in words]
    ways = {"".join(first), first[0] + first[-1], first[-1] + first[0]}
    given, family = (query_words(to_latin(part), most=4) for part in (person.given, person.family))
    if given and family:
        ways |= {given[0][0] + family[0][0], family[0][0] + given[0][0]}
    ways |= {"".join(word[0] for word in part) for part in (given, family) if len(part) > 1}
    return {way for way in ways if len(way) <= 4}


def query_words(text: str, most: int = _MOST_WORDS) -> list[str]:
    """The distinct words of a text in the form in which they are looked up, at most `most`."""
    plain = text.casefold().replace("-", " ").replace(",", " ").replace("'", "").replace("’", "")
    return list(dict.fromkeys(word for part in plain.split() if (word := part.strip(".()\"'·"))))[:most]


def without_spaces(text: str) -> str:
    """A text folded, without spaces and punctuation."""
    return letters_only(fold_name(text))


def letters_only(text: str) -> str:
    """The letters and digits of a text."""
    return "".join(filter(str.isalnum, text))


_MOST = 40
"""The maximum number of words in a text; a name has fewer."""


class PlainNameIndex:
    """An index of people by the whole words of their names."""

    def __init__(self, people: Iterable[RosterPerson]) -> None:
        self.people = tuple(people)
        self._of: dict[str, set[int]] = defaultdict(set)
        for place, person in enumerate(self.people):
            for word in _words(person):
                self._of[word].add(place)

    def matching_people(self, text: str) -> list[RosterPerson]:
        """Everybody whose name has all words of the text, at least one of them not an initial or a number."""
        words = query_words(text, most=_MOST + 1)
        if not words or len(words) > _MOST or all(len(word) == 1 or word.isdecimal() for word in words):
            return []
        fits = set.intersection(*(self._with_word(word) for word in words)) | self._of.get(
            without_spaces(text), set()
        )
        return [self.people[place] for place in sorted(fits)]

    def _with_word(self, word: str) -> set[int]:
        spellings = {word, fold_name(word), without_spaces(word)} - {""}
        return set().union(*(self._of.get(spelling, ()) for spelling in spellings))


def _words(person: RosterPerson) -> Iterator[str]:
    """The words of a name, and its parts without spaces."""
    yield from (word for word, kind in name_words(person) if kind in (NAME, PLAIN_NAME))
    for whole in (person.name, person.given, person.family, f"{person.family} {person.given}"):
        if word := without_spaces(whole):
            yield word
