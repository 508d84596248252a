"""Likelihood ratios of a change of person in a lane, from the day's statistics.

Also finds where two parts of the day are interleaved: the clock was set back, and no counter shows what came
first. Frames of two people then lie seconds apart, again and again, as nobody at a set can change places.
Pauses and runs there are not real, and nothing is named.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from onsite.matching.day_statistics import ColourStatistics, DayStatistics
from onsite.matching.evidence import CLOCK_SLACK, STEPS, FrameEvidence
from onsite.matching.looks import NOBODY, ColourSignatures

OFTEN = 0.05
"""Prior share of runs in which somebody else steps in, before a day has shown it. Our own guess."""

_NO_TIMES = 0.002
"""Likelihood ratio of a pause where no time is known: the counter is all that orders such a day."""


@dataclass(frozen=True, slots=True)
class LaneLikelihoods:
    """A lane's frames, their colour signatures and the lane's statistics."""

    frames: Sequence[FrameEvidence]
    looks: ColourSignatures
    statistics: DayStatistics
    times: tuple[Sequence[float], Sequence[float]]
    """Of each frame the time, or the nearest before it; and the nearest after it. NaN where there is none."""
    changes: Sequence[bool]
    """Whether people may have changed places between each frame and the next."""
    mixed: frozenset[int]
    """Places where two parts of the day are interleaved."""
    calls: tuple[Sequence[int], Sequence[int]]
    """How many slates of people of whom none was read were shown at the lane's stations by each frame; and
    how many were shown by then or within moments. Both empty where there are none."""
    again: frozenset[int]
    """People whose slates were photographed on several occasions."""
    change_prior: float = OFTEN
    """Share of runs in which the next person came without a slate."""
    substitution_prior: float = OFTEN
    """Share of runs in which somebody stood in for a light test."""

    @classmethod
    def of(
        cls,
        frames: Sequence[FrameEvidence],
        looks: ColourSignatures,
        statistics: DayStatistics,
        calls: tuple[Sequence[int], Sequence[int]],
        again: frozenset[int],
    ) -> LaneLikelihoods:
        """The likelihoods of a lane, with priors still general."""
        taken = np.array([frame.taken for frame in frames], np.float64)
        seen = np.array([frame.seen for frame in frames])
        earlier, later = _last_known(taken), _last_known(taken[::-1])[::-1]
        pauses = later[1:] - earlier[:-1]
        changes = (pauses < -CLOCK_SLACK) | (pauses >= statistics.quick) | ~seen[1:] | ~seen[:-1]
        changes |= looks.steps > statistics.looks.step  # NaN, a missing signature or time, is never far
        if calls[1]:
            changes |= np.diff(calls[1]) != 0
        mixed = interleaved_places(frames, looks, statistics.looks)
        times = earlier.tolist(), later.tolist()
        return cls(frames, looks, statistics, times, changes.tolist(), mixed, calls, again)

    def pause(self, a: int, b: int) -> float | None:
        """Seconds between two places, in either order; where either frame has no time, between the nearest
        that have one. Infinite where the clock was set in between, so that the pause is unknown. None where
        there are no times."""
        pause = self.times[1][max(a, b)] - self.times[0][min(a, b)]
        if math.isnan(pause):
            return None
        return math.inf if pause < -CLOCK_SLACK else max(pause, 0.0)

    def pieces(self, frames: Sequence[int]) -> Iterator[tuple[int, int]]:
        """Beginnings and ends, counted in `frames`, of the pieces within which nobody can have changed
        places."""
        changes = self.changes
        cuts = [
            place
            for place, (a, b) in enumerate(pairwise(frames), 1)
            if (changes[a] if b - a == 1 else a - b != 1 or changes[b])
        ]
        return pairwise((0, *cuts, len(frames))) if frames else iter(())

    def pause_likelihood_ratio(self, a: int, b: int, after_slate: bool = False) -> float:
        """How much likelier the pause between two frames is where people change than where they do not."""
        pause = self.pause(a, b)
        return _NO_TIMES if pause is None else self.statistics.pause_likelihood_ratio(pause, after_slate)

    def colour_likelihood_ratio(self, before: Sequence[int], piece: Sequence[int]) -> float:
        """The same for the colour distance between a piece and other portraits."""
        return self.statistics.looks.likelihood_ratio(self.looks.distance(before, piece))

    def slate_likelihood_ratio(self, slate: Sequence[int], piece: Sequence[int]) -> float:
        """The same for the colour distance between a piece and the slate frame. A deck card may hide who
        holds it."""
        if not self.looks.has_look(slate):
            return 1.0
        return self.statistics.looks.likelihood_ratio(self.looks.distance(slate, piece), from_slate=True)

    def others(self, before: Sequence[int], piece: Sequence[int]) -> bool:
        """Whether a change of person between two consecutive pieces is likelier than not."""
        lengths = self.statistics.lengths_likelihood_ratio(len(before), len(piece))
        pause = self.pause_likelihood_ratio(before[-1], piece[0])
        return OFTEN * pause * lengths * self.colour_likelihood_ratio(before, piece) > 1.0


def _last_known(taken: NDArray[np.float64]) -> NDArray[np.float64]:
    """Each value, or where it is NaN the last one before it that is not."""
    known = np.where(np.isnan(taken), 0, np.arange(len(taken)))
    return np.asarray(taken[np.maximum.accumulate(known)])


_FEWEST = 4
"""Impossible changes near each other that show interleaved parts: friends who step into a picture make one or
two."""
_NEAR = 100
"""Frames within which they are near."""
_AROUND = 40
"""Frames before and after them, which may be interleaved without showing it."""


def interleaved_places(
    frames: Sequence[FrameEvidence], looks: ColourSignatures, statistics: ColourStatistics
) -> frozenset[int]:
    """The places of a lane at which two parts of the day are interleaved."""
    apart = max(statistics.other, statistics.same)
    unlike = np.flatnonzero((apart < looks.steps) & (looks.steps < NOBODY)).tolist()
    impossible = [place for place in unlike if _is_impossible(frames[place], frames[place + 1])]
    return frozenset(
        place
        for first, last in zip(impossible, impossible[_FEWEST - 1 :], strict=False)
        if last - first <= _FEWEST * _NEAR
        for place in range(max(first - _AROUND, 0), min(last + _AROUND, len(frames)))
    )


def _is_impossible(first: FrameEvidence, other: FrameEvidence) -> bool:
    """Whether two people cannot have changed places between two frames that the counter does not show as
    consecutive."""
    if first.taken is None or other.taken is None or other.taken - first.taken >= STEPS:
        return False
    return first.counter is None or other.counter != first.counter + 1
