"""How the people of a day differ in their looks, learnt from the day itself.

A person's colours vary from frame to frame in ways that all people of a day share: a closer framing shows less of
the clothes, jackets come off, instruments come in. Linear discriminant analysis finds the directions of the
colour signatures in which people differ most for how much one person varies (R. A. Fisher, "The use of multiple
measurements in taxonomic problems", 1936; C. R. Rao, 1948), so that a choir in one gown is told apart by hair and
skin, and a soloist with a violin is the one without. Looks are compared by the angle between them there.

How far apart one person's frames are, and those of people who come soon after one another, are two empirical
distributions. Their ratio says how much likelier a distance is between two people.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from onsite.matching.cut_runs import PersonRun
from onsite.matching.empirical_distribution import EmpiricalDistribution
from onsite.matching.looks import LaneLooks

import os
_FEWEST = 12
"""Runs from which directions are learnt; with fewer, signatures are compared as they are, by the Hellinger distance
over the root of 2. Below, as many directions would be one person's own."""
_MOST = 2000
"""Runs that are looked at, spread over the day: enough for its directions, and it bounds the time."""
_DIRECTIONS = int(os.environ.get("DIMS","80"))
"""Principal components that are kept."""
_MOST_FRAMES = 4000
"""Frames from which they are estimated."""
_NOVEL = float(os.environ.get("NOVEL","1e-3"))
"""Variance between people that is taken for granted in any direction: somebody may wear what nobody else does."""
_NOISE = float(os.environ.get("NOISE","1e-3"))
"""Variance of the root of a colour's share that no run needs to show: as between two frames of somebody who stands
still. It keeps directions from being learnt that few runs show."""
_SPREAD = float(os.environ.get("SPREAD","3.0"))
"""Times the median spread that a run counts for at most: in some, somebody else stepped in."""
_NEXT = 6
"""People after each with whom they are compared: friends come together, and may be dressed alike."""
_LEAST, _LARGEST = 5e-4, 1e3
"""Bounds of a likelihood ratio: two people may look the same."""
_SAME = 0.035, 0.06, 0.09, 0.12, 0.16, 0.2, 0.25
"""Distances between frames of one person where a day shows too few: about the percentiles of drawn sets
(`tests/bench/bench_looks.py`), over the root of 2."""
_OTHER = 0.11, 0.18, 0.25, 0.32, 0.39, 0.46, 0.53, 0.6
"""The same between two people, nearer to each other than on drawn sets: in uniform they are."""
NOBODY = 1.0
"""Distance between an empty backdrop and a person: the largest that there is."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class DayLooks:
    """The looks of all frames of a day, lane by lane, and how far apart they are."""

    lanes: tuple[Floats, ...]
    """Of each lane the frames' coordinates, (frames, directions); zeros where a frame has no signature."""
    slate: Floats
    """What a slate frame's coordinates are beside its person's other frames: hands are up, clothes covered."""
    portraits: EmpiricalDistribution
    """Distances between a person's frames."""
    held: EmpiricalDistribution
    """Distances from a slate's frame to its person's frames."""
    others: EmpiricalDistribution
    """Distances between people."""
    step: float
    """The distance from frame to frame that 1 in 200 of a person's exceed."""

    @property
    def same(self) -> float:
        """Twice the median within one person, so that runs which hold two people do not spoil it."""
        return 2 * self.portraits.quantile(0.5)

    @property
    def other(self) -> float:
        """The lower quartile of distances between different people."""
        return self.others.quantile(0.25)

    @property
    def tells(self) -> bool:
        """Whether different people's looks are well apart from one person's."""
        return self.other > self.same

    def likelihood_ratio(self, distances: Floats, from_slate: bool = False) -> Floats:
        """How much likelier each distance is between two people than within one person; 1 where it is not known
        (NaN)."""
        same = self.held if from_slate else self.portraits
        ratio = np.clip(self.others.at_most(distances) / same.at_least(distances), _LEAST, _LARGEST)
        return np.where(np.isnan(distances), 1.0, ratio)


def learn_looks(lanes: Sequence[LaneLooks], runs: Sequence[Sequence[PersonRun]]) -> DayLooks:
    """Learn a day's looks from its lanes and their runs of one person."""
    wide = max(lanes, key=lambda lane: int(lane.has_look.sum())).signatures.shape[1] if lanes else 1
    comparable = [lane.signatures.shape[1] == wide for lane in lanes]  # signatures of one version
    signatures = np.concatenate(
        [
            lane.signatures if same else np.zeros((len(lane.signatures), wide))
            for lane, same in zip(lanes, comparable, strict=True)
        ]
        or [np.zeros((0, wide))]
    ).astype(np.float64)
    starts = np.cumsum([0, *(len(lane.signatures) for lane in lanes)])
    has_look = signatures.any(axis=1)
    all_runs = [
        _Run(run.person, number, _places(run.slate, start, has_look), _places(run.frames, start, has_look))
        for number, (start, some) in enumerate(zip(starts, runs, strict=False))
        for run in some
    ]
    usable = [run for run in all_runs if len(run.frames) > 1]
    usable = [
        run for k, run in enumerate(usable) if k // _NEXT % (len(usable) // _MOST + 1) == 0
    ]  # neighbours stay
    learnt = len(usable) >= _FEWEST
    coordinates = _coordinates(signatures, usable) * has_look[:, None] if learnt else signatures
    return _distributions(coordinates, usable, starts, learnt)


