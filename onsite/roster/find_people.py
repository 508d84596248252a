"""Finding people while a name is typed: ranked hits."""

from __future__ import annotations

import heapq
from bisect import bisect_left, insort
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from threading import Lock

from onsite.core.codes import parse_slate_code
from onsite.roster.name_spellings import (
    AFTER_APOSTROPHE,
    GROUP,
    LATIN_NAME,
    NAME,
    PLAIN_NAME,
    RosterPerson,
    consonants,
    exact_keys,
    letters_only,
    name_initials,
    name_words,
    query_words,
    without_spaces,
)
from onsite.roster.person_names import fold_name, to_latin

__all__ = ["LONGEST", "PersonFinder", "RosterPerson", "SearchHit"]

LONGEST = 100
"""The longest query, in characters; longer texts were pasted, and typing errors are not looked for."""

_TYPO_LIKENESS = 0.66
"""The lowest similarity of a misspelt word: one error in three letters. Own choice."""

_WORTH = {NAME: 100.0, PLAIN_NAME: 98.0, AFTER_APOSTROPHE: 96.0, LATIN_NAME: 94.0, GROUP: 60.0}
"""Points for a whole word, by the spelling that it fits: the nearer to what is written, the more. Own."""
IN_PART = "not every word"
"""The end of `SearchHit.why` where a word that was typed is not the person's: it may be another's name."""
_LEAST = 38.0
"""The lowest score of a hit: one of two words fits, or all but one of three initials."""


@dataclass(frozen=True, slots=True)
class SearchHit:
    """A hit: `score` from 0 to 100, and `why` in short."""

    person: RosterPerson
    score: float
    why: str


_CLOSEST = 1e-4
"""The smallest distance between two places in the order of names that leaves room for another place."""

_Scores = dict[int, tuple[float, str]]
"""Index of a person -> (score, why)."""


class _Index:
    """Text -> the people it may mean, as (index of a person, kind of the text).

    Values are replaced and never mutated, so that a query can run while a person is added.
    """

    def __init__(self) -> None:
        self._of: dict[str, list[tuple[int, str]]] = {}
        self.texts: list[str] = []
        """Sorted."""

    def fill(self, everybody: Iterable[tuple[int, Iterable[tuple[str, str]]]]) -> None:
        of: dict[str, list[tuple[int, str]]] = defaultdict(list)
        for index, texts in everybody:
            for text, kind in texts:
                of[text].append((index, kind))
        self._of, self.texts = dict(of), sorted(of)

    def of(self, text: str) -> Sequence[tuple[int, str]]:
        return self._of.get(text, ())

    def change(self, index: int, old: set[tuple[str, str]], new: set[tuple[str, str]]) -> None:
        """Replaces one person's old texts with the new ones."""
        texts = self.texts.copy()
        for text, kind in new - old:
            if text not in self._of:
                insort(texts, text)
            self._of[text] = [*self.of(text), (index, kind)]
        for text, kind in old - new:
            left = [entry for entry in self.of(text) if entry != (index, kind)]
            if left:
                self._of[text] = left
            else:
                del self._of[text]
                del texts[bisect_left(texts, text)]
        self.texts = texts


