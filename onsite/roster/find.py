"""Finding people: likely ones while somebody types, exactly one for a command."""

from __future__ import annotations

import heapq
from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from onsite.problems import Problem
from onsite.roster.entry import shown
from onsite.roster.names import fold, latin
from onsite.slate.code import parse

LONGEST = 100
"""Characters of a query that are looked at; more is a paste gone wrong."""

_MOST_WORDS = 6
_TYPO_LIKENESS = 0.66
"""Likeness from which a word may be a slip of another: one slip in three letters. Own choice."""

_NAME, _PLAIN_NAME, _LATIN_NAME, _GROUP = "name", "name, accents aside", "name, in Latin letters", "group"
_WORTH = {_NAME: 100.0, _PLAIN_NAME: 98.0, _LATIN_NAME: 94.0, _GROUP: 60.0}
_LISTED = 8
"""Candidates that a message lists."""

_LEAST = 38.0
"""A hit needs this much: one of two words fits, or one initial of three does not."""

_SPELLED_OUT = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "å": "aa", "ø": "oe", "æ": "ae"})


@dataclass(frozen=True, slots=True)
class Someone:
    """A person as far as finding goes. `sequence` is the number given at check-in, None before."""

    id: int
    key: str
    code: str
    sequence: int | None
    name: str
    given: str
    family: str
    group: str
    withdrawn: bool = False


@dataclass(frozen=True, slots=True)
class Hit:
    """Somebody found: `score` from 0 to 100, and in short `why`."""

    someone: Someone
    score: float
    why: str


_Scores = dict[int, tuple[float, str]]
"""Index of a person -> (score, why)."""


