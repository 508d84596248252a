"""The day's empirical distributions in a lane: pauses, changes of people, lengths of runs, colour distances.

Taken from the runs that a slate opened, which are one person's unless a slate was forgotten, and few are.
What a day does not show is filled in with values of our own choice, wide enough to err towards loose frames.
"""

from __future__ import annotations

import math
import sys
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from onsite.matching.cut_runs import Run, exposures, opens
from onsite.matching.evidence import QUICKEST, STEPS, FrameEvidence
from onsite.matching.looks import (
    NOBODY,
    ColourSignatures,
    distances_from_products,
    hellinger_distances,
)
from onsite.matching.slate_status import SlateStatus

_FEWEST = 5
"""Values, or runs, that make a distribution; below it the values of our own choice count as well."""
_PAUSES = 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 12.0
"""Seconds between frames of one person where a day shows too few. Our own guess of a brisk set."""
_WAITS = 3.0, 5.0, 8.0, 12.0, 20.0
"""The same from a slate to the first frame."""
_CHANGES = 20.0, 30.0, 45.0, 60.0, 90.0
"""The same from one person's last frame to the next person's slate."""
_SAME = 0.05, 0.08, 0.1, 0.13, 0.17, 0.22, 0.28, 0.35
"""Hellinger distances between frames of one person where a day shows too few: about the percentiles of drawn
sets (`tests/bench/bench_looks.py`)."""
_OTHER = 0.15, 0.25, 0.35, 0.45, 0.55, 0.65, 0.75, 0.85
"""The same between two people, nearer to each other than on drawn sets: in uniform they are."""
_POSSIBLE = 0.02
"""Share of changes that may be so quick on a day that shows none. Our own guess."""
_INTERRUPTED = 0.005
"""Share of pauses within a run in which something else happened: a telephone call, a crooked tie. Our own
guess."""
_NIGHT = 4 * 3600.0
"""Seconds for which nobody stays on a set: whoever is on the next frame came since, however they are dressed.
Lunch is shorter, a night longer. Common sense, no source."""
_STEEP = 6
"""Exponent of the tails: half the smallest value seen, or twice the largest, is 2 to this power times rarer.
Our own guess: colour distances, in which many colours take part, thin out faster still."""
SAMPLE = 400
"""Runs from which distances and rates are estimated: enough for a share of some per cent, and it bounds the
time, as each is compared with each."""
_LEAST, _MOST = 5e-4, 1e3
"""Bounds of a colour distance's likelihood ratio: two people may wear the same."""
_UNMEASURED = 0.05
"""The least of them on a day that shows no distances. Our own choice."""


class EmpiricalDistribution:
    """Distribution of observed values, such as the pauses of a day. One more value on either side is allowed
    for, so that nothing has probability 0."""

    def __init__(self, values: Iterable[float]) -> None:
        self._sorted = sorted(values)
        self._count = len(self._sorted)

    def __len__(self) -> int:
        return self._count

    def at_least(self, value: float) -> float:
        """Share of values that are at least `value`."""
        more = self._count - bisect_left(self._sorted, value)
        share = (more + 1) / (self._count + 1)
        return share if more or not self._count else share * (self._sorted[-1] / value) ** _STEEP

    def at_most(self, value: float) -> float:
        """Share of values that are at most `value`."""
        fewer = bisect_right(self._sorted, value)
        share = (fewer + 1) / (self._count + 1)
        return share if fewer or not self._count else share * (max(value, 0.0) / self._sorted[0]) ** _STEEP

    def quantile(self, share: float) -> float:
        """The value below which a share of the values lies; the smallest or largest at the ends."""
        return self._sorted[min(int(share * self._count), self._count - 1)]