class PersonFinder:
    """A search index over people, kept up to date person by person.

    `find` is fast enough for every key press, and thread-safe also while another thread adds a person.
    """

    def __init__(self, people: Iterable[RosterPerson]) -> None:
        self.people = tuple(people)
        self._putting = Lock()
        numbered = list(enumerate(self.people))
        self._index = {person.id: index for index, person in numbered}
        self._words, self._wholes, self._initials = _Index(), _Index(), _Index()
        self._words.fill((index, name_words(person)) for index, person in numbered)
        self._wholes.fill((index, exact_keys(person)) for index, person in numbered)
        self._initials.fill((index, _initials(person)) for index, person in numbered)
        self._length = [_length(person) for person in self.people]
        self._order = sorted(_rank(index, person) for index, person in numbered)
        self._place = {rank[2]: float(place) for place, rank in enumerate(self._order)}

    def add_or_replace(self, person: RosterPerson) -> None:
        """Adds a person, or replaces the person with that id."""
        with self._putting:
            self._index_person(person)

    def _index_person(self, person: RosterPerson) -> None:
        index = self._index.get(person.id, len(self.people))
        if index == len(self.people):
            before = None
            self.people = (*self.people, person)
            self._length.append(_length(person))
        else:
            before = self.people[index]
            if before == person:
                return
            self.people = (*self.people[:index], person, *self.people[index + 1 :])
            self._length[index] = _length(person)
        self._replace(index, before, person)
        for kept, texts_of in (
            (self._words, name_words),
            (self._wholes, exact_keys),
            (self._initials, _initials),
        ):
            kept.change(index, set(texts_of(before)) if before else set(), set(texts_of(person)))
        self._index[person.id] = index

    def _replace(self, index: int, before: RosterPerson | None, person: RosterPerson) -> None:
        """Puts a person in the order of names without moving anybody else, if there is room."""
        rank = _rank(index, person)
        if before is not None:
            if _rank(index, before) == rank:
                return
            del self._order[bisect_left(self._order, _rank(index, before))]
        at = bisect_left(self._order, rank)
        self._order.insert(at, rank)
        above = self._place[self._order[at - 1][2]] if at else -1.0
        below = self._place[self._order[at + 1][2]] if at + 1 < len(self._order) else above + 2.0
        if below - above > _CLOSEST:
            self._place[index] = (above + below) / 2
        else:
            self._place = {rank[2]: float(place) for place, rank in enumerate(self._order)}

    def find(self, text: str, limit: int = 20) -> list[SearchHit]:
        """The people that a text may mean, best first; at equal scores withdrawn people come last.

        The text is any part of a name in any spelling or order, initials, a group with it, a key, a code or a
        sequence number.
        """
        is_paste = len(text) > LONGEST
        text = text[:LONGEST].strip()
        words = query_words(text)
        if not words:
            return []
        scores = self._by_words(words, slips=not is_paste)
        for found in (self._by_initials(words), self._by_whole(text)):
            for index, (score, why) in found.items():
                if score > scores.get(index, (0.0, ""))[0]:
                    scores[index] = (score, why)
        self._prefer_apostrophe(scores, text)
        return self._ranked(scores, limit)

    def _prefer_apostrophe(self, scores: _Scores, text: str) -> None:
        """Whoever has the apostrophe where it was typed comes first: d'a is D'Ambrosetti."""
        typed = fold_name(text)
        if "'" not in typed:
            return
        for index, (score, why) in scores.items():
            if f" {typed}" in f" {fold_name(self.people[index].name)}":
                scores[index] = (max(score, _WORTH[NAME]), why)

    def _ranked(self, scores: _Scores, limit: int) -> list[SearchHit]:
        place, many = self._place, len(self.people) + 2
        best = heapq.nsmallest(limit, scores, key=lambda i: place[i] - round(scores[i][0]) * many)
        return [SearchHit(self.people[i], round(scores[i][0], 1), scores[i][1]) for i in best]

    def _by_words(self, words: list[str], slips: bool) -> _Scores:
        """The mean score over the words; a person whose name has more words ranks slightly lower."""
        matches = [self._matches(word, slips) for word in words]
        if len(matches) == 1:
            lengths = self._length
            return {
                index: (score - 0.5 * min(4, max(0, lengths[index] - 1)), why)
                for index, (score, why) in matches[0].items()
                if score >= _LEAST
            }
        sums: dict[int, float] = defaultdict(float)
        counts: dict[int, int] = defaultdict(int)
        for found in matches:
            for index, (score, _) in found.items():
                sums[index] += score
                counts[index] += 1
        initials = all(len(word) == 1 for word in words)
        scores: _Scores = {}
        for index, total in sums.items():
            score = total / len(words) - 0.5 * min(4, max(0, self._length[index] - counts[index]))
            if score >= _LEAST:
                reasons = {found[index][1] for found in matches if index in found}
                why = "initials" if initials else _combined_reason(reasons)
                scores[index] = (score, why if counts[index] == len(words) else f"{why}, {IN_PART}")
        return scores

    def _matches(self, word: str, slips: bool) -> _Scores:
        """The people that one word may mean: as typed, as the beginning of a word, or with a typing error."""
        found: _Scores = {}

        def offer(key: str, factor: float, is_typo: bool = False) -> None:
            hits = {kind: (worth * factor, "typo" if is_typo else kind) for kind, worth in _WORTH.items()}
            for index, kind in self._words.of(key):
                hit = hits[kind]
                if index not in found or hit[0] > found[index][0]:
                    found[index] = hit

        for spelling in dict.fromkeys((word, fold_name(word), to_latin(word))):
            loss = 1.0 if spelling == word else 0.98
            for key in _starting_with(self._words.texts, spelling):
                offer(key, loss if key == spelling else loss * (0.75 + 0.2 * len(spelling) / len(key)))
        for key in _starting_with(self._words.texts, consonants(fold_name(word))) if slips else ():
            offer(key, 0.7, is_typo=True)
        for key, likeness in self._near_words(fold_name(word)) if slips else ():
            offer(key, 0.85 * likeness, is_typo=True)
        return found

    def _near_words(self, word: str) -> list[tuple[str, float]]:
        if len(word) < 3:
            return []
        from rapidfuzz import process
        from rapidfuzz.distance import OSA

        likely = process.extract(
            word, self._words.texts, scorer=OSA.normalized_similarity, score_cutoff=_TYPO_LIKENESS, limit=60
        )
        return [(str(key), float(likeness)) for key, likeness, _ in likely if key != word]

    def _by_initials(self, words: list[str]) -> _Scores:
        first = "".join(fold_name(word) for word in words).replace(".", "")
        if not 2 <= len(first) <= 4 or (len(words) > 1 and len(first) != len(words)):
            return {}
        return {index: (70.0, kind) for index, kind in self._initials.of(first)}

    def _by_whole(self, text: str) -> _Scores:
        """Hits by key, code, sequence number, or a name typed without its spaces."""
        found: _Scores = {}

        def offer(index: int, score: float, why: str) -> None:
            if score > found.get(index, (0.0, ""))[0]:
                found[index] = (score, why)

        code = parse_slate_code(text)
        whole = without_spaces(code.text if code else text)
        for key in _starting_with(self._wholes.texts, whole):
            for index, kind in self._wholes.of(key):
                if kind == NAME:
                    if len(whole) > 2:
                        offer(index, 97.0 if key == whole else 90.0, self._spelling(index, text))
                elif key == whole:
                    offer(index, 100.0, kind)
                elif kind != "sequence number" and len(whole) > 1:
                    offer(index, 80.0 + 10.0 * len(whole) / len(key), kind)
        return found

    def _spelling(self, index: int, text: str) -> str:
        """Whether a name is typed as it is written or without its accents."""
        person = self.people[index]
        written = letters_only(f"{person.name} {person.family} {person.given}".casefold())
        return NAME if letters_only(text.casefold()) in written else PLAIN_NAME


def _rank(index: int, person: RosterPerson) -> tuple[bool, str, int]:
    """The order of people with equal scores."""
    return person.withdrawn, person.name, index


def _length(person: RosterPerson) -> int:
    return len(fold_name(person.name).split())


def _initials(person: RosterPerson) -> Iterator[tuple[str, str]]:
    return ((way, "initials") for way in name_initials(person))


def _combined_reason(reasons: set[str]) -> str:
    """The reasons of all words as one: the weakest about the name."""
    for reason in ("typo", LATIN_NAME, PLAIN_NAME, NAME):
        if reason in reasons:
            return f"{reason}, group" if GROUP in reasons else reason
    return GROUP


def _starting_with(words: list[str], beginning: str) -> Iterator[str]:
    """The words of a sorted list that begin with a text."""
    if not beginning:
        return
    for position in range(bisect_left(words, beginning), len(words)):
        if not words[position].startswith(beginning):
            return
        yield words[position]
