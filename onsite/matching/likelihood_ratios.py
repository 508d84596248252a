"""Likelihood ratios of a change of person in a lane, from what the day shows.

Where a clock was set back, and no counter shows what came first, two parts of the day may be interleaved:
frames of two people lie seconds apart, again and again, as nobody at a set can change places. Pauses and runs
there are not real: nothing is learnt from them, and nothing is named.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from onsite.matching.cut_runs import Run, runs_of_one_person
from onsite.matching.day_statistics import SELDOM, DayStatistics, Floats, day_statistics
from onsite.matching.evidence import CLOCK_SLACK, STEPS, Evidence, FrameEvidence
from onsite.matching.looks import NOBODY, DayLooks, LaneLooks, distances, lane_looks, learn_looks
from onsite.matching.shooting_order import ShootingLane
from onsite.matching.slate_status import SlateObservation, SlateStatus, code_of

# Of people without a slate; what each buys is in `tests/bench/bench_ablation.py`.
_STRANGERS = 0.002
"""Share of runs in which somebody comes for a second time, or whom the door did not see. Our own guess."""
_OPEN = 8.0
"""Times that a run without a person's slate is likelier to hold one of those people than a run with a
slate."""

_IMPOSSIBLE = 4
"""Impossible changes near each other that show interleaved parts: friends who step into a picture make one or
two."""
_NEAR = 40
"""Frames from one to the next within which they are near; as many before and after them may be interleaved
without showing it."""

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
    """Places where two parts of the day are interleaved; and then, of slates that may be several people's."""
    forgotten: float
    """Prior probability that somebody without a slate came in a run."""

    @cached_property
    def times(self) -> tuple[Floats, Floats]:
        """Of each frame the time, or the nearest before it; and the nearest after it. NaN where there is
        none."""
        taken = np.array([frame.taken for frame in self.frames], np.float64)
        return _last_known(taken), _last_known(taken[::-1])[::-1]

    @cached_property
    def changes(self) -> NDArray[np.bool_]:
        """Whether between each frame and the next a change of person is likelier than not."""
        apart = distances(self.coordinates[:-1], self.coordinates[1:])
        apart[self.looks.empty[:-1] ^ self.looks.empty[1:]] = NOBODY
        places = np.arange(len(apart))
        odds = self.forgotten * self.pause_likelihood_ratio(places, places + 1)
        return np.asarray(odds * self.day.likelihood_ratio(apart) > 1.0)

    def pause(self, places: Places, others: Places) -> Floats:
        """Seconds between places, in either order; where a frame has no time, between the nearest that have
        one. Infinite where the clock was set in between, so that the pause is unknown. NaN where there are no
        times."""
        pause = self.times[1][np.maximum(places, others)] - self.times[0][np.minimum(places, others)]
        return np.where(pause < -CLOCK_SLACK, np.inf, np.maximum(pause, 0.0))

    def pause_likelihood_ratio(self, places: Places, others: Places, after_slate: bool = False) -> Floats:
        """How much likelier the pauses between frames are where people change than where they do not."""
        return self.statistics.pause_likelihood_ratio(self.pause(places, others), after_slate)

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

    def colour_likelihood_ratio(self, before: Sequence[int], piece: Sequence[int]) -> float:
        """How much likelier the distance between portraits of two groups is between two people."""
        first, other = (self.coordinates[list(places)].sum(axis=0) for places in (before, piece))
        return float(self.day.likelihood_ratio(distances(first, other)))


def lane_likelihoods(
    lanes: Sequence[ShootingLane],
    slates: Sequence[Mapping[int, SlateObservation]],
    cuts: Sequence[Sequence[Run]],
    evidence: Evidence,
) -> list[LaneLikelihoods]:
    """What the frames of each lane say of changes of people."""
    looks = lane_looks([lane.frames for lane in lanes])
    mixed = [
        interleaved_places(lane.frames, look, cut) for lane, look, cut in zip(lanes, looks, cuts, strict=True)
    ]
    runs = [
        [run for run in runs_of_one_person(cut) if places.isdisjoint(run.frames)]
        for cut, places in zip(cuts, mixed, strict=True)
    ]
    day = learn_looks(looks, runs)
    forgotten = share_without_slates(slates, evidence)
    return [
        LaneLikelihoods(
            lane.frames,
            looks[number],
            day,
            day.lanes[number],
            day_statistics(lane.frames, runs[number]),
            mixed[number] | _handed_on(lane, evidence) if mixed[number] else mixed[number],
            forgotten,
        )
        for number, lane in enumerate(lanes)
    ]


