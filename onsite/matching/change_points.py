"""Change points in a run: from which frame on somebody else may be on it.

Three things may have happened between a slate and the next: nobody else came; somebody else came, with one of
the frames, and stayed; somebody stood in for a light test, and the person came back. Each way in which that
may have come about is weighed by its prior probability and by the likelihood ratios of the pauses, of the
numbers of frames and of the colour distance between the two people (Bayes' theorem). The posterior odds of
somebody else on a frame are those of all ways together that put somebody else there. A frame keeps the name
only where they are below `SURE`.

Where somebody else is likelier than nobody, the frames without theirs are weighed once more: more people may
have come. All runs of a lane are weighed at once, those of equal length together.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from onsite.matching.day_statistics import SELDOM, Floats
from onsite.matching.likelihood_ratios import LaneLikelihoods
from onsite.matching.looks import distances

SURE = 2.5e-3
"""Posterior odds of another person below which a name is kept: one in four hundred. Nearly all frames are far
below. What other odds cost in wrong names and loose frames stands in `tests/bench/bench_days.py`."""

_DEPENDENT = 2.5
"""Times that somebody else is likelier than the likelihood ratios say, as pauses, lengths and looks are not
independent: by `tests/bench/bench_certainty.py`."""

UNSEEN = 4e-4
"""Odds that are added for what no evidence shows: somebody dressed alike takes over within the usual pause
between two frames, or a card's record errs. About as often as that happened on simulated days
(`tests/bench/bench_certainty.py`)."""

MIXED_UP = "two parts of the day are mixed up here: the camera's clock was set back"
NOT_LOOKED_AT = "its picture could not be looked at"

# Prior probabilities: our own guesses; what each buys is in `tests/bench/bench_ablation.py`. How often slates
# are forgotten, the arrivals tell (`likelihood_ratios.share_without_slates`).
TEST = 3
"""Largest number of frames of a light test."""
_AT_ONCE = 0.1
"""Share of the people without a slate who come right after somebody else's slate: its person left."""


@dataclass(frozen=True, slots=True)
class RunSide:
    """A run as seen from the slate at one of its ends, in the order from that slate."""

    slate: Sequence[int]
    """Places of the slate's frames."""
    frames: Sequence[int]
    """Places of the run's frames."""


@dataclass(frozen=True, slots=True)
class RunSegment:
    """Frames of a run side between two change points: the slate person's where `doubt` is empty."""

    frames: tuple[int, ...]
    doubt: str = ""
    """Why the name is not kept, in words."""
    odds: float = math.inf
    """Posterior odds of another person, where they are highest."""

    @property
    def certainty(self) -> float:
        """Probability that the slate's person is on the frames, if the slate is held by its person."""
        return 1.0 / (1.0 + self.odds + UNSEEN)


def run_segments(lane: LaneLikelihoods, sides: Sequence[RunSide]) -> list[list[RunSegment]]:
    """Divide run sides at their change points, each in its own order."""
    searches = [_Search(lane, side) for side in sides]
    unsettled = [search for search in searches if search.open]
    while unsettled:
        by_length: defaultdict[int, list[_Search]] = defaultdict(list)
        for search in unsettled:
            by_length[len(search.open)].append(search)
        unsettled = [search for some in by_length.values() for search in _weigh_again(lane, some)]
    return [list(search.segments()) for search in searches]


class _Search:
    """A run side while it is searched for somebody else."""

    def __init__(self, lane: LaneLikelihoods, side: RunSide) -> None:
        self.lane, self.side = lane, side
        self.count = self._until_mixed_up()
        taken, frames = lane.times[0], side.frames
        self.copies = [at for at in range(1, self.count) if taken[frames[at]] == taken[frames[at - 1]]]
        left_out = set(self.copies)
        if not lane.looks.nobody(side.slate):
            left_out.update(at for at in range(self.count) if lane.looks.empty[frames[at]])
        self.open = [at for at in range(self.count) if at not in left_out]
        """Which of its frames may be the person's; of copies of an exposure, which have one moment, the
        first."""
        cut_off = self.count < len(frames) or (self.count and lane.looks.empty[frames[-1]])
        self.goes_on = bool(cut_off) or frames[-1] in (0, len(lane.frames) - 1)
        """Whether it may have had more frames."""
        self.odds = np.full(self.count, math.inf)
        self.odds[self.open] = 0.0
        self.looks = np.full(self.count, math.inf)
        """The likelihood ratios of the looks, if somebody came with each frame."""

    @property
    def places(self) -> list[int]:
        return [self.side.frames[at] for at in self.open]

    def _until_mixed_up(self) -> int:
        """The number of frames before the first that lies among frames of another time of the day."""
        side, mixed = self.side, self.lane.mixed
        if not mixed.isdisjoint(side.slate):
            return 0
        return next((count for count, place in enumerate(side.frames) if place in mixed), len(side.frames))

    def segments(self) -> Iterator[RunSegment]:
        """The parts with and without the name, those without it divided where people change."""
        for copy in self.copies:
            self.odds[copy] = self.odds[copy - 1]
        frames, kept = self.side.frames, self.odds < SURE
        begins = [
            at
            for at in range(self.count)
            if not at
            or kept[at] != kept[at - 1]
            or (not kept[at] and self.lane.changes[min(frames[at - 1 : at + 1])])
        ]
        for start, end in pairwise([*begins, self.count]):
            odds = float(self.odds[start:end].max())
            yield RunSegment(tuple(frames[start:end]), "" if kept[start] else self._reason(start), odds)
        if self.count < len(frames):
            yield RunSegment(tuple(frames[self.count :]), MIXED_UP)

    def _reason(self, start: int) -> str:
        first = self.side.frames[start]
        if not self.lane.frames[first].seen:
            return NOT_LOOKED_AT
        before = self.side.frames[start - 1] if start else self.side.slate[-1]
        pause = _pause_text(float(self.lane.pause(np.array(before), np.array(first))))
        if self.looks[start] > 1.0:
            return f"other clothes or hair, {pause}"
        return f"{pause}, and clothes and hair do not settle who came after"


