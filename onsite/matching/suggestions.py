"""Candidates for loose runs: how likely each is, and the reasons in words.

People are photographed roughly in the order in which they arrive: whoever has no frames and arrived with the
people before and after is likely. How far apart neighbours at the set are in the order of arrival, the day
itself shows. They have weights that add up to 1; somebody to whom a slate points has one beside it, the
slate's own person by the posterior odds. All loose runs of the day are weighed together, so that nobody is
likely on two of them: the marginals of an assignment, by R. Sinkhorn's scaling ("A relationship between
arbitrary positive matrices and doubly stochastic matrices", 1964), in which each run has one person, and each
person without frames one run at most. They rank, and never name. `tests/bench/bench_certainty.py` shows how
often such probabilities are right, `tests/bench/bench_best_guess.py` how near they come to the best guess.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from statistics import median
from typing import NamedTuple

import numpy as np

from onsite.matching.evidence import Suggestion

# Weights beside 1, that of everybody together who is likely by the order of arrival.
POINTED = 200.0
"""Of whoever may have held the deck card in the slate, or whose slate was shown at the set just then, times
how likely they are by the order of arrival."""
_RARE = 0.02
"""Times as likely is somebody of whom there are frames already; and nobody of those whom anything points
to."""
_MOST = 5
"""Suggestions for a run: as many as one key each can choose from."""
NEAR = 4
"""People looked at on each side of a run in the order in which they were photographed: six are no better."""
_ROUNDS = 40
"""Of Sinkhorn's scaling: by then the ranks no longer change, and nobody is likelier than 1.1 on all runs."""


class Hint(NamedTuple):
    """A person whom the evidence points to without settling it."""

    person: int
    reason: str
    score: float = 1.0
    """Their weight; with `is_one_of_several`, what their weight by the order of arrival is multiplied by."""
    is_one_of_several: bool = False


def score_from_odds(odds: float) -> float:
    """The weight of the slate's person, from the posterior odds that somebody else is on the frames; at most
    1,000. Where two parts of the day are mixed up odds are infinite, and the slate only points to them."""
    return 1.0 / max(odds, 1e-3) if math.isfinite(odds) else 1.0


@dataclass(frozen=True, slots=True)
class UnnamedRun:
    """Frames without a name, and what is known of who may be on them."""

    before: Sequence[int] = ()
    """People named before them in the lane."""
    after: Sequence[int] = ()
    """People named after them."""
    moment: float | None = None
    """True time of the first frame; None where it has none."""
    hints: Sequence[Hint] = ()
    shown: Collection[int] = ()
    """People whose slates were shown at a station of the lane just then."""


class Arrivals:
    """The order in which people arrived, which of them have no frames, and how far from their place in that
    order people were photographed. `lanes` are the people named in each lane, in order."""

    def __init__(
        self,
        arrived: Mapping[int, float],
        with_frames: Collection[int | None] = (),
        lanes: Sequence[Sequence[int]] = (),
    ) -> None:
        order = sorted(arrived, key=lambda person: (arrived[person], person))
        self.place = {person: place for place, person in enumerate(order)}
        self.waiting = [person for person in order if person not in with_frames]
        self._places = [self.place[person] for person in self.waiting]
        self._times = [arrived[person] for person in self.waiting]
        self._without_frames = frozenset(self.waiting)
        off = [
            abs(self.place[lane[at]] - expected)
            for lane in lanes
            for at in range(len(lane))
            if (expected := self.expected(lane[max(at - NEAR, 0) : at], lane[at + 1 : at + 1 + NEAR]))
            is not None
            and lane[at] in self.place
        ]
        self._spread = max(median(off or [0.0]), NEAR)

    def expected(self, before: Sequence[int], after: Sequence[int]) -> float | None:
        """The expected place in the order of arrival between the people before and after; None where nobody's
        is known."""
        sides = [[self.place[p] for p in side if p in self.place] for side in (before, after)]
        known = [median(places) for places in sides if places]
        return sum(known) / len(known) if known else None

    def weight(self, person: int, expected: float | None) -> float:
        """How likely a person is by the order of arrival: a Cauchy distribution, which leaves room for those
        who come much later, with the day's own median."""
        off = 0.0 if expected is None else self.place.get(person, expected) - expected
        return (1.0 if person in self._without_frames else _RARE) / (1.0 + (off / self._spread) ** 2)

    def likely(self, expected: float | None, moment: float | None) -> dict[int, float]:
        """The weights of people without frames who had arrived by a moment: of those likelier than somebody
        else; where no place is expected, of the last. In sum they are at most 1."""
        by_then = len(self.waiting) if moment is None else bisect_right(self._times, moment)
        if expected is None:
            people = [] if moment is None else self.waiting[max(by_then - NEAR, 0) : by_then]
        else:
            reach = self._spread * math.sqrt(1.0 / _RARE - 1.0)
            first = bisect_left(self._places, expected - reach)
            people = self.waiting[first : min(bisect_right(self._places, expected + reach), by_then)]
        found = {person: self.weight(person, expected) for person in people}
        whole = sum(found.values()) + _RARE
        return {person: weight / whole for person, weight in found.items()}