@dataclass(frozen=True, slots=True)
class _Run:
    """A run of one person, by places in all lanes together; its frames have a signature."""

    person: int
    lane: int
    slate: NDArray[np.intp]
    frames: NDArray[np.intp]


def _places(places: Sequence[int], start: int, has_look: NDArray[np.bool_]) -> NDArray[np.intp]:
    found = np.array(places, np.intp) + start
    return found[has_look[found]]


def _coordinates(signatures: Floats, runs: Sequence[_Run]) -> Floats:
    """The coordinates of signatures, (frames, bins), in which one person varies alike in all directions, and those in
    which people differ count more."""
    counts = np.array([len(run.frames) for run in runs])
    number = np.repeat(np.arange(len(runs)), counts)
    seen = signatures[np.concatenate([run.frames for run in runs])]
    means = np.add.reduceat(seen, np.cumsum(counts) - counts) / counts[:, None]
    steps = np.diff(seen, axis=0)[number[1:] == number[:-1]]
    lengths = np.sqrt(np.einsum("ij,ij->i", steps, steps))
    steps *= np.minimum(1.0, _SPREAD * np.median(lengths) / np.maximum(lengths, 1e-12))[:, None]
    main = _main_directions(signatures[:: len(signatures) // _MOST_FRAMES + 1])
    steps, between = steps @ main, np.cov((means @ main).T)
    within = steps.T @ steps / (2 * len(steps))
    half = np.linalg.inv(np.linalg.cholesky(within + _NOISE * np.eye(len(within))))
    ratios, directions = np.linalg.eigh(half @ (between - within / counts.mean() + _NOVEL * np.eye(len(within))) @ half.T)
    ratios = np.maximum(ratios, 0.0)
    return np.asarray((signatures - means.mean(axis=0)) @ (main @ half.T @ directions * np.sqrt(ratios / (1 + ratios))))


def _main_directions(signatures: Floats) -> Floats:
    """The principal components of signatures, (bins, directions)."""
    seen = signatures[signatures.any(axis=1)]
    directions = np.linalg.eigh(np.cov(seen.T))[1]
    return np.asarray(directions[:, -_DIRECTIONS:])


def _distributions(
    coordinates: Floats, runs: Sequence[_Run], starts: NDArray[np.intp], learnt: bool
) -> DayLooks:
    counts = np.array([len(run.frames) for run in runs], int)
    number, first = np.repeat(np.arange(len(runs)), counts), np.cumsum(counts) - counts
    seen = (
        coordinates[np.concatenate([run.frames for run in runs], dtype=np.intp)] if runs else coordinates[:0]
    )
    sums = np.add.reduceat(seen, first) if runs else seen
    slates = np.full_like(sums, np.nan)
    for slate, run in zip(slates, runs, strict=True):
        slate[:] = coordinates[run.slate].mean(axis=0) if len(run.slate) else np.nan
    off = (slates - sums / counts[:, None])[~np.isnan(slates).any(axis=1)]
    shift = np.median(off, axis=0) if learnt and len(off) >= _FEWEST else np.zeros(coordinates.shape[1])
    slates -= shift
    so_far = np.cumsum(seen, axis=0)
    before = so_far - (so_far - seen)[first][number]  # of the run, up to and with each frame
    last = np.diff(number, append=-1) != 0
    splits = distances(before[~last] + np.nan_to_num(slates)[number[~last]], (sums[number] - before)[~last])
    singles = distances(sums[number] - seen, seen)
    steps = distances(seen[:-1], seen[1:])[~last[:-1]]
    bounds = [slice(start, end) for start, end in pairwise(starts.tolist())]
    return DayLooks(
        lanes=tuple(coordinates[each] for each in bounds),
        slate=shift,
        portraits=EmpiricalDistribution.of(np.concatenate([splits, singles]), _SAME),
        held=EmpiricalDistribution.of(distances(slates, sums), _SAME),
        others=EmpiricalDistribution.of(_to_the_next(runs, sums), _OTHER),
        step=EmpiricalDistribution.of(steps, _SAME).quantile(0.995),
    )


def _to_the_next(runs: Sequence[_Run], sums: Floats) -> Floats:
    """Distances between people and those who come after them on the same camera."""
    people, lanes = np.array([run.person for run in runs]), np.array([run.lane for run in runs])
    found = []
    for by in range(1, min(_NEXT, len(runs) - 1) + 1):
        differ = (people[by:] != people[:-by]) & (lanes[by:] == lanes[:-by])
        found.append(distances(sums[:-by], sums[by:])[differ])
    return np.concatenate(found) if found else np.zeros(0)


def distances(looks: Floats, others: Floats) -> Floats:
    """Distances between sums of coordinates, (..., directions): 0 where they point the same way, 1 where they are
    opposite. NaN where one is 0, which is no look."""
    with np.errstate(invalid="ignore", divide="ignore"):
        lengths = np.sqrt(
            np.einsum("...j,...j->...", looks, looks) * np.einsum("...j,...j->...", others, others)
        )
        return np.asarray(
            np.sqrt(np.clip(1.0 - np.einsum("...j,...j->...", looks, others) / lengths, 0.0, 2.0) / 2)
        )
