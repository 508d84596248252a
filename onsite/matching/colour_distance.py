"""Distances between colour signatures, and how much they say about whether somebody else stepped in. They
never say who somebody is."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from onsite.core.colour_signature import NOBODY as NOBODY_THERE
from onsite.core.colour_signature import unpack_signatures
from onsite.matching.empirical_distribution import EmpiricalDistribution
from onsite.matching.evidence import FrameEvidence

_FEWEST = 4  # runs from which a day's distances are taken
_MOST_EMPTY = 0.5
_SAMPLE = 400  # runs compared with each other and within themselves: enough, and bounded
_LEAST_CONTRAST = 1.4  # of different people's distances over one person's, for looks to tell anything
_LEAST, _MOST = 5e-4, 1e3  # bounds of the likelihood ratio: two people may wear the same
_UNMEASURED = 0.05  # least likelihood ratio on a day without measured distances
_SAME = 0.05, 0.08, 0.1, 0.13, 0.17, 0.22, 0.28, 0.35  # used where a day shows too little: our own choice
_OTHER = 0.15, 0.25, 0.35, 0.45, 0.55, 0.65, 0.75, 0.85
NOBODY = 1.0
"""Distance between an empty backdrop and a person."""

Array = NDArray[np.float32]


class ColourSignatures:
    """Colour signatures of one lane's frames, by place in the lane. Distances are Hellinger distances, 0 to
    1.

    Frames at the places `without_light` have no signature, and never count as empty.
    """

    def __init__(self, frames: Sequence[FrameEvidence], without_light: Collection[int] = ()) -> None:
        read = unpack_signatures(
            [None if place in without_light else frame.look for place, frame in enumerate(frames)]
        )
        have = read.presence >= NOBODY_THERE
        self._roots: Array = read.roots
        self._roots[~have] = 0.0
        self._means: dict[tuple[int, ...], Array | None] = {}
        empty = read.empty
        self._nothing: list[bool] = empty.tolist()
        if empty.mean() > _MOST_EMPTY:
            empty = np.zeros_like(empty)
        self._empty: list[bool] = empty.tolist()
        self._without_light = frozenset(without_light)
        self._looked_at: list[bool] = (have | empty).tolist()
        self._has_look: list[bool] = have.tolist()
        self.steps = hellinger_distances(self._roots[:-1], self._roots[1:])
        """Distances from each frame to the next; NaN where either has no signature, `NOBODY` between
        a person and an empty backdrop."""
        self.steps[~(have[:-1] & have[1:])] = np.nan
        self.steps[empty[:-1] ^ empty[1:]] = NOBODY

    def looked_at(self, place: int) -> bool:
        """Whether the frame's look says anything, if only that nobody is in the frame."""
        return self._looked_at[place]

    def empty(self, place: int) -> bool:
        """Whether nobody is in the frame. Never true in a lane where many frames seem empty: there the
        backdrop was misjudged."""
        return self._empty[place]

    def nothing_seen(self, place: int) -> bool:
        """Whether the frame seems empty, however many of the lane's frames do."""
        return self._nothing[place]

    def has_look(self, places: Sequence[int]) -> bool:
        """Whether any of these frames has a colour signature."""
        return any(self._has_look[place] for place in places)

    def mean(self, places: Sequence[int]) -> Array | None:
        """The square roots of the mean shares of some frames; None where none of them has a signature."""
        key = tuple(places)
        if key not in self._means:
            self._means[key] = self._mean([place for place in places if self._has_look[place]])
        return self._means[key]

    def _mean(self, have: Sequence[int]) -> Array | None:
        if len(have) < 2:
            return self._roots[have[0]] if have else None
        in_a_row = have[-1] - have[0] == len(have) - 1
        rows = self._roots[have[0] : have[-1] + 1] if in_a_row else self._roots[have]
        found: Array = np.sqrt(np.einsum("ij,ij->j", rows, rows) / np.float32(len(have)))
        return found

    def distance(self, places: Sequence[int], others: Sequence[int]) -> float | None:
        """Distance between the mean signatures of two groups of frames; None where either has no signature.

        `NOBODY` where there is a person in one and only an empty backdrop in the other.
        """
        first, other = self.mean(places), self.mean(others)
        if first is not None and other is not None:
            return math.sqrt(max(1.0 - float(first @ other), 0.0))
        if first is None and other is None:
            return None
        missing = places if first is None else others
        seen = [place for place in missing if place not in self._without_light]
        return NOBODY if seen and all(self._empty[place] for place in seen) else None


