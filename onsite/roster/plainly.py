"""A name typed in plain letters: with a word left out, without its spaces, apostrophes or accents.

No spelling is guessed here: every word typed is a whole word of the name, in its own script.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator

from onsite.roster.names import fold_name
from onsite.roster.spellings import NAME, PLAIN_NAME, RosterPerson, name_words, query_words, without_spaces

_MOST = 40
"""Words of a text that are looked at; a name has fewer."""


class PlainNameIndex:
    """An index of people by the whole words of their names."""

    def __init__(self, people: Iterable[RosterPerson]) -> None:
        self.people = tuple(people)
        self._of: dict[str, set[int]] = defaultdict(set)
        for place, person in enumerate(self.people):
            for word in _words(person):
                self._of[word].add(place)

    def matching_people(self, text: str) -> list[RosterPerson]:
        """Everybody whose name holds all words of the text, of which one is more than an initial
        or a number."""
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
    """The words of a name, and its parts without their gaps."""
    yield from (word for word, kind in name_words(person) if kind in (NAME, PLAIN_NAME))
    for whole in (person.name, person.given, person.family, f"{person.family} {person.given}"):
        if word := without_spaces(whole):
            yield word
