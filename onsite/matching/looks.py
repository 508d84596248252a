"""Looks: the colours of clothes and hair, and how the people of a day differ in them, learnt from the day
itself. Looks never say who somebody is.

A person's colours vary from frame to frame in ways that all people of a day share: a closer framing shows
less of the clothes, jackets come off, instruments come in. Linear discriminant analysis finds the directions
of the colour signatures in which people differ most for how much one person varies (R. A. Fisher, "The use of
multiple measurements in taxonomic problems", 1936; C. R. Rao, 1948), so that a choir in one gown is told
apart by hair and skin, and a soloist with a violin is the one without. Looks are compared by the angle
between them there.

How far apart one person's frames are, and those of people who come soon after one another, are two empirical
distributions. Their ratio says how much likelier a distance is between two people.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from onsite.core.colour_signature import NOBODY as NOBODY_THERE
from onsite.core.colour_signature import SignatureArrays, unpack_signatures
from onsite.matching.cut_runs import PersonRun
from onsite.matching.day_statistics import EmpiricalDistribution, Floats
from onsite.matching.evidence import FrameEvidence

_MOST_EMPTY = 0.5
"""Share of a lane's frames that can be empty; with more, the backdrop was misjudged."""
NOBODY = 1.0
"""Distance between an empty backdrop and a person: the largest that there is."""
_FEWEST = 40
"""Runs from which directions are learnt; with fewer, signatures are compared as they are, by the Hellinger
distance over the root of 2: directions would be one person's own. And frames that show whether a backdrop is
misjudged: in the morning all may be test shots."""
_MOST = 500
"""Runs that are looked at, spread over the day: enough for its directions, and it bounds the time."""
_DIRECTIONS = 80
"""Principal components that are kept."""
_STILL = 1e-3
"""Variance of the root of a colour's share that is taken for granted in any direction, within one person and
between people: frames of somebody who stands still differ by as much, and somebody may wear what nobody else
does. It keeps directions from being learnt that few runs show."""
_LONGEST_STEP = 3.0
"""Times the median step from frame to frame that one counts for at most: at some, somebody else stepped
in."""
_NEXT = 6
"""People after each with whom they are compared: friends come together, and may be dressed alike."""
_SAME = 0.035, 0.06, 0.09, 0.12, 0.16, 0.2, 0.25
"""Distances between frames of one person, counted beside those of the day: about the percentiles of drawn
sets (`tests/bench/bench_looks.py`), over the root of 2."""
_OTHER = 0.11, 0.18, 0.25, 0.32, 0.39, 0.46, 0.53, 0.6
"""The same between two people where a day shows too few, nearer than on drawn sets: in uniform they are."""


@dataclass(frozen=True, eq=False)
class LaneLooks:
    """What the colour signatures of one lane's frames show, by place in the lane."""

    signatures: SignatureArrays
    has_look: NDArray[np.bool_]
    """Where a frame says something of who is on it; the signatures of the others are zeros."""
    empty: NDArray[np.bool_]
    """Where nobody is to be seen."""

    def looked_at(self, places: Sequence[int]) -> bool:
        """Whether the look of any of these frames says anything, if only that nobody is in it."""
        return any(self.has_look[place] or self.empty[place] for place in places)

    def nobody(self, places: Sequence[int]) -> bool:
        """Whether nobody is in any of these frames, as far as they have a look. Never true in a lane where
        many frames seem empty: there the backdrop was misjudged."""
        return self.looked_at(places) and not any(
            self.has_look[place] and not self.empty[place] for place in places
        )


def lane_looks(lanes: Sequence[Sequence[FrameEvidence]]) -> list[LaneLooks]:
    """The looks of the frames of each lane, as signatures of one version."""
    read = unpack_signatures([frame.look for frames in lanes for frame in frames])
    has_look, empty = read.presence >= NOBODY_THERE, read.empty
    read.stored[~has_look] = 0
    found, start = [], 0
    for frames in lanes:
        own = slice(start, start := start + len(frames))
        misjudged = len(frames) >= _FEWEST and empty[own].mean() > _MOST_EMPTY
        signatures = SignatureArrays(read.stored[own], read.presence[own])
        found.append(LaneLooks(signatures, has_look[own], empty[own] & (not misjudged)))
    return found


def distances(looks: Floats, others: Floats) -> Floats:
    """Distances between sums of coordinates, (..., directions): 0 where they point the same way, 1 where they
    are opposite. NaN where one is 0, which is no look."""
    with np.errstate(invalid="ignore", divide="ignore"):
        lengths = np.sqrt(
            np.einsum("...j,...j->...", looks, looks) * np.einsum("...j,...j->...", others, others)
        )
        return np.asarray(
            np.sqrt(np.clip(1.0 - np.einsum("...j,...j->...", looks, others) / lengths, 0.0, 2.0) / 2)
        )


@dataclass(frozen=True, eq=False)
class DayLooks:
    """The looks of all frames of a day, lane by lane, and how far apart they are."""

    lanes: tuple[Floats, ...]
    """Of each lane the frames' coordinates, (frames, directions); zeros where a frame has no signature."""
    slate: Floats
    """What a slate frame's coordinates are beside its person's other frames: hands are up, clothes
    covered."""
    portraits: EmpiricalDistribution
    """Distances between a person's frames."""
    held: EmpiricalDistribution
    """Distances from a slate's frame to its person's frames."""
    others: EmpiricalDistribution
    """Distances between people."""

    def likelihood_ratio(self, distances: Floats, from_slate: bool = False) -> Floats:
        """How much likelier each distance is between two people than within one person; 1 where it is not
        known (NaN)."""
        same = self.held if from_slate else self.portraits
        ratio = self.others.at_most(distances) / same.at_least(distances)
        return np.where(np.isnan(distances), 1.0, ratio)


