"""The day's empirical distributions in a lane: pauses, changes of people, lengths of runs, colour distances.

Taken from the runs that a slate opened, which are one person's unless a slate was forgotten, and few are.
What a day does not show is filled in with values of our own choice, wide enough to err towards loose frames.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from onsite.matching.colour_distance import ColourSignatures, ColourStatistics, colour_statistics
from onsite.matching.cut_runs import Run, exposures, opens
from onsite.matching.empirical_distribution import EmpiricalDistribution
from onsite.matching.evidence import FrameEvidence

STEPS = 5.0
"""Seconds within which nobody can have left and somebody else stepped in. Common sense, no source."""

_FEWEST = 5  # values that make a distribution
_PAUSES = 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 12.0
_WAITS = 3.0, 5.0, 8.0, 12.0, 20.0
_CHANGES = 20.0, 30.0, 45.0, 60.0, 90.0
# changes that stay possible on days that show none so quick
_QUICK = EmpiricalDistribution((7.0, 11.0, 16.0))
_POSSIBLE = 0.02  # share of changes that may be so quick
_QUICKEST = 9.0  # seconds: a change of people that takes this long is possible, whatever a day shows
_MOSTLY = 0.75  # share of pauses taken for uninterrupted where distances within one person are measured
_QUICKER = 0.8  # times the quickest changes seen
_LEAST_MANY, _OTHERWISE_MANY = 24, 32
_INTERRUPTED = 0.005
"""Share of pauses within a run in which something else happened: a telephone call, a crooked tie. Our own
guess."""


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
    many: int
    """Number of frames from which on a run is too long to be one person's."""

    def pause_likelihood_ratio(self, seconds: float, after_slate: bool = False) -> float:
        """How much likelier a pause is where people change than where they do not."""
        typical = self.waits if after_slate else self.pauses
        change = max(self.changes.at_most(seconds), _POSSIBLE * _QUICK.at_most(seconds))
        return change / (typical.at_least(seconds) + _INTERRUPTED)

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
    pauses = [gap for run in runs for gap in _gaps(taken, run.frames)]
    waits = [gap for run in runs for gap in _gaps(taken, (run.slate[-1], run.frames[0]))]
    changes = [
        gap
        for run in runs
        if run.following is not None
        for gap in _gaps(taken, (run.frames[-1], run.following))
        if gap > STEPS
    ]
    usual_pauses, known_changes = _enough(pauses, _PAUSES), _enough(changes, _CHANGES)
    quick = min(known_changes.quantile(0.01), _QUICKEST) * _QUICKER
    unbroken = max(quick, usual_pauses.quantile(_MOSTLY))
    lengths = EmpiricalDistribution(exposures(frames, run.frames) for run in runs)
    many = round(4 * lengths.quantile(0.9)) if len(lengths) >= _FEWEST else _OTHERWISE_MANY
    calm = [(run.person, run.slate, _calm(taken, run.frames, unbroken)) for run in runs]
    return DayStatistics(
        usual_pauses,
        _enough(waits, _WAITS),
        known_changes,
        lengths,
        colour_statistics(looks, calm),
        quick,
        max(many, _LEAST_MANY),
    )


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
    for stretch in cut:
        left, right = stretch.before, stretch.after
        if not stretch.frames or stretch.between:
            continue
        if left is not None and (person := opens(left)) is not None:
            following = right.frames[0] if right is not None and not right.mark.upside_down else None
            yield _CalibrationRun(person, left.frames, stretch.frames, following)
        elif right is not None and right.mark.upside_down and right.mark.person is not None:
            yield _CalibrationRun(right.mark.person, right.frames[::-1], stretch.frames[::-1])


def _gaps(taken: Sequence[float | None], places: Sequence[int]) -> list[float]:
    """Seconds between neighbours of these places, in either order, where the times are known and the clock
    did not go back."""
    times = [taken[place] for place in places]
    if places[-1] < places[0]:
        times.reverse()
    return [b - a for a, b in pairwise(times) if a is not None and b is not None and b >= a]


def _enough(values: Sequence[float], otherwise: Sequence[float]) -> EmpiricalDistribution:
    return EmpiricalDistribution(values if len(values) >= _FEWEST else (*values, *otherwise))


def _calm(taken: Sequence[float | None], run: Sequence[int], quick: float) -> Sequence[int]:
    """The first frames of a run, up to the first pause in which people may have changed."""
    for count, (a, b) in enumerate(pairwise(run), 1):
        first, other = taken[min(a, b)], taken[max(a, b)]
        if first is None or other is None or not 0 <= other - first < quick:
            return run[:count]
    return run
