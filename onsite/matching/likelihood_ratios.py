"""Likelihood ratios of a change of person in a lane, from what the day shows."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from onsite.matching.clock_offset import SHOWN_BEFORE
from onsite.matching.cut_runs import Run, runs_of_one_person
from onsite.matching.day_looks import DayLooks, learn_looks
from onsite.matching.day_statistics import DayStatistics, Floats, day_statistics
from onsite.matching.evidence import CLOCK_SLACK, Evidence, FrameEvidence
from onsite.matching.forgotten_slates import forgotten_slates
from onsite.matching.looks import (
    NOBODY,
    LaneLooks,
    distances,
    flash_misfires,
    interleaved_places,
    lane_looks,
)
from onsite.matching.shooting_order import ShootingLane
from onsite.matching.slate_status import SlateObservation

OFTEN = 0.05
"""Prior share of runs without a slate in which another person follows. Our own guess."""

Places = NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class LaneLikelihoods:
    """A lane's frames, their looks and the lane's statistics."""

    frames: Sequence[FrameEvidence]
    looks: LaneLooks
    day: DayLooks
    coordinates: Floats
    """The frames' looks, (frames, directions)."""
    statistics: DayStatistics
    mixed: frozenset[int]
    """Places where two parts of the day are interleaved."""
    calls: tuple[Sequence[int], Sequence[int]]
    """How many slates of people of whom none was read were shown at the lane's stations by each frame; and
    how many were shown by then or within moments. Both empty where there are none."""
    occasions: Mapping[int, tuple[int, int]]
    """For the first place of each upright slate of a person: on which occasion it was photographed, counted
    from 1, and on how many."""
    forgotten: Floats
    """Prior probability that somebody without a slate came in the run of each frame."""

    @cached_property
    def times(self) -> tuple[Floats, Floats]:
        """Of each frame the time, or the nearest before it; and the nearest after it. NaN where there is
        none."""
        taken = np.array([frame.taken for frame in self.frames], np.float64)
        return _last_known(taken), _last_known(taken[::-1])[::-1]

    @cached_property
    def changes(self) -> NDArray[np.bool_]:
        """Whether people may have changed places between each frame and the next."""
        pauses = self.times[1][1:] - self.times[0][:-1]
        seen = np.array([frame.seen for frame in self.frames])
        steps = distances(self.coordinates[:-1], self.coordinates[1:])
        steps[self.looks.empty[:-1] ^ self.looks.empty[1:]] = NOBODY
        called = np.diff(self.calls[1]) != 0 if self.calls[1] else False
        unlike = steps > self.day.step  # NaN, a missing signature or time, is never far
        long = (pauses < -CLOCK_SLACK) | (pauses >= self.statistics.quick)
        return np.asarray(long | unlike | called | ~seen[1:] | ~seen[:-1])

    def pause(self, places: Places, others: Places) -> Floats:
        """Seconds between places, in either order; where a frame has no time, between the nearest that have
        one. Infinite where the clock was set in between, so that the pause is unknown. NaN where there are no
        times."""
        pause = self.times[1][np.maximum(places, others)] - self.times[0][np.minimum(places, others)]
        return np.where(pause < -CLOCK_SLACK, np.inf, np.maximum(pause, 0.0))

    def pause_likelihood_ratio(self, places: Places, others: Places, after_slate: bool = False) -> Floats:
        """How much likelier the pauses between frames are where people change than where they do not."""
        return self.statistics.pause_likelihood_ratio(self.pause(places, others), after_slate)

    def may_change(self, places: Places, others: Places) -> NDArray[np.bool_]:
        """Whether people may have changed places between these frames."""
        first = np.minimum(places, others)
        return (np.maximum(places, others) > first + 1) | self.changes[
            np.minimum(first, len(self.changes) - 1)
        ]

    def pieces(self, frames: Sequence[int]) -> Iterator[tuple[int, int]]:
        """Beginnings and ends, counted in `frames`, of the pieces within which nobody can have changed
        places."""
        if not frames:
            return iter(())
        places = np.array(frames)
        cuts = np.flatnonzero(self.may_change(places[:-1], places[1:])) + 1 if len(frames) > 1 else places[:0]
        return pairwise((0, *cuts.tolist(), len(frames)))

    def slate_look(self, slate: Sequence[int]) -> Floats:
        """The look of a slate's person as it would be without the slate, (directions,); zeros where there is
        none."""
        seen = [place for place in slate if self.looks.has_look[place]]
        if not seen:
            return np.zeros(self.coordinates.shape[1])
        return np.asarray(self.coordinates[seen].mean(axis=0) - self.day.slate)

    def from_slate(self, slate: Sequence[int], piece: Sequence[int]) -> float:
        """How much likelier the looks of a slate's frames and of others are those of two people than of
        one."""
        apart = distances(self.slate_look(slate), self.coordinates[list(piece)].sum(axis=0))
        return float(self.day.likelihood_ratio(apart, from_slate=True))

    def distance(self, before: Sequence[int], piece: Sequence[int]) -> float:
        """Between the looks of two groups of frames; NaN where either has none, `NOBODY` between a person and
        an empty backdrop."""
        first, other = (self.coordinates[list(places)].sum(axis=0) for places in (before, piece))
        if self.looks.nobody(before) != self.looks.nobody(piece) and self.looks.looked_at(before):
            return NOBODY if self.looks.looked_at(piece) else np.nan
        return float(distances(first, other))

    def colour_likelihood_ratio(self, before: Sequence[int], piece: Sequence[int]) -> float:
        """How much likelier the distance between portraits of two groups is between two people."""
        return float(self.day.likelihood_ratio(np.array(self.distance(before, piece))))

    def others(self, before: Sequence[int], piece: Sequence[int]) -> bool:
        """Whether a change of person between two consecutive pieces is likelier than not."""
        one, other = np.array(len(before)), np.array(len(piece))
        odds = self.statistics.lengths_likelihood_ratio(one, other, np.array(False))
        pause = self.pause(np.array(before[-1]), np.array(piece[0]))
        odds = OFTEN * odds * self.statistics.pause_likelihood_ratio(pause)
        return bool(odds * self.colour_likelihood_ratio(before, piece) > 1.0)