def _stands_in(length: int) -> range:
    """For how many frames somebody may have stood in on a run of so many."""
    return range(1, min(TEST, length - 1) + 1)


def _ways(length: int) -> NDArray[np.intp]:
    """The ways in which somebody else may be on a run of so many frames, (ways, 2), each from a frame on and
    up to another: they stayed to the end, or they stood in for up to `TEST` frames."""
    stays = [(start, length) for start in range(length)]
    stands_in = [(start, start + n) for n in _stands_in(length) for start in range(length - n + 1)]
    return np.array(stays + stands_in)


def _on_each_frame(weights: Floats, length: int) -> Floats:
    """The weights, (runs, ways), of all ways in which somebody else is on a frame, (runs, frames)."""
    each, way = np.cumsum(weights[:, :length], axis=1), length
    for n in _stands_in(length):
        starts = length - n + 1
        for by in range(n):
            each[:, by : by + starts] += weights[:, way : way + starts]
        way += starts
    return each


def _weigh_again(lane: LaneLikelihoods, searches: Sequence[_Search]) -> Iterator[_Search]:
    """Weigh runs of equal length. Those in which somebody else is likelier than nobody are left without
    theirs, and are to be weighed again."""
    length = len(searches[0].open)
    ways = _ways(length)
    places = np.array([search.places for search in searches])
    slates = np.array([lane.slate_look(search.side.slate) for search in searches])
    so_far = np.cumsum(np.pad(lane.coordinates[places], ((0, 0), (1, 0), (0, 0))), axis=1, dtype=np.float32)
    looks = _look_likelihoods(lane, slates, so_far)
    weights = looks * _priors(lane, searches, places, ways)
    likeliest = weights.argmax(axis=1)
    found = weights.max(axis=1) > 1.0  # the weight of nobody else
    for run in np.flatnonzero(found & (likeliest < length)).tolist():
        weights[run, : likeliest[run]] /= _unlike_before(lane, so_far[run], likeliest[run])
    each = _on_each_frame(weights, length)
    odds = _DEPENDENT * each / np.maximum(1.0 + weights.sum(axis=1)[:, None] - each, 1.0)
    for run, search in enumerate(searches):
        first, last = ways[likeliest[run]].tolist()
        odds[run, first:last] = odds[run, first:last].max()  # whoever came is on all frames of the way
        search.odds[search.open] = np.maximum(search.odds[search.open], odds[run])
        search.looks[search.open] = looks[run, :length]
        if found[run]:
            search.open = search.open[:first] + search.open[last:]
            search.goes_on = search.goes_on and last < length
            if search.open:
                yield search


def _priors(
    lane: LaneLikelihoods, searches: Sequence[_Search], places: NDArray[np.intp], ways: NDArray[np.intp]
) -> Floats:
    """The odds of each way in which somebody else may have come, against nobody else, without the looks,
    (runs, ways)."""
    length = places.shape[1]
    slates = np.array([[search.side.slate[-1]] for search in searches])
    before = np.hstack([slates, places[:, :-1]])
    pauses = lane.pause_likelihood_ratio(before, places)
    pauses[:, 0] = lane.pause_likelihood_ratio(before[:, 0], places[:, 0], True)
    goes_on = np.array([[search.goes_on] for search in searches])
    so_many = np.arange(1, length)[None]
    stays = pauses * lane.forgotten
    stays[:, 0] *= _AT_ONCE
    stays[:, 1:] *= lane.statistics.lengths_likelihood_ratio(so_many, length - so_many, goes_on)
    starts, ends = ways[length:].T
    # at the end there is no pause to come back in: that is as likely as anywhere else together
    back = np.hstack([pauses, np.full((len(places), 1), length)])[:, ends]
    stands_in = SELDOM / (TEST * length) * pauses[:, starts] * back
    return np.hstack([stays, stands_in])


def _look_likelihoods(lane: LaneLikelihoods, slates: Floats, so_far: Floats) -> Floats:
    """The likelihood ratios of the looks for each way, (runs, ways), from the looks of the slates, (runs,
    directions), and the sums of the looks of the frames before each and of all, (runs, frames + 1,
    directions)."""
    whole = (slates + so_far[:, -1])[:, None]
    theirs = [so_far[:, -1:] - so_far[:, :-1]]
    theirs += [so_far[:, n:] - so_far[:, :-n] for n in _stands_in(so_far.shape[1] - 1)]
    looks = lane.day.likelihood_ratio(np.hstack([distances(whole - some, some) for some in theirs]))
    looks[:, 0] = lane.day.likelihood_ratio(distances(slates, so_far[:, -1]), from_slate=True)
    return looks


def _unlike_before(lane: LaneLikelihoods, so_far: Floats, first: int) -> Floats:
    """How much less likely it is that somebody who is there from frame `first` on came with each of the
    frames before it: they would look the same then and later."""
    before, later = so_far[first] - so_far[:first], so_far[-1:] - so_far[first]
    return np.maximum(lane.day.likelihood_ratio(distances(before, later)), 1.0)


def _pause_text(pause: float) -> str:
    if math.isnan(pause):
        return "no times to tell a pause"
    return "the clock was set in between" if math.isinf(pause) else f"a pause of {pause:.0f} s"
