"""Candidates for loose frames, each with a score, a probability, and the reasons in words.

The score is a sum of points, one figure for each kind of reason; `POINTS` more make a person e times as
likely. Points were fitted on simulated days as a conditional logit model (D. McFadden, "Conditional logit
analysis of qualitative choice behavior", 1974), in which somebody else, or nobody, is one more choice. They
rank, and never name. People are photographed roughly in the order in which they arrive: whoever has no frames
and arrived between the people before and after is likely. `tests/bench/bench_certainty.py` shows how often
such probabilities are right.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from statistics import median
from typing import NamedTuple

from onsite.matching.evidence import Suggestion

POINTS = 12.0
"""Points that make a person e times as likely."""
HINTED = 40
"""A slate points to them, or was shown at the set then; one of several who may have held a card arrived where
expected."""
SAME_RUN = 52
"""The run before is theirs, and somebody else is as likely: at 40 the right one was first in 71.6 of 100
loose runs, for 73.1."""
NEXT, STEP = 20, 1.3
"""They have no frames and arrived with the people photographed then; and what each place off costs. Fitted,
as is the next, on simulated days with seeds from 810001 on."""
SOMEBODY_ELSE = 20
"""Nobody of those whom anything points to."""

_MOST = 5
"""Suggestions for a frame: as many as one key each can choose from."""
NEAR = 4
"""People looked at on each side of a place, in the queue and in the order of arrival: six are no better."""


class Hint(NamedTuple):
    """A person whom the evidence points to without settling it."""

    person: int
    reason: str
    score: int = HINTED
    """Points."""
    is_one_of_several: bool = False
    """Whether several have the same hint: then their place in the order of arrival counts as well."""


def score_from_odds(odds: float) -> int:
    """The points of the slate's person, from the posterior odds that somebody else is on the frames. Half of
    what the odds say: their evidence is not independent."""
    return round(max(SAME_RUN - POINTS / 2 * math.log(max(odds, 1e-3)), 5))


class Arrivals:
    """The order in which people arrived, and which of them have no frames."""

    def __init__(self, arrived: Mapping[int, float], with_frames: Collection[int | None]) -> None:
        order = sorted(arrived, key=lambda person: (arrived[person], person))
        self._place = {person: place for place, person in enumerate(order)}
        self._waiting = [person for person in order if person not in with_frames]
        self._places = [self._place[person] for person in self._waiting]
        self._times = [arrived[person] for person in self._waiting]

    def expected(self, before: Sequence[int], after: Sequence[int]) -> float | None:
        """The expected place in the order of arrival between the people before (the nearest first) and after;
        None where nobody's is known."""
        sides = [[self._place[p] for p in side if p in self._place] for side in (before, after)]
        known = [median(places) for places in sides if places]
        return sum(known) / len(known) if known else None

    def off(self, person: int, expected: float | None) -> float | None:
        """How many places a person is off the expected place."""
        place = self._place.get(person)
        return None if place is None or expected is None else abs(place - expected)

    def near(self, expected: float | None, moment: float | None) -> list[int]:
        """People without frames around a place, or where that is not known, the last who had arrived by a
        moment."""
        if expected is not None:
            at = bisect_left(self._places, expected)
            low, high = max(at - NEAR, 0), at + NEAR
            if moment is not None:
                high = min(high, bisect_right(self._times, moment))
            return self._waiting[low:high]
        if moment is not None:
            end = bisect_right(self._times, moment)
            return self._waiting[max(end - NEAR, 0) : end]
        return []


@dataclass(frozen=True, slots=True)
class LooseRun:
    """Frames without a name, and what is known of who may be on them."""

    before: Sequence[int] = ()
    """People named before them in the lane, the nearest first."""
    after: Sequence[int] = ()
    """People named after them."""
    moment: float | None = None
    """True time of the first frame; None where it has none."""
    hints: Sequence[Hint] = ()
    shown: Sequence[int] = ()
    """People whose slates were shown at a station of the lane just then."""


def suggest_people(arrivals: Arrivals, run: LooseRun) -> tuple[Suggestion, ...]:
    """The likeliest people for a loose run."""
    expected, moment = arrivals.expected(run.before, run.after), run.moment
    points: dict[int, float] = {}
    reasons: dict[int, list[str]] = {}

    def count(person: int, score: float, reason: str) -> None:
        if reason not in reasons.setdefault(person, []):
            points[person] = points.get(person, 0.0) + score
            reasons[person].append(reason)

    for hint in run.hints:
        off = arrivals.off(hint.person, expected) if hint.is_one_of_several else None
        in_place = 0.0 if off is None else max(HINTED - STEP * off, 0.0)
        count(hint.person, hint.score + in_place, hint.reason)
    for person in run.shown:
        count(person, HINTED, "their slate was shown just then")
    for person in arrivals.near(expected, moment):
        off = arrivals.off(person, expected)
        if off is None:
            count(person, NEXT, "had arrived by then, and has no frames")
            continue
        where = "with" if off <= NEAR else "near"
        reason = f"arrived {where} those photographed then, and has no frames"
        count(person, max(NEXT - STEP * off, 0), reason)
    ranked = sorted(points, key=lambda person: (-points[person], person))[:_MOST]
    weights = {person: math.exp(total / POINTS) for person, total in points.items()}
    whole = sum(weights.values()) + math.exp(SOMEBODY_ELSE / POINTS)
    return tuple(
        Suggestion(person, round(points[person]), tuple(reasons[person]), round(weights[person] / whole, 6))
        for person in ranked
    )