@dataclass(frozen=True, slots=True)
class ColourStatistics:
    """The day's empirical distributions of colour distances."""

    single_frame: EmpiricalDistribution
    """A single frame of a person to their other frames."""
    held: EmpiricalDistribution
    """A person's slate frame to their frames."""
    others: EmpiricalDistribution
    """A person to all other people."""
    others_held: EmpiricalDistribution
    """A person's slate frame to other people."""
    step: float
    """The distance from frame to frame that 1 in 200 of a person's exceed."""
    measured: bool = False
    """False where the distributions are values of our own choice, which never speak strongly
    for one person."""

    def likelihood_ratio(self, distance: float | None, from_slate: bool = False) -> float:
        """How much likelier a distance is between two people than between frames of one person. 1 where
        there is no distance."""
        if distance is None:
            return 1.0
        same, others = (self.held, self.others_held) if from_slate else (self.single_frame, self.others)
        apart = others.at_most(distance)
        # people who look alike are as near, too
        typical = min(same.at_least(distance), same.at_most(distance))
        ratio = min(max(apart / typical if typical else 0.0, _LEAST), _MOST)
        return ratio if self.measured else max(ratio, _UNMEASURED)

    @property
    def same(self) -> float:
        """Twice the median within one person, so that runs which hold two people do not spoil it."""
        return 2 * self.single_frame.quantile(0.5)

    @property
    def other(self) -> float:
        """The lower quartile of distances between different people."""
        return self.others.quantile(0.25)

    @property
    def tells(self) -> bool:
        """Whether different people's looks are well apart from one person's."""
        return self.measured and self.other > self.same


@dataclass(frozen=True, slots=True)
class DayStatistics:
    """Empirical distributions of one lane, in seconds and exposures."""

    pauses: EmpiricalDistribution
    """Seconds between frames of one person."""
    waits: EmpiricalDistribution
    """Seconds from a slate to the first frame."""
    changes: EmpiricalDistribution
    """Seconds from one person's last frame to the next person's slate."""
    lengths: EmpiricalDistribution
    """Exposures of a run."""
    looks: ColourStatistics
    quick: float
    """Seconds from which on people may have changed."""

    def pause_likelihood_ratio(self, seconds: float, after_slate: bool = False) -> float:
        """How much likelier a pause is where people change than where they do not. Infinite seconds stand for
        a clock that was set in between."""
        if _NIGHT <= seconds < math.inf:
            return 1 / sys.float_info.epsilon  # whatever they wear
        typical = self.waits if after_slate else self.pauses
        quick = _POSSIBLE * min(seconds / QUICKEST, 1.0) ** _STEEP
        return max(self.changes.at_most(seconds), quick) / (typical.at_least(seconds) + _INTERRUPTED)

    def lengths_likelihood_ratio(self, before: int, after: int | None) -> float:
        """How much likelier so many frames before and after a pause are as two people's than as one person's.
        None after it: there may have been more."""
        if len(self.lengths) < _FEWEST:
            return 1.0
        single, both = self.lengths.at_most(before), self.lengths.at_least(before + (after or 0))
        return single * (1.0 if after is None else self.lengths.at_most(after)) / both