def _handed_on(lane: ShootingLane, evidence: Evidence) -> frozenset[int]:
    """The places of slates whose deck card was several people's: where two clocks are interleaved, neither
    says who held it."""
    reused = {code for code, holders in evidence.cards.items() if len(holders) > 1}
    codes = (code_of(frame, evidence.shoot) for frame in lane.frames)
    return frozenset(place for place, code in enumerate(codes) if code in reused)


def share_without_slates(slates: Sequence[Mapping[int, SlateObservation]], evidence: Evidence) -> float:
    """The prior probability that somebody without a slate came in a run that a slate opens: whoever arrived
    before the last one photographed and has no slate is in one of the runs. They are likelier in one that
    no person's slate opens. Where the door did not record who arrived, it tells less."""
    seen = [slate for lane in slates for slate in lane.values() if slate.status is not SlateStatus.CLOCK]
    people = [slate.person for slate in seen if slate.person is not None]
    photographed = {*people, *(decided.person for decided in evidence.overrides.values())}
    known = [evidence.arrived[person] for person in people if person in evidence.arrived]
    last, recorded = max(known, default=0.0), len(known) / (len(people) + 1)
    waiting = sum(at <= last and person not in photographed for person, at in evidence.arrived.items())
    runs = len(people) + _OPEN * (len(seen) - len(people))
    return _STRANGERS + SELDOM * (1 - recorded) + waiting / (runs + waiting + 1)


def _last_known(taken: NDArray[np.float64]) -> NDArray[np.float64]:
    """Each value, or where it is NaN the last one before it that is not."""
    known = np.where(np.isnan(taken), 0, np.arange(len(taken)))
    return np.asarray(taken[np.maximum.accumulate(known)])


def interleaved_places(
    frames: Sequence[FrameEvidence], looks: LaneLooks, cut: Sequence[Run]
) -> frozenset[int]:
    """The places of a lane at which two parts of the day are interleaved."""
    seen = looks.has_look & ~looks.empty
    at_once = [
        place
        for place, (frame, following) in enumerate(pairwise(frames))
        if _is_at_once(frame, following) and seen[place] and seen[place + 1]
    ]
    runs = [[place for place in run.frames if seen[place]] for run in cut]
    across = [(one[-1], other[0]) for one, other in pairwise(run for run in runs if run)]
    inside = [pair for run in runs for pair in pairwise(run)]
    if len(at_once) < _IMPOSSIBLE or not inside or not across:
        return frozenset()
    apart = max(np.quantile(_apart(looks, across), 0.25), 2 * np.median(_apart(looks, inside)))
    steps = _apart(looks, [(place, place + 1) for place in at_once])
    impossible = [place for place, step in zip(at_once, steps, strict=True) if step > apart]
    return frozenset(
        place
        for first, last in zip(impossible, impossible[_IMPOSSIBLE - 1 :], strict=False)
        if last - first <= _IMPOSSIBLE * _NEAR
        for place in range(max(first - _NEAR, 0), min(last + _NEAR, len(frames)))
    )


def _is_at_once(first: FrameEvidence, other: FrameEvidence) -> bool:
    """Whether two people cannot have changed places between two frames that the counter does not show as
    consecutive."""
    if first.taken is None or other.taken is None or other.taken - first.taken >= STEPS:
        return False
    return first.counter is None or other.counter != first.counter + 1


def _apart(looks: LaneLooks, pairs: Sequence[tuple[int, int]]) -> Floats:
    """How far apart the signatures of two frames are, (pairs,)."""
    one, other = np.array(pairs).T
    return distances(looks.signatures.roots(one), looks.signatures.roots(other))