def hellinger_distances(roots: Array, others: Array) -> NDArray[np.float64]:
    """Hellinger distances of one signature, (bins,), to many, (frames, bins), or of rows to rows. All
    are square roots of shares (`onsite.core.colour_signature.SignatureArrays`).

    0 where they are equal, 1 where they have no colour in common.
    After E. Hellinger, Journal für die reine und angewandte Mathematik 136 (1909), as statistics uses it.
    """
    alike: NDArray[np.float32] = np.asarray(np.einsum("...j,...j->...", roots, others))
    return _distances(alike)


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
        return self.measured and self.other > _LEAST_CONTRAST * self.same and self.other > 0.05

    @property
    def changed(self) -> float:
        """The distance from which a look has changed."""
        return (self.same + self.other) / 2


def colour_statistics(
    looks: ColourSignatures, runs: Sequence[tuple[int, Sequence[int], Sequence[int]]]
) -> ColourStatistics:
    """Distributions from runs that are one person's as far as is known: (person, slate frames, frames), in
    order."""
    known = [
        (person, looks.mean(slate), mean, frames)
        for person, slate, frames in runs[:: max(len(runs) // _SAMPLE, 1)]
        if (mean := looks.mean(frames)) is not None
    ]
    single = [
        d
        for _, _, _, frames in known
        if len(frames) >= 3
        for d in (looks.distance(frames[:1], frames[1:]), looks.distance(frames[-1:], frames[:-1]))
        if d is not None
    ]
    if len(known) < _FEWEST or len(single) < _FEWEST:
        same, other = EmpiricalDistribution(_SAME), EmpiricalDistribution(_OTHER)
        return ColourStatistics(same, same, other, other, _SAME[-1])
    people = np.array([person for person, _, _, _ in known])
    means = np.array([mean for _, _, mean, _ in known])
    slates = np.array([np.zeros_like(m) if s is None else s for _, s, m, _ in known])
    with_slate = np.asarray(slates.any(axis=1))
    held = hellinger_distances(slates, means)[with_slate]
    differ = people[:, None] != people[None, :]
    steps = looks.steps[[place for _, _, _, frames in known for place in frames[:-1]]]
    others = _rarity(_distances(means @ means.T)[differ])
    others_held = _rarity(_distances(slates @ means.T)[differ & with_slate[:, None]])
    return ColourStatistics(
        single_frame=_within_run(single, others),
        held=_within_run(held.tolist() if len(held) >= _FEWEST else single, others_held or others),
        others=others,
        others_held=others_held or others,
        step=EmpiricalDistribution(steps[steps < NOBODY].tolist() or _SAME).quantile(0.995),
        measured=True,
    )


def _within_run(distances: Sequence[float], others: EmpiricalDistribution) -> EmpiricalDistribution:
    """Distances within one person, without those that are surely between two: a slate was forgotten."""
    most = max(others.quantile(0.1), 2 * EmpiricalDistribution(distances).quantile(0.5))
    return EmpiricalDistribution(distance for distance in distances if distance <= most)


def _distances(alike: NDArray[np.float32]) -> NDArray[np.float64]:
    distances: NDArray[np.float64] = np.sqrt(np.clip(1.0 - alike.astype(np.float64), 0.0, 1.0))
    return distances


def _rarity(distances: NDArray[np.float64]) -> EmpiricalDistribution:
    return EmpiricalDistribution(np.sort(distances).tolist())  # NumPy sorts many values much faster