def learn_looks(lanes: Sequence[LaneLooks], runs: Sequence[Sequence[PersonRun]]) -> DayLooks:
    """Learn a day's looks from its lanes and their runs of one person."""
    found = [(number, run) for number, some in enumerate(runs) for run in some]
    every = len(found) // _MOST + 1  # of so many groups of neighbours, one is looked at
    found = [each for place, each in enumerate(found) if place // _NEXT % every == 0]
    sample = [_Run.of(run, number, lanes[number]) for number, run in found]
    sample = [run for run in sample if len(run.frames) > 1]
    if len(sample) < _FEWEST:
        none = np.zeros(lanes[0].signatures.stored.shape[1])
        return _distributions([lane.signatures.roots() for lane in lanes], sample, none)
    projection, origin = _discriminants([run.frames for run in sample])
    looks = [_projected(lane, projection, origin) for lane in lanes]
    sample = [
        replace(run, slate=run.slate @ projection - origin, frames=run.frames @ projection - origin)
        for run in sample
    ]
    off = [run.slate.mean(axis=0) - run.frames.mean(axis=0) for run in sample if len(run.slate)]
    return _distributions(looks, sample, np.median(off, axis=0) if len(off) >= _FEWEST else 0.0 * origin)


@dataclass(frozen=True, eq=False)
class _Run:
    """The looks of a run of one person."""

    person: int
    lane: int
    slate: Floats
    """Of the slate's frames that have a look, (frames, directions)."""
    frames: Floats
    """Of the other frames that have one."""

    @classmethod
    def of(cls, run: PersonRun, number: int, lane: LaneLooks) -> _Run:
        places = (np.array(each, np.intp) for each in (run.slate, run.frames))
        slate, frames = (lane.signatures.roots(each[lane.has_look[each]]) for each in places)
        return cls(run.person, number, slate, frames)


def _discriminants(runs: Sequence[Floats]) -> tuple[Floats, Floats]:
    """The directions in which people differ, (bins, directions), from the signatures of one person each: one
    person varies alike in all of them, and those in which people differ more are longer. And the day's mean
    in them."""
    means = np.array([run.mean(axis=0) for run in runs])
    steps = np.concatenate([np.diff(run, axis=0) for run in runs])
    lengths = np.sqrt(np.einsum("ij,ij->i", steps, steps))
    steps *= np.minimum(1.0, _LONGEST_STEP * np.median(lengths) / np.maximum(lengths, 1e-12))[:, None]
    main = np.linalg.eigh(np.cov(np.concatenate(runs).T))[1][:, -_DIRECTIONS:]  # principal components
    steps, between = steps @ main, np.cov((means @ main).T)
    within = steps.T @ steps / (2 * len(steps))
    each, still = np.mean([len(run) for run in runs]), _STILL * np.eye(len(within))
    half = np.linalg.inv(np.linalg.cholesky(within + still))
    ratios, directions = np.linalg.eigh(half @ (between - within / each + still) @ half.T)
    weights = np.sqrt(np.maximum(ratios, 0.0) / (1.0 + np.maximum(ratios, 0.0)))
    projection = (main @ half.T @ directions * weights).astype(np.float32)
    return projection, means.mean(axis=0) @ projection


def _projected(lane: LaneLooks, projection: Floats, origin: Floats) -> Floats:
    """The looks of a lane's frames, (frames, directions), some thousand at a time to save memory."""
    parts = (slice(start, start + 4096) for start in range(0, len(lane.has_look), 4096))
    looks = np.concatenate([lane.signatures.roots(part) @ projection for part in parts])
    return np.asarray((looks - origin) * lane.has_look[:, None])


def _distributions(lanes: Sequence[Floats], runs: Sequence[_Run], shift: Floats) -> DayLooks:
    apart, held, sums = [], [], []
    for run in runs:
        slate = run.slate.mean(axis=0) - shift if len(run.slate) else 0.0 * shift
        so_far = np.cumsum(run.frames, axis=0)
        whole = so_far[-1]
        apart.append(distances(slate + so_far[:-1], whole - so_far[:-1]))
        apart[-1] = np.concatenate([apart[-1], distances(whole - run.frames, run.frames)])
        held.append(distances(slate, whole)[None])
        sums.append(whole)
    others = _to_the_next(runs, sums)
    return DayLooks(
        lanes=tuple(lanes),
        slate=shift,
        portraits=EmpiricalDistribution(_unspoilt(apart), _SAME),
        held=EmpiricalDistribution(_unspoilt(held), _SAME),
        others=EmpiricalDistribution(others, () if len(others) >= _FEWEST else _OTHER, lower=1),
    )


def _unspoilt(runs: Sequence[Floats]) -> Floats:
    """The distances of runs, but for the run with the largest: the run that is judged may be that one."""
    known = [run[~np.isnan(run)] for run in runs]
    inner = sorted((run for run in known if len(run)), key=lambda run: float(run.max()))
    return np.concatenate([np.zeros(0), *inner[:-1]])


def _to_the_next(runs: Sequence[_Run], sums: Sequence[Floats]) -> Floats:
    """Distances between people and those who come after them on the same camera."""
    pairs = [
        (one, other)
        for by in range(1, _NEXT + 1)
        for one, other in zip(range(len(runs)), range(by, len(runs)), strict=False)
        if runs[one].person != runs[other].person and runs[one].lane == runs[other].lane
    ]
    looks = np.array(sums)
    return distances(*(looks[list(side)] for side in zip(*pairs, strict=True))) if pairs else np.zeros(0)