class Finder:
    """An index over people, built once and asked at every key press."""

    def __init__(self, people: Iterable[Someone]) -> None:
        self.people = tuple(people)
        self._words: dict[str, list[tuple[int, str]]] = defaultdict(list)
        self._wholes: dict[str, list[tuple[int, str]]] = defaultdict(list)
        self._initials: dict[str, list[int]] = defaultdict(list)
        self._length = [len(fold(someone.name).split()) for someone in self.people]
        order = sorted(
            range(len(self.people)), key=lambda i: (self.people[i].withdrawn, self.people[i].name, i)
        )
        self._place = {index: place for place, index in enumerate(order)}
        for index, someone in enumerate(self.people):
            self._add(index, someone)
        self._sorted_words = sorted(self._words)
        self._sorted_wholes = sorted(self._wholes)

    def _add(self, index: int, someone: Someone) -> None:
        for word, kind in _words_of(someone):
            self._words[word].append((index, kind))
        for whole, kind in _wholes_of(someone):
            self._wholes[whole].append((index, kind))
        for initials in _initials_of(someone):
            self._initials[initials].append(index)

    def find(self, text: str, limit: int = 20) -> list[Hit]:
        """The people that a text may mean, best first, people on the list before withdrawn ones.

        The text is any part of a name in any spelling or order, initials, a group beside it, a key, a code
        or a sequence number.
        """
        text = text[:LONGEST].strip()
        words = _query_words(text)
        if not words:
            return []
        scores = self._by_words(words)
        for found in (self._by_initials(words), self._by_whole(text)):
            for index, (score, why) in found.items():
                if score > scores.get(index, (0.0, ""))[0]:
                    scores[index] = (score, why)
        return self._ranked(scores, limit)

    def _ranked(self, scores: _Scores, limit: int) -> list[Hit]:
        many = len(self.people)
        place = self._place
        best = heapq.nsmallest(limit, scores, key=lambda i: place[i] - round(scores[i][0]) * many)
        return [Hit(self.people[i], round(scores[i][0], 1), scores[i][1]) for i in best]

    def _by_words(self, words: list[str]) -> _Scores:
        """The mean over the words typed; a person whose name has more words comes a little later."""
        matches = [self._matches(word) for word in words]
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
                scores[index] = (score, "initials" if initials else _together(reasons))
        return scores

    def _matches(self, word: str) -> _Scores:
        """Whom one word may mean: as typed, as the beginning of a word, or with a slip."""
        found: _Scores = {}

        def offer(key: str, factor: float, is_typo: bool = False) -> None:
            hits = {kind: (worth * factor, "typo" if is_typo else kind) for kind, worth in _WORTH.items()}
            for index, kind in self._words[key]:
                hit = hits[kind]
                if index not in found or hit[0] > found[index][0]:
                    found[index] = hit

        for spelling in dict.fromkeys((word, fold(word), latin(word))):
            loss = 1.0 if spelling == word else 0.98
            for key in _starting_with(self._sorted_words, spelling):
                offer(key, loss if key == spelling else loss * (0.75 + 0.2 * len(spelling) / len(key)))
        for key, likeness in self._slips(fold(word)):
            offer(key, 0.85 * likeness, is_typo=True)
        return found

    def _slips(self, word: str) -> list[tuple[str, float]]:
        if len(word) < 3:
            return []
        from rapidfuzz import process
        from rapidfuzz.distance import OSA

        likely = process.extract(
            word, self._sorted_words, scorer=OSA.normalized_similarity, score_cutoff=_TYPO_LIKENESS, limit=60
        )
        return [(str(key), float(likeness)) for key, likeness, _ in likely if key != word]

    def _by_initials(self, words: list[str]) -> _Scores:
        letters = "".join(fold(word) for word in words).replace(".", "")
        if not 2 <= len(letters) <= 4 or (len(words) > 1 and len(letters) != len(words)):
            return {}
        return dict.fromkeys(self._initials.get(letters, ()), (70.0, "initials"))

    def _by_whole(self, text: str) -> _Scores:
        """A key, a code, a sequence number, or a name typed without its spaces."""
        found: _Scores = {}

        def offer(index: int, score: float, why: str) -> None:
            if score > found.get(index, (0.0, ""))[0]:
                found[index] = (score, why)

        code = parse(text)
        whole = _joined(code.text if code else text)
        for key in _starting_with(self._sorted_wholes, whole):
            for index, kind in self._wholes[key]:
                if kind == _NAME:
                    if len(whole) > 2:
                        offer(index, 97.0 if key == whole else 90.0, self._spelling(index, text))
                elif key == whole:
                    offer(index, 100.0, kind)
                elif kind != "sequence number" and len(whole) > 1:
                    offer(index, 80.0 + 10.0 * len(whole) / len(key), kind)
        return found

    def _spelling(self, index: int, text: str) -> str:
        """Whether a name is typed as it is written or with its accents aside."""
        someone = self.people[index]
        written = _letters(f"{someone.name} {someone.family} {someone.given}".casefold())
        return _NAME if _letters(text.casefold()) in written else _PLAIN_NAME


def _words_of(someone: Someone) -> Iterator[tuple[str, str]]:
    """Every word that somebody may be looked for by, with its kind; the better kind of a word only."""
    kinds: dict[str, str] = {}
    written = " ".join((someone.name, someone.given, someone.family))
    spelled_out = fold(written.casefold().translate(_SPELLED_OUT))
    for text, kind in (
        (written.casefold(), _NAME),
        (fold(written), _PLAIN_NAME),
        (spelled_out, _PLAIN_NAME),
        (latin(written), _LATIN_NAME),
        (fold(someone.group), _GROUP),
        (latin(someone.group), _GROUP),
    ):
        for word in _query_words(text, most=40):
            kinds.setdefault(word, kind)
    yield from kinds.items()


def _wholes_of(someone: Someone) -> Iterator[tuple[str, str]]:
    kinds: dict[str, str] = {}
    if someone.sequence is not None:
        kinds[str(someone.sequence)] = "sequence number"
    for text, kind in (
        (someone.key, "key"),
        (someone.code, "code"),
        (someone.name, _NAME),
        (f"{someone.family} {someone.given}", _NAME),
    ):
        kinds.setdefault(_joined(text), kind)
    kinds.pop("", None)
    yield from kinds.items()


