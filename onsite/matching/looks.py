"""Comparing looks: whether somebody else may have stepped in. Never who somebody is."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from onsite.matching.evidence import FrameEvidence

_FEWEST_RUNS = 4
_MOST_EMPTY = 0.5
_SAMPLE = 400  # runs that the scale is taken from: enough, and bounded
_UNKNOWN = 0.3
_LEAST_CONTRAST = 1.4  # between the looks of different people and those of one, to tell anything


@dataclass(frozen=True, slots=True)
class LookScale:
    """How far looks are apart on this day: `same`, twice the median of one person's frames, so that
    runs which hold two people do not spoil it; `other`, a low quarter of different people. Where
    the two are not well apart (uniforms, gowns), or where too few runs show it, looks tell nothing."""

    same: float = _UNKNOWN
    other: float = _UNKNOWN
    measured: bool = False

    @property
    def tells(self) -> bool:
        return self.other > _LEAST_CONTRAST * self.same and self.other > 0.05

    @property
    def changed(self) -> float:
        """The distance from which a look has changed."""
        return (self.same + self.other) / 2


class Looks:
    """The looks of one lane's frames, by their place in the lane. Distances are Hellinger's, 0 to 1.

    Those at the places `without_light` are not looked at, and never empty.
    """

    def __init__(self, frames: Sequence[FrameEvidence], without_light: Collection[int] = ()) -> None:
        size = max((len(frame.look) for frame in frames if frame.look), default=1)
        self._rows = np.zeros((len(frames), size), dtype=np.uint8)
        self._have = np.zeros(len(frames), dtype=bool)
        for index, frame in enumerate(frames):
            if frame.look is not None and len(frame.look) == size:
                self._rows[index] = np.frombuffer(frame.look, dtype=np.uint8)
                self._have[index] = self._rows[index].any()
        self._empty = ~self._have & np.array([bool(frame.look) for frame in frames], dtype=bool)
        if self._empty.mean() > _MOST_EMPTY:
            self._empty[:] = False
        self._without_light = frozenset(without_light)
        for index in self._without_light:
            self._have[index] = self._empty[index] = False

    def without_light(self, index: int) -> bool:
        return index in self._without_light

    def empty(self, index: int) -> bool:
        """Whether nobody is to be seen in a frame. Never where that is so in many of a lane's frames: there
        the backdrop is not what it is taken for."""
        return bool(self._empty[index])

    def distance(self, some: Sequence[int], others: Sequence[int]) -> float | None:
        """Between the mean looks of two groups of frames; None where one has no look to speak of."""
        one, other = self._mean(some), self._mean(others)
        return None if one is None or other is None else _hellinger(one, other)

    def _mean(self, frames: Sequence[int]) -> NDArray[np.float64] | None:
        have = [index for index in frames if self._have[index]]
        if not have:
            return None
        squares: NDArray[np.float64] = (self._rows[have].astype(np.float64) ** 2).mean(axis=0)
        mean: NDArray[np.float64] = squares / squares.sum()
        return mean


def _hellinger(one: NDArray[np.float64], other: NDArray[np.float64]) -> float:
    return float(np.sqrt(max(1.0 - np.sqrt(one * other).sum(), 0.0)))


def look_scale(looks: Looks, runs: Sequence[tuple[int, Sequence[int]]]) -> LookScale:
    """The scale of a lane from its runs: (person, frames), in shooting order."""
    runs = [run for run in runs if len(run[1]) >= 2]
    if len(runs) < _FEWEST_RUNS:
        return LookScale()
    runs = runs[:: max(len(runs) // _SAMPLE, 1)]
    within = _known(looks.distance(frames[:1], frames[1:]) for _, frames in runs)
    within += _known(looks.distance(frames[-1:], frames[:-1]) for _, frames in runs)
    between = _known(looks.distance(a[1], b[1]) for a, b in pairwise(runs) if a[0] != b[0])
    if not within or not between:
        return LookScale()
    return LookScale(2 * float(np.median(within)), float(np.quantile(between, 0.25)), True)


def _known(distances: Iterable[float | None]) -> list[float]:
    return [distance for distance in distances if distance is not None]
