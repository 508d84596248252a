"""Many texts, each for exactly one person: `find.who` without going through everybody each time."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from functools import cached_property

from onsite.roster.find import LONGEST, Finder, Someone, fitting_exactly, one_of, who
from onsite.roster.names import fold
from onsite.roster.plainly import Plainly
from onsite.slate.code import parse


class Lookup:
    """An index that narrows the people down; `find.who` then decides among those left."""

    def __init__(self, people: Iterable[Someone]) -> None:
        self.people = tuple(people)
        self._wholes: dict[str, list[Someone]] = defaultdict(list)
        self._words: dict[str, list[Someone]] = defaultdict(list)
        for someone in self.people:
            for whole in {someone.key.casefold(), someone.code, str(someone.sequence)}:
                self._wholes[whole].append(someone)
            for word in {*_words(someone.name), *_words(someone.given), *_words(someone.family)}:
                self._words[word].append(someone)

    def who(self, text: str) -> Someone:
        """The one person meant; the same answer or Problem as `find.who` gives."""
        text = text.strip()
        if not text or len(text) > 10 * LONGEST:
            return who(text, self.people)
        near = {someone.id: someone for someone in self._near(text)}
        fitting = fitting_exactly(text, self._in_order(near.values())) or self._plainly.fitting(text)
        return one_of(text, fitting, lambda: [hit.someone for hit in self._finder.find(text, limit=3)])

    def _in_order(self, some: Iterable[Someone]) -> list[Someone]:
        return sorted(some, key=lambda someone: self._place[someone.id])

    def _near(self, text: str) -> Iterator[Someone]:
        """At least everybody whom the text fits."""
        code = parse(text)
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
    def _plainly(self) -> Plainly:
        return Plainly(self.people)

    @cached_property
    def _finder(self) -> Finder:
        return Finder(self.people)

    @cached_property
    def _place(self) -> dict[int, int]:
        return {someone.id: place for place, someone in enumerate(self.people)}


def _words(text: str) -> list[str]:
    """The folded words, without the commas that "Family, Given" brings."""
    return [word.strip(",") for word in fold(text).split()]
