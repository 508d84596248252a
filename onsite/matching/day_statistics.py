"""The pauses, changes of people and lengths of runs of a lane, as the day itself shows them.

Taken from the runs that a slate opened, which are one person's unless a slate was forgotten, and few are.
Values of our own choice count beside those of the day, wide enough to err towards loose frames on a small
one.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from onsite.matching.cut_runs import PersonRun, exposures
from onsite.matching.evidence import QUICKEST, STEPS, FrameEvidence

_STEEP = 6
"""Exponent of the tails: twice the largest value seen, and half of the smallest, are 2 to this power times
rarer. Our own guess: colour distances, in which many colours take part, thin out faster still."""

SELDOM = 0.02
"""Probability of what happens now and then, where the day does not tell: of runs in which somebody stands in
for a light test, or comes without a slate; of changes that take `QUICKEST`. Our own guess, and not critical:
with 0.03 for those who come without a slate 7 days of 1,240 have other names."""

_PAUSES = 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 12.0
"""Seconds between frames of one person, counted beside those of the day. Our own guess of a brisk set."""
_WAITS = 3.0, 5.0, 8.0, 12.0, 20.0
"""The same from a slate to the first frame."""
_CHANGES = 20.0, 30.0, 45.0, 60.0, 90.0
"""The same from one person's last frame to the next person's slate."""
_INTERRUPTED = 0.005
"""Share of pauses within a run in which something else happened: a telephone call, a crooked tie. Our own
guess."""
_NIGHT = 4 * 3600.0
"""Seconds for which nobody stays on a set: whoever is on the next frame came since, however they are dressed.
Lunch is shorter, a night longer. Common sense, no source."""

Floats = NDArray[np.floating[Any]]


class EmpiricalDistribution:
    """Distribution of observed values, such as the pauses of a day, with some of our own choice among them,
    so that there is at least one; NaN count for nothing. One more value on either side is allowed for, so
    that nothing has probability 0. `lower` is the exponent of the tail below the smallest value."""

    def __init__(self, values: Iterable[float], prior: Sequence[float] = (), lower: int = _STEEP) -> None:
        found = np.sort([*values, *prior])  # NaN come last
        self._sorted, self._lower = found[: np.count_nonzero(~np.isnan(found))], lower

    def at_least(self, values: Floats) -> Floats:
        """Share of values that are at least each of these."""
        more, largest = len(self._sorted) - np.searchsorted(self._sorted, values), self._sorted[-1]
        tail = np.where(more > 0, 1.0, (largest / np.maximum(values, largest)) ** _STEEP)
        return np.asarray(tail * (more + 1) / (len(self._sorted) + 1))

    def at_most(self, values: Floats) -> Floats:
        """Share of values that are at most each of these."""
        fewer, smallest = np.searchsorted(self._sorted, values, side="right"), max(self._sorted[0], 1e-9)
        tail = np.where(fewer > 0, 1.0, (np.minimum(values, smallest) / smallest) ** self._lower)
        return np.asarray(tail * (fewer + 1) / (len(self._sorted) + 1))


@dataclass(frozen=True, eq=False)
class DayStatistics:
    """Distributions of one lane, in seconds and exposures."""

    pauses: EmpiricalDistribution
    """Seconds between frames of one person."""
    waits: EmpiricalDistribution
    """Seconds from a slate to the first frame."""
    changes: EmpiricalDistribution
    """Seconds from one person's last frame to the next person's slate."""
    lengths: Floats
    """Probability of a run of so many exposures, up to twice the longest; of more it is that of the last."""

    def pause_likelihood_ratio(self, seconds: Floats, after_slate: bool = False) -> Floats:
        """How much likelier pauses are where people change than where they do not. NaN stands for times that
        are not known: then frames count as near, as the counter is all that orders such a day. Infinite
        seconds stand for a clock that was set in between."""
        typical = self.waits if after_slate else self.pauses
        seconds = np.where(np.isnan(seconds), STEPS, seconds)
        possible = SELDOM * np.minimum(seconds / QUICKEST, 1.0) ** _STEEP
        changes = np.maximum(self.changes.at_most(seconds), possible)
        ratio = changes / (typical.at_least(seconds) + _INTERRUPTED)
        nobody_stays = (seconds >= _NIGHT) & np.isfinite(seconds)
        return np.where(nobody_stays, 1 / sys.float_info.epsilon, ratio)

    def lengths_likelihood_ratio(
        self, before: NDArray[np.intp], after: NDArray[np.intp], more: NDArray[np.bool_]
    ) -> Floats:
        """How much likelier so many exposures before and after a pause are as two people's than as one
        person's. Where there may have been `more` after it, any longer run will do."""
        longer = np.cumsum(self.lengths[::-1])[::-1]
        last = len(self.lengths) - 1
        first, rest, whole = (np.minimum(each, last) for each in (before, after, before + after))
        known = self.lengths[rest] / self.lengths[whole]
        return np.asarray(self.lengths[first] * np.where(more, longer[rest] / longer[whole], known))


def day_statistics(frames: Sequence[FrameEvidence], runs: Sequence[PersonRun]) -> DayStatistics:
    """The statistics of a lane with these runs of one person."""
    taken = [frame.taken for frame in frames]
    pauses = [gap for run in runs for gap in _gaps(taken, run.frames)]
    waits = [gap for run in runs for gap in _gaps(taken, (run.slate[-1], run.frames[0]))]
    following = [(run.frames[-1], run.following) for run in runs if run.following is not None]
    changes = [gap for pair in following for gap in _gaps(taken, pair) if gap > STEPS]
    return DayStatistics(
        EmpiricalDistribution(pauses, _PAUSES),
        EmpiricalDistribution(waits, _WAITS),
        EmpiricalDistribution(changes, _CHANGES),
        _lengths([exposures(frames, run.frames) for run in runs]),
    )


def _gaps(taken: Sequence[float | None], places: Sequence[int]) -> list[float]:
    """Seconds between neighbours of these places, in either order, where the times are known and the clock
    did not go back."""
    times = [taken[place] for place in places]
    if places[-1] < places[0]:
        times.reverse()
    return [b - a for a, b in pairwise(times) if a is not None and b is not None and b >= a]


def _lengths(runs: Iterable[int]) -> Floats:
    """The probability of each length: how often a day shows it, or one more or less, and a third of a run
    that thins out from the median by a factor e in four exposures. All alike where there are no runs."""
    found = np.array(list(runs), np.intp)
    if not len(found):
        return np.ones(1)
    seen = np.bincount(found, minlength=2 * int(found.max()) + 1)
    others = np.exp(-np.abs(np.arange(len(seen)) - np.median(found)) / 4)
    return np.asarray((np.convolve(seen, np.ones(3), "same") + others) / 3 / (len(found) + 1))
