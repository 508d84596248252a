"""Likelihood ratios of a change of person in a lane, from the day's statistics.

Also finds where two parts of the day are interleaved: the clock was set back, and no counter shows what came
first. Frames of two people then lie seconds apart, again and again, as nobody at a set can change places.
Pauses and runs there are not real, and nothing is named.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from onsite.matching.colour_distance import NOBODY, ColourSignatures, ColourStatistics
from onsite.matching.cut_runs import seconds_between
from onsite.matching.day_statistics import STEPS, DayStatistics
from onsite.matching.evidence import CLOCK_SLACK, FrameEvidence

OFTEN = 0.05
"""Prior share of runs in which somebody else steps in, before a day has shown it. Our own guess."""

_FARTHEST = 30  # frames without a time to look past
_NO_TIMES = 0.002  # likelihood ratio where no time is known


@dataclass(frozen=True, slots=True)
class LaneLikelihoods:
    """A lane's frames, their colour signatures and the lane's statistics."""

    frames: Sequence[FrameEvidence]
    looks: ColourSignatures
    statistics: DayStatistics
    changes: Sequence[bool] = ()
    """Whether people may have changed places between each frame and the next."""
    mixed: frozenset[int] = frozenset()
    """Places where two parts of the day are interleaved."""
    change_prior: float = OFTEN
    """Share of runs in which the next person came without a slate."""
    substitution_prior: float = OFTEN
    """Share of runs in which somebody stood in for a light test."""
    backwards: bool = False
    """Frames are given from the last to the first, since a tail slate names that way."""
    again: frozenset[int] = frozenset()
    """People whose slates were photographed on several occasions."""
    first: frozenset[int] = frozenset()
    """The first frames of their folders, mostly of memory cards."""

    @classmethod
    def of(
        cls, frames: Sequence[FrameEvidence], looks: ColourSignatures, statistics: DayStatistics
    ) -> LaneLikelihoods:
        """The likelihoods of a lane: places of possible changes and interleaved parts computed, priors still
        general."""
        sense = cls(frames, looks, statistics)
        far = looks.steps > statistics.looks.step  # NaN, a missing signature, is never far
        changes = [bool(is_far) or sense._pause_allows(place) for place, is_far in enumerate(far)]
        begun: dict[str, int] = {}
        for place, frame in enumerate(frames):
            begun.setdefault(frame.source, place)
        mixed = interleaved_places(frames, looks, statistics.looks)
        return replace(sense, changes=changes, mixed=mixed, first=frozenset(begun.values()))

    def _pause_allows(self, place: int) -> bool:
        """Whether people may have changed between a frame and the next, by the pause alone."""
        first, other = self.frames[place], self.frames[place + 1]
        if not (first.seen and other.seen):
            return True
        if first.taken is not None and other.taken is not None:
            return not -CLOCK_SLACK <= other.taken - first.taken < self.statistics.quick
        pause = self.pause(place, place + 1)
        return pause is not None and pause >= self.statistics.quick

    def pause(self, a: int, b: int) -> float | None:
        """Seconds between two frames; where either has no time, between the nearest that have one. Infinite
        where the clock was set in between, so that the pause is unknown. None where there are no times."""
        first, last = (b, a) if self.backwards else (a, b)
        pause = seconds_between(self.frames, first, last)
        if pause is None:
            before = range(first, max(first - _FARTHEST, -1), -1)
            after = range(last, min(last + _FARTHEST, len(self.frames)))
            start, end = (
                next((i for i in side if self.frames[i].taken is not None), None) for side in (before, after)
            )
            if start is None or end is None:
                return None
            pause = seconds_between(self.frames, start, end)
        return math.inf if pause is None or pause < -CLOCK_SLACK else max(pause, 0.0)

    def missing(self, a: int, b: int) -> bool:
        """Whether frames may be missing between two neighbours: the counter skips some, or another memory
        card begins and there is no counter."""
        first, other = self.frames[a].counter, self.frames[b].counter
        if first is None or other is None:
            return max(a, b) in self.first
        return abs(other - first) > abs(b - a)

    def goes_on(self, place: int) -> bool:
        """Whether the frame taken right after this one is here, so that the run cannot go on in a missing
        frame."""
        following = place - 1 if self.backwards else place + 1
        return 0 <= following < len(self.frames) and not self.missing(place, following)

    def nobody(self, frames: Sequence[int]) -> bool:
        """Whether nobody is in any of these frames, as far as they have a look."""
        looked_at = False
        for place in frames:
            if self.looks.looked_at(place):
                if not self.looks.empty(place):
                    return False
                looked_at = True
        return looked_at

    def pieces(self, frames: Sequence[int]) -> Iterator[tuple[int, int]]:
        """Beginnings and ends, counted in `frames`, of the pieces within which nobody can have changed
        places."""
        start, changes = 0, self.changes
        for place, (a, b) in enumerate(pairwise(frames), 1):
            if abs(b - a) != 1 or changes[min(a, b)]:
                yield start, place
                start = place
        if frames:
            yield start, len(frames)

    def pause_likelihood_ratio(self, a: int, b: int, after_slate: bool = False) -> float:
        """How much likelier the pause between two frames is where people change than where they do not."""
        pause = self.pause(a, b)
        return _NO_TIMES if pause is None else self.statistics.pause_likelihood_ratio(pause, after_slate)

    def colour_likelihood_ratio(self, before: Sequence[int], piece: Sequence[int]) -> float:
        """The same for the colour distance between a piece and other portraits."""
        return self.statistics.looks.likelihood_ratio(self.looks.distance(before, piece))

    def slate_likelihood_ratio(self, slate: Sequence[int], piece: Sequence[int]) -> float:
        """The same for the colour distance between a piece and the slate frame. A deck card may hide who
        holds it."""
        if not self.looks.has_look(slate):
            return 1.0
        return self.statistics.looks.likelihood_ratio(self.looks.distance(slate, piece), from_slate=True)

    def others(self, before: Sequence[int], piece: Sequence[int]) -> bool:
        """Whether a change of person between two consecutive pieces is likelier than not."""
        lengths = self.statistics.lengths_likelihood_ratio(len(before), len(piece))
        pause = self.pause_likelihood_ratio(before[-1], piece[0])
        return OFTEN * pause * lengths * self.colour_likelihood_ratio(before, piece) > 1.0


_UNLIKE = 2.5  # times the median distance within one person
_FEWEST = 4  # such changes near each other: friends who step into a picture make one or two
_NEAR = 100  # frames
_BETWEEN = 200  # frames between two such groups that are interleaved, too
_AROUND = 40  # frames before and after, which may be interleaved without showing it


def interleaved_places(
    frames: Sequence[FrameEvidence], looks: ColourSignatures, statistics: ColourStatistics
) -> frozenset[int]:
    """The places of a lane at which two parts of the day are interleaved."""
    apart = max(statistics.others.quantile(0.25), _UNLIKE * statistics.single_frame.quantile(0.5))
    unlike = np.flatnonzero((apart < looks.steps) & (looks.steps < NOBODY)).tolist()
    impossible = [place for place in unlike if _is_impossible(frames[place], frames[place + 1])]
    surely = [place for group in _groups(impossible, _NEAR) if len(group) >= _FEWEST for place in group]
    return frozenset(
        place
        for group in _groups(surely, _BETWEEN)
        for place in range(max(group[0] - _AROUND, 0), min(group[-1] + _AROUND, len(frames)))
    )


def _is_impossible(first: FrameEvidence, other: FrameEvidence) -> bool:
    """Whether two people cannot have changed places between two frames that the counter does not show as
    consecutive."""
    if first.taken is None or other.taken is None or other.taken - first.taken >= STEPS:
        return False
    return first.counter is None or other.counter != first.counter + 1


def _groups(places: Sequence[int], near: int) -> list[list[int]]:
    groups: list[list[int]] = []
    for place in places:
        if groups and place - groups[-1][-1] <= near:
            groups[-1].append(place)
        else:
            groups.append([place])
    return groups
