"""A name typed in plain letters: with a word left out, without its spaces, apostrophes or accents.

No spelling is guessed here: every word typed is a whole word of the name, in its own script.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator

from onsite.roster.names import fold
from onsite.roster.spellings import NAME, PLAIN_NAME, Someone, joined, query_words, words_of

_MOST = 40
"""Words of a text that are looked at; a name has fewer."""


class Plainly:
    """An index of people by the whole words of their names."""

    def __init__(self, people: Iterable[Someone]) -> None:
        self.people = tuple(people)
        self._of: dict[str, set[int]] = defaultdict(set)
        for place, someone in enumerate(self.people):
            for word in _words(someone):
                self._of[word].add(place)

    def fitting(self, text: str) -> list[Someone]:
        """Everybody whose name holds all words of the text, of which one is more than an initial
        or a number."""
        words = query_words(text, most=_MOST + 1)
        if not words or len(words) > _MOST or all(len(word) == 1 or word.isdecimal() for word in words):
            return []
        fits = set.intersection(*(self._holding(word) for word in words)) | self._of.get(joined(text), set())
        return [self.people[place] for place in sorted(fits)]

    def _holding(self, word: str) -> set[int]:
        spellings = {word, fold(word), joined(word)} - {""}
        return set().union(*(self._of.get(spelling, ()) for spelling in spellings))


def _words(someone: Someone) -> Iterator[str]:
    """The words of a name, and its parts without their gaps."""
    yield from (word for word, kind in words_of(someone) if kind in (NAME, PLAIN_NAME))
    for whole in (someone.name, someone.given, someone.family, f"{someone.family} {someone.given}"):
        if word := joined(whole):
            yield word