def _initials_of(someone: Someone) -> set[str]:
    """First letters of given and family names, both ways round, with and without the middle ones."""
    words = _query_words(latin(someone.name), most=8)
    if len(words) < 2:
        return set()
    first = [word[0] for word in words]
    ways = {"".join(first), first[0] + first[-1], first[-1] + first[0]}
    given, family = (_query_words(latin(part), most=4) for part in (someone.given, someone.family))
    if given and family:
        ways |= {given[0][0] + family[0][0], family[0][0] + given[0][0]}
    return {way for way in ways if len(way) <= 4}


def _query_words(text: str, most: int = _MOST_WORDS) -> list[str]:
    plain = text.casefold().replace("-", " ").replace(",", " ").replace("'", "").replace("’", "")
    return list(dict.fromkeys(word for part in plain.split() if (word := part.strip(".()\"'·"))))[:most]


def _joined(text: str) -> str:
    return _letters(fold(text))


def _letters(text: str) -> str:
    return "".join(character for character in text if character.isalnum())


def _together(reasons: set[str]) -> str:
    """One reason out of one for each word: the weakest of those about the name."""
    for reason in ("typo", _LATIN_NAME, _PLAIN_NAME, _NAME):
        if reason in reasons:
            return f"{reason}, group" if _GROUP in reasons else reason
    return _GROUP


def _starting_with(words: list[str], beginning: str) -> Iterator[str]:
    """The words, of a sorted list, that begin so."""
    if not beginning:
        return
    for position in range(bisect_left(words, beginning), len(words)):
        if not words[position].startswith(beginning):
            return
        yield words[position]


class Ambiguous(Problem):
    """A text that fits more than one person: `candidates` are they all."""

    def __init__(self, text: str, candidates: Sequence[Someone]) -> None:
        self.candidates = tuple(candidates)
        listed = "; ".join(_described(someone) for someone in self.candidates[:_LISTED])
        more = f"; and {len(candidates) - _LISTED} more" if len(candidates) > _LISTED else ""
        super().__init__(
            f"{shown(text)} fits {len(candidates)} people: {listed}{more}",
            "Use the key or the code, or the full name if only one has it.",
        )


def who(text: str, people: Iterable[Someone]) -> Someone:
    """The one person that a key, a code, a sequence number or a name means.

    A name is the full one in either order, the given or the family name alone; case and accents do not
    matter. Likeness is never enough. Raises Ambiguous when more than one person fits, in whatever way each
    of them does, and Problem with the nearest names when nobody does.
    """
    people = tuple(people)
    text = text.strip()
    if not text:
        raise Problem("Nobody is named", "Give a key, a code, a sequence number or a name.")
    fitting = _fitting(text, people) if len(text) <= 10 * LONGEST else []
    if len(fitting) == 1:
        return fitting[0]
    if fitting:
        raise Ambiguous(text, fitting)
    nearest = "; ".join(_described(hit.someone) for hit in Finder(people).find(text, limit=3))
    raise Problem(
        f"{shown(text)} is nobody's key, code, sequence number or name",
        f"nearest: {nearest}" if nearest else "Nobody has a name like it: see the roster.",
    )


def _fitting(text: str, people: Sequence[Someone]) -> list[Someone]:
    """Everybody whom the text fits in any way. Keys count in another case only when none fits as written."""
    code = parse(text)
    number = int(text) if text.isdecimal() and len(text) < 10 else None
    name = fold(text)
    by_key = {someone.id for someone in people if someone.key == text}
    if not by_key:
        by_key = {
            someone.id for someone in people if someone.key and someone.key.casefold() == text.casefold()
        }
    return [
        someone
        for someone in people
        if someone.id in by_key
        or (code is not None and someone.code == code.text)
        or (number is not None and someone.sequence == number)
        or (name and name in _names(someone))
    ]


def _names(someone: Someone) -> set[str]:
    name, given, family = fold(someone.name), fold(someone.given), fold(someone.family)
    ways = {name, given, family}
    if given and family:
        ways |= {f"{given} {family}", f"{family} {given}", f"{family}, {given}"}
    return ways - {""}


def _described(someone: Someone) -> str:
    marks = [shown(someone.group)] if someone.group else []
    marks.append(f"key {shown(someone.key)}" if someone.key else f"code {someone.code}")
    if someone.withdrawn:
        marks.append("withdrawn")
    return f"{shown(someone.name)} ({', '.join(marks)})"
