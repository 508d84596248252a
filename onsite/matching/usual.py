"""What is usual in a lane: how long its pauses are, how many frames people have, how alike they look.

Taken from the runs that a slate opened, for they are one person's unless a slate was forgotten, which few do.
What a day does not show is filled in with values of our own choice, wide enough to doubt rather than believe.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from onsite.matching.evidence import FrameEvidence
from onsite.matching.looks import Looks, LooksUsual, looks_usual
from onsite.matching.rarity import Rarity
from onsite.matching.runs import Stretch, opens, seconds_between

_FEWEST = 5  # values to go by
_PAUSES = 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 12.0
_WAITS = 3.0, 5.0, 8.0, 12.0, 20.0
_CHANGES = 12.0, 20.0, 30.0, 45.0, 60.0, 90.0
_QUICKEST = 20.0  # seconds: a change of people that is quicker is possible, whatever a day shows
_LEAST_MANY = 24
_INTERRUPTED = 0.005
"""Of pauses within a run, those in which something else happened: a telephone, a tie. Our own guess."""


@dataclass(frozen=True, slots=True)
class Usual:
    """`pauses` between a person's frames, `waits` from a slate to the first of them, and `changes` from one
    person's last frame to the next one's slate, in seconds; `lengths` of runs in frames."""

    pauses: Rarity
    waits: Rarity
    changes: Rarity
    lengths: Rarity
    looks: LooksUsual

    @property
    def quick(self) -> float:
        """Seconds from which on people may have changed, for all that is known of this lane."""
        return min(self.changes.below(0.01), _QUICKEST) * 0.8

    @property
    def many(self) -> int:
        """From so many frames on a run is too long to be one person's."""
        if len(self.lengths) < _FEWEST:
            return max(_LEAST_MANY, 32)
        return max(_LEAST_MANY, round(4 * self.lengths.below(0.9)))

    def pause_speaks(self, seconds: float, after_slate: bool = False) -> float:
        """How much likelier a pause is where people change than where they do not."""
        usual = self.waits if after_slate else self.pauses
        return self.changes.at_most(seconds) / (usual.at_least(seconds) + _INTERRUPTED)

    def lengths_speak(self, before: int, after: int) -> float:
        """How much likelier so many frames before and after a pause are as two people's than as one's."""
        if len(self.lengths) < _FEWEST:
            return 1.0
        one, other, both = (
            self.lengths.at_most(before),
            self.lengths.at_most(after),
            self.lengths.at_least(before + after),
        )
        return one * other / both


def usual_of(frames: Sequence[FrameEvidence], cut: Sequence[Stretch], looks: Looks) -> Usual:
    """What is usual in a lane that is cut so."""
    clean = [s for s in cut if opens(s.left) is not None and s.frames and not s.between]
    pauses = [gap for s in clean for a, b in pairwise(s.frames) for gap in _known(frames, a, b)]
    waits = [gap for s in clean if s.left for gap in _known(frames, s.left.frames[-1], s.frames[0])]
    changes = [
        gap
        for s in clean
        if s.right is not None and not s.right.mark.upside_down
        for gap in _known(frames, s.frames[-1], s.right.frames[0])
    ]
    usual = Usual(
        _enough(pauses, _PAUSES),
        _enough(waits, _WAITS),
        _enough(changes, _CHANGES),
        Rarity(len(s.frames) for s in clean),
        looks_usual(looks, ()),
    )
    calm = [
        (s.left.mark.person, s.left.frames, _calm(frames, s.frames, usual.quick))
        for s in clean
        if s.left is not None and s.left.mark.person is not None
    ]
    return Usual(usual.pauses, usual.waits, usual.changes, usual.lengths, looks_usual(looks, calm))


def _known(frames: Sequence[FrameEvidence], a: int, b: int) -> list[float]:
    gap = seconds_between(frames, a, b)
    return [] if gap is None or gap < 0 else [gap]


def _enough(values: Sequence[float], otherwise: Sequence[float]) -> Rarity:
    return Rarity(values if len(values) >= _FEWEST else (*values, *otherwise))


def _calm(frames: Sequence[FrameEvidence], run: Sequence[int], quick: float) -> list[int]:
    """The first frames of a run, up to the first pause in which people may have changed."""
    some = [run[0]]
    for a, b in pairwise(run):
        gap = seconds_between(frames, a, b)
        if gap is None or not 0 <= gap < quick:
            break
        some.append(b)
    return some