def day_statistics(
    frames: Sequence[FrameEvidence], cut: Sequence[Run], looks: ColourSignatures
) -> DayStatistics:
    """The statistics of a lane cut into these runs."""
    runs = list(_runs(cut))
    taken = [frame.taken for frame in frames]
    pauses = _enough((gap for run in runs for gap in _gaps(taken, run.frames)), _PAUSES)
    waits = _enough((gap for run in runs for gap in _gaps(taken, (run.slate[-1], run.frames[0]))), _WAITS)
    changes = _enough(
        (
            gap
            for run in runs
            if run.following is not None
            for gap in _gaps(taken, (run.frames[-1], run.following))
            if gap > STEPS
        ),
        _CHANGES,
    )
    lengths = EmpiricalDistribution(exposures(frames, run.frames) for run in runs)
    quick = 0.8 * min(changes.quantile(0.01), QUICKEST)
    # frames up to a longer pause than three in four are surely one person's
    sample = runs[:: max(len(runs) // SAMPLE, 1)]
    calm = [(run, _calm(taken, run.frames, max(quick, pauses.quantile(0.75)))) for run in sample]
    return DayStatistics(pauses, waits, changes, lengths, _colour_statistics(looks, calm), quick)


@dataclass(frozen=True, slots=True)
class _CalibrationRun:
    """A run that is one person's as far as is known."""

    person: int
    slate: tuple[int, ...]
    """Places of the slate's frames."""
    frames: tuple[int, ...]
    """Places of the run's frames, in the order from the slate."""
    following: int | None = None
    """Place of the next slate, where that shows when the next person came."""


def _runs(cut: Sequence[Run]) -> Iterator[_CalibrationRun]:
    """The runs with a head slate, or with a tail slate and no slate before."""
    for run in cut:
        left, right = run.before, run.after
        if not run.frames or _is_cut_short(run):
            continue
        if left is not None and (person := opens(left)) is not None:
            following = right.frames[0] if right is not None and not right.slate.upside_down else None
            yield _CalibrationRun(person, left.frames, run.frames, following)
        elif right is not None and right.slate.upside_down and right.slate.person is not None:
            yield _CalibrationRun(right.slate.person, right.frames[::-1], run.frames[::-1])


def _is_cut_short(run: Run) -> bool:
    """Whether a slate that does not read is at either end: it may be a badge in the middle of a turn."""
    begins = run.before is not None and bool(run.before.unread)
    return begins or (run.after is not None and run.after.slate.status is SlateStatus.UNREAD)


def _gaps(taken: Sequence[float | None], places: Sequence[int]) -> list[float]:
    """Seconds between neighbours of these places, in either order, where the times are known and the clock
    did not go back."""
    times = [taken[place] for place in places]
    if places[-1] < places[0]:
        times.reverse()
    return [b - a for a, b in pairwise(times) if a is not None and b is not None and b >= a]


def _enough(values: Iterable[float], otherwise: Sequence[float]) -> EmpiricalDistribution:
    found = list(values)
    return EmpiricalDistribution(found if len(found) >= _FEWEST else (*found, *otherwise))


def _calm(taken: Sequence[float | None], run: Sequence[int], quick: float) -> Sequence[int]:
    """The first frames of a run, up to the first pause in which people may have changed."""
    for count, (a, b) in enumerate(pairwise(run), 1):
        first, other = taken[min(a, b)], taken[max(a, b)]
        if first is None or other is None or not 0 <= other - first < quick:
            return run[:count]
    return run


def _colour_statistics(
    looks: ColourSignatures, runs: Sequence[tuple[_CalibrationRun, Sequence[int]]]
) -> ColourStatistics:
    """Distributions from runs, each with those of its frames that are one person's as far as is known."""
    known = [(run, frames, mean) for run, frames in runs if (mean := looks.mean(frames)) is not None]
    single = [
        distance
        for _, frames, _ in known
        if len(frames) >= 3
        for distance in (looks.distance(frames[:1], frames[1:]), looks.distance(frames[-1:], frames[:-1]))
        if distance is not None
    ]
    if min(len(known), len(single)) < _FEWEST:
        same, other = EmpiricalDistribution(_SAME), EmpiricalDistribution(_OTHER)
        return ColourStatistics(same, same, other, other, _SAME[-1])
    means = np.array([mean for _, _, mean in known])
    slates = np.array(
        [np.zeros_like(m) if (s := looks.mean(run.slate)) is None else s for run, _, m in known]
    )
    people = np.array([run.person for run, _, _ in known])
    differ, with_slate = people[:, None] != people[None, :], np.asarray(slates.any(axis=1))
    held = hellinger_distances(slates, means)[with_slate].tolist()
    others = np.sort(distances_from_products(means @ means.T)[differ]).tolist()
    others_held = np.sort(distances_from_products(slates @ means.T)[differ & with_slate[:, None]]).tolist()
    apart, held_apart = EmpiricalDistribution(others), EmpiricalDistribution(others_held or others)
    steps = looks.steps[[place for _, frames, _ in known for place in frames[:-1]]]
    return ColourStatistics(
        single_frame=_within_run(single, apart),
        held=_within_run(held if len(held) >= _FEWEST else single, held_apart),
        others=apart,
        others_held=held_apart,
        step=EmpiricalDistribution(steps[steps < NOBODY].tolist() or _SAME).quantile(0.995),
        measured=True,
    )


def _within_run(distances: Sequence[float], others: EmpiricalDistribution) -> EmpiricalDistribution:
    """Distances within one person, without those that are surely between two: a slate was forgotten."""
    most = max(others.quantile(0.1), 2 * EmpiricalDistribution(distances).quantile(0.5))
    return EmpiricalDistribution(distance for distance in distances if distance <= most)