def suggest_people(arrivals: Arrivals, runs: Sequence[UnnamedRun]) -> list[tuple[Suggestion, ...]]:
    """The likeliest people for each loose run."""
    found = []
    weighed = [_candidates(arrivals, run) for run in runs]
    shares = _shares([weights for weights, _ in weighed], arrivals.waiting)
    for share, (_, reasons) in zip(shares, weighed, strict=True):
        ranked = sorted(share, key=lambda person: (-share[person], person))[:_MOST]
        found.append(tuple(Suggestion(who, tuple(reasons[who]), round(share[who], 6)) for who in ranked))
    return found


def _candidates(arrivals: Arrivals, run: UnnamedRun) -> tuple[dict[int, float], dict[int, dict[str, None]]]:
    """The weights of a run's candidates, and the reasons for each."""
    expected = arrivals.expected(run.before, run.after)
    weights: defaultdict[int, float] = defaultdict(float)
    reasons: defaultdict[int, dict[str, None]] = defaultdict(dict)

    def count(person: int, weight: float, reason: str) -> None:
        weights[person] += weight
        reasons[person][reason] = None

    for hint in run.hints:
        by_order = arrivals.weight(hint.person, expected) if hint.is_one_of_several else 1.0
        count(hint.person, hint.score * by_order, hint.reason)
    for person in run.shown:
        count(person, POINTED * arrivals.weight(person, expected), "their slate was shown just then")
    for person, weight in arrivals.likely(expected, run.moment).items():
        if expected is None:
            where = "had arrived by then"
        else:
            near = abs(arrivals.place[person] - expected) <= NEAR
            where = f"arrived {'with' if near else 'near'} those photographed then"
        count(person, weight, f"{where}, and has no frames")
    return weights, reasons


def _shares(rows: Sequence[Mapping[int, float]], waiting: Collection[int]) -> list[dict[int, float]]:
    """The probability of each candidate of each run."""
    people = sorted({*waiting, *(person for row in rows for person in row)})
    column_of = {person: column for column, person in enumerate(people)}
    column = np.array([column_of[person] for row in rows for person in row], np.intp)
    run = np.repeat(np.arange(len(rows)), [len(row) for row in rows])
    weights = np.array([weight for row in rows for weight in row.values()], np.float64)
    once = [column_of[person] for person in waiting]
    scale, shares = np.ones(len(people)), weights
    for _ in range(_ROUNDS):
        shares = weights * scale[column]
        shares /= (np.bincount(run, shares, len(rows)) + _RARE)[run]
        load = np.bincount(column, shares, len(people))
        scale[once] = np.minimum(1.0, scale[once] / np.maximum(load[once], 1e-9))
    values = iter(shares.tolist())
    return [{person: next(values) for person in row} for row in rows]