def lane_likelihoods(
    lanes: Sequence[ShootingLane],
    slates: Sequence[Mapping[int, SlateObservation]],
    cuts: Sequence[Sequence[Run]],
    shown: Mapping[int, Sequence[tuple[float, int]]],
    evidence: Evidence,
) -> list[LaneLikelihoods]:
    """What the frames of each lane say of changes of people. `shown` are the slates shown at its stations:
    when, and whose."""
    misfires = [flash_misfires(lane.frames, cut) for lane, cut in zip(lanes, cuts, strict=True)]
    looks = lane_looks([lane.frames for lane in lanes], misfires)
    mixed = [
        interleaved_places(lane.frames, look, cut) for lane, look, cut in zip(lanes, looks, cuts, strict=True)
    ]
    runs = [
        [run for run in runs_of_one_person(cut) if places.isdisjoint(run.frames)]
        for cut, places in zip(cuts, mixed, strict=True)
    ]
    day = learn_looks(looks, runs)
    forgotten, occasions = forgotten_slates(lanes, slates, evidence), _occasions(lanes, slates)
    seen = {slate.person for lane in slates for slate in lane.values() if slate.person is not None}
    return [
        LaneLikelihoods(
            lane.frames,
            looks[number],
            day,
            day.lanes[number],
            day_statistics(lane.frames, runs[number]),
            mixed[number],
            _calls(lane, shown[number], seen),
            occasions[number],
            forgotten[number],
        )
        for number, lane in enumerate(lanes)
    ]


def _occasions(
    lanes: Sequence[ShootingLane], slates: Sequence[Mapping[int, SlateObservation]]
) -> list[dict[int, tuple[int, int]]]:
    """For the first place of each upright slate of a person: on which occasion it was photographed, counted
    from 1, and on how many."""
    found: defaultdict[int, list[tuple[float, int, int]]] = defaultdict(list)
    for number, lane in enumerate(lanes):
        for place, slate in slates[number].items():
            before = slates[number].get(place - 1)
            at_once = before is not None and before.person == slate.person
            if slate.person is not None and not slate.upside_down and not at_once:
                at = lane.true_time(place)
                found[slate.person].append((-math.inf if at is None else at, number, place))
    occasions: list[dict[int, tuple[int, int]]] = [{} for _ in lanes]
    for times in found.values():
        for which, (_, number, place) in enumerate(sorted(times), 1):
            occasions[number][place] = which, len(times)
    return occasions


def _calls(
    lane: ShootingLane, shown: Sequence[tuple[float, int]], seen: Container[int]
) -> tuple[list[int], list[int]]:
    """How many slates of people of whom none was photographed had been shown by each frame; and how many
    were within moments."""
    times = [at for at, person in shown if person not in seen]
    if not times:
        return [], []
    taken = np.array([frame.taken for frame in lane.frames], np.float64)
    for piece, clock in zip(lane.pieces, lane.clocks, strict=True):
        taken[piece.start : piece.stop] += clock.offset
    by_then, soon = (
        np.searchsorted(times, np.nan_to_num(taken, nan=-math.inf) + later, side="right")
        for later in (0.0, SHOWN_BEFORE)
    )
    return by_then.tolist(), soon.tolist()


def _last_known(taken: NDArray[np.float64]) -> NDArray[np.float64]:
    """Each value, or where it is NaN the last one before it that is not."""
    known = np.where(np.isnan(taken), 0, np.arange(len(taken)))
    return np.asarray(taken[np.maximum.accumulate(known)])
