"""What is usual in a lane: how long its pauses are, how many frames people have, how alike they look.

Taken from the runs that a slate opened, for they are one person's unless a slate was forgotten, which few do.
What a day does not show is filled in with values of our own choice, wide enough to doubt rather than believe.
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
"""Seconds in which nobody has left and somebody else stepped in. Common sense, no source."""

_FEWEST = 5  # values to go by
_PAUSES = 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 12.0
_WAITS = 3.0, 5.0, 8.0, 12.0, 20.0
_CHANGES = 20.0, 30.0, 45.0, 60.0, 90.0
_QUICK = EmpiricalDistribution((7.0, 11.0, 16.0))  # changes that are possible on days that show none so quick
_POSSIBLE = 0.02  # of changes, how many may be so quick
_QUICKEST = 9.0  # seconds: a change of people that is no longer is possible, whatever a day shows
_MOSTLY = 0.75  # of pauses, which are taken for unbroken where it is seen how alike people's frames are
_QUICKER = 0.8  # times the quickest changes seen
_LEAST_MANY, _OTHERWISE_MANY = 24, 32
_INTERRUPTED = 0.005
"""Of pauses within a run, those in which something else happened: a telephone, a tie. Our own guess."""


@dataclass(frozen=True, slots=True)
class DayStatistics:
    """`pauses` between a person's frames, `waits` from a slate to the first of them, and `changes` from one
    person's last frame to the next one's slate, in seconds; `lengths` of runs in exposures."""

    pauses: EmpiricalDistribution
    waits: EmpiricalDistribution
    changes: EmpiricalDistribution
    lengths: EmpiricalDistribution
    looks: ColourStatistics
    quick: float
    """Seconds from which on people may have changed."""
    many: int
    """From so many frames on a run is too long to be one person's."""

    def pause_likelihood_ratio(self, seconds: float, after_slate: bool = False) -> float:
        """How much likelier a pause is where people change than where they do not."""
        typical = self.waits if after_slate else self.pauses
        change = max(self.changes.at_most(seconds), _POSSIBLE * _QUICK.at_most(seconds))
        return change / (typical.at_least(seconds) + _INTERRUPTED)

    def lengths_likelihood_ratio(self, before: int, after: int | None) -> float:
        """How much likelier so many frames before and after a pause are as two people's than as one's. None
        after it: there may have been more."""
        if len(self.lengths) < _FEWEST:
            return 1.0
        single, both = self.lengths.at_most(before), self.lengths.at_least(before + (after or 0))
        return single * (1.0 if after is None else self.lengths.at_most(after)) / both


def day_statistics(
    frames: Sequence[FrameEvidence], cut: Sequence[Run], looks: ColourSignatures
) -> DayStatistics:
    """What is usual in a lane that is cut so."""
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
    """A run of one person for all that is known: the slate's frames and theirs, from the slate on, and the
    next slate where that shows when the next person came."""

    person: int
    slate: tuple[int, ...]
    frames: tuple[int, ...]
    following: int | None = None


def _runs(cut: Sequence[Run]) -> Iterator[_CalibrationRun]:
    """The runs that have a head slate, or a tail slate and none before."""
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
    """The seconds between neighbours of these places, given from the first on or from the last, where they
    are known and the clock did not go back."""
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
