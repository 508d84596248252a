"""Change points in a run: from which frame on somebody else may be on it.

A run is taken in pieces within which nobody can have changed places. For each piece the posterior odds of
another person are computed: prior odds, times the likelihood ratios of the pause before the piece, of the
numbers of frames before and after it, and of its colour distance to the person's known frames. A piece keeps
the name only where the odds are below `SURE`. Pieces after a change point may be the person's again: they
came back after a light test.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from onsite.matching.cut_runs import exposures
from onsite.matching.likelihood_ratios import LaneLikelihoods
from onsite.matching.slate_status import SlateStatus

SURE = 3e-3
"""Posterior odds of another person below which a name is kept. Nearly all pieces are far below; the priors
err towards loose frames. How often names are wrong is measured on simulated days."""

UNSEEN = 4e-4
"""Odds that are added for what no evidence shows: somebody dressed alike takes over within the usual pause
between two frames, or a card's record errs. About as often as that happened on simulated days
(`tests/bench/bench_certainty.py`)."""

MIXED_UP = "two parts of the day are mixed up here: the camera's clock was set back"
NOT_LOOKED_AT = "its picture could not be looked at"
SHOWN_MEANWHILE = "another person's slate was shown meanwhile"

# Prior odds of another person on a piece: our own guesses, chosen to err towards loose frames. What each buys
# is in `tests/bench/bench_ablation.py`. The next person's slate is forgotten as often as the day shows.
_SOMEBODY_ELSE = 0.6
"""Somebody else stands in for a light test, or right after the slate its person left and the next person
forgot theirs: times how often the day shows such tests and such slates. Without the first, 45 to 65 more
names in 100,000 were wrong."""
_LEFT_AND_BACK = 0.3
"""The same, where the person's slate was photographed again at another time: without it, 7 of 373,681 names
were wrong."""
NEXT_SLATE = 20.0
"""A slate that does not read is the next person's, not a badge: twenty to one. Right after the person's own
slate, where that was photographed only once, the other way round: without that, 0.1 to 0.2 more frames of 100
are loose, and 0.6 where badges are worn that do not read."""
_STAYS = 6.0
"""Somebody else was there just before, and has stayed: without it, 65 to 301 more names in 100,000 were
wrong."""
TEST = 3
"""Largest number of frames of a light test."""

_LARGEST_RATIO = 50.0
"""Likelihood ratio with which a look unlike the one before, or a change elsewhere, counts at most. Our own
guess: looks are no certain sign."""
_LOOKED_AHEAD = 24
"""Frames in which a plainer change is looked for: longer than nearly every run, and it bounds the time."""


@dataclass(frozen=True, slots=True)
class RunSide:
    """A run as seen from the slate at one of its ends, in the order from that slate."""

    slate: Sequence[int]
    """Places of the slate's frames."""
    frames: Sequence[int]
    """Places of the run's frames."""
    unread: Sequence[int] = ()
    """Places right after the slate of one that does not read."""
    person: int | None = None
    """The person of a head slate."""
    divided: bool = False
    """Whether another person's slate closes the run: somebody did step in."""


@dataclass(frozen=True, slots=True)
class RunSegment:
    """Frames of a run side between two change points: the slate person's where `doubt` is empty."""

    frames: tuple[int, ...]
    doubt: str = ""
    """Why the name is not kept, in words."""
    came: float = math.inf
    """Odds of another person before the colours are weighed."""
    odds: float = math.inf
    """Posterior odds of another person, at the weakest step."""

    @property
    def certainty(self) -> float:
        """Probability that the slate's person is on the frames, if the slate is held by its person."""
        return 1.0 / (1.0 + self.odds + UNSEEN)


def run_segments(lane: LaneLikelihoods, side: RunSide) -> list[RunSegment]:
    """Divide a run side at its change points, in its own order."""
    weighing = _SegmentSearch(lane, side)
    until = _mixed_up_from(lane, side)
    for start, end in lane.pieces(side.frames[:until]):
        weighing.weigh(start, end)
    if until < len(side.frames):
        weighing.parts.append(RunSegment(tuple(side.frames[until:]), MIXED_UP))
    return _joined(lane, weighing.parts)


def segment_groups(lane: LaneLikelihoods, frames: Sequence[int]) -> list[RunSegment]:
    """Divide frames that no slate names where a change of person is likelier than not."""
    pieces = lane.pieces(frames)
    return _joined(lane, [RunSegment(tuple(frames[start:end]), "no slate") for start, end in pieces])


def _mixed_up_from(lane: LaneLikelihoods, side: RunSide) -> int:
    """The number of frames before the first that lies among frames of another time of the day."""
    if not lane.mixed.isdisjoint(side.slate):
        return 0
    return next((count for count, place in enumerate(side.frames) if place in lane.mixed), len(side.frames))


def _joined(lane: LaneLikelihoods, parts: Sequence[RunSegment]) -> list[RunSegment]:
    """Join neighbouring segments that are one person's as far as is known."""
    joined: list[RunSegment] = []
    for part in parts:
        last = joined[-1] if joined else None
        if last is not None and _go_together(lane, last, part):
            joined[-1] = replace(last, frames=last.frames + part.frames, odds=max(last.odds, part.odds))
        else:
            joined.append(part)
    return joined


def _go_together(lane: LaneLikelihoods, last: RunSegment, part: RunSegment) -> bool:
    if not last.doubt or not part.doubt:
        return last.doubt == part.doubt
    return not lane.others(last.frames, part.frames)


class _SegmentSearch:
    """A run side while its pieces are weighed one after the other."""

    def __init__(self, lane: LaneLikelihoods, side: RunSide) -> None:
        self.parts: list[RunSegment] = []
        self._lane = lane
        self._side = side
        self._known: list[int] = []

    def weigh(self, start: int, end: int) -> None:
        """Weigh the next piece: keep the name, or begin a segment without it."""
        piece = tuple(self._side.frames[start:end])
        last = self.parts[-1] if self.parts and self.parts[-1].doubt else None
        part = self._with_last(last, piece, start, end) if last is not None else None
        if part is not None:
            self.parts.pop()
        else:
            look, came = self._look(piece), self._came(start, end, last)
            part = RunSegment(piece, "", came, came * look)
            if part.odds >= SURE:
                part = replace(part, doubt=self._reason(start, look, last))
        if part.odds < SURE:
            part = RunSegment(part.frames, odds=part.odds)
            self._known += part.frames
        self.parts.append(part)

    def _with_last(self, last: RunSegment, piece: tuple[int, ...], start: int, end: int) -> RunSegment | None:
        """Weigh the piece together with the unnamed segment before it.

        None where the two look different, or where only the new piece may be the person's: somebody stood in
        for a moment.
        """
        lane, both = self._lane, last.frames + piece
        seen = lane.looks.looked_at(last.frames)
        if seen and lane.colour_likelihood_ratio(last.frames, piece) >= 1.0:
            return None
        # the change came before the last segment, or only now
        came = last.came + self._came(start, end, None, last.frames)
        part = replace(last, frames=both, came=came, odds=came * self._look(both))
        theirs = last.came * lane.colour_likelihood_ratio([*self._known, *piece], last.frames) < SURE
        return None if part.odds < SURE and seen and not theirs else part

    def _look(self, piece: Sequence[int]) -> float:
        if self._lane.looks.looked_at(self._known):
            return self._lane.colour_likelihood_ratio(self._known, piece)
        return self._lane.slate_likelihood_ratio(self._side.slate, piece)

    def _came(self, start: int, end: int, last: RunSegment | None, run_frames: Sequence[int] = ()) -> float:
        """Odds of another person before the colours are weighed, given that `run_frames` are the person's."""
        lane, piece = self._lane, self._side.frames[start:end]
        seen = self._known if lane.looks.looked_at(self._known) else self._side.slate
        if lane.looks.nobody(piece) and not lane.looks.nobody(seen):
            return math.inf  # a picture of the backdrop, whoever was there before
        if self._is_called(piece[0]):
            return math.inf  # of somebody who is called, no slate was read
        if not start:
            return self._came_at_once(piece[0])
        pause = lane.pause_likelihood_ratio(self._before(start), piece[0])
        often = lane.change_prior
        if self._side.divided and last is None:  # here, or where a change is plainer
            often += 1.0 / _limited(self._later(start))
        forgot = often * self._lengths(start, run_frames) * pause
        if last is not None:
            apart = lane.colour_likelihood_ratio(last.frames, piece)
            return _STAYS / _limited(apart) + forgot
        stands_in = exposures(lane.frames, piece) <= TEST
        return forgot + _SOMEBODY_ELSE * lane.substitution_prior * pause * stands_in

    def _came_at_once(self, first: int) -> float:
        """The same right after the slate."""
        lane, slate, unread = self._lane, self._side.slate[-1], self._side.unread
        again = self._side.person in lane.again
        if unread:  # a badge, or the right slate after a wrong one?
            held = lane.pause_likelihood_ratio(slate, unread[0], after_slate=True)
            return math.inf if again else max(held, 1.0) / NEXT_SLATE
        left = _LEFT_AND_BACK if again else _SOMEBODY_ELSE * lane.change_prior
        return left * lane.pause_likelihood_ratio(slate, first, after_slate=True)

    def _later(self, start: int) -> float:
        """The largest likelihood ratio of a change of person at a later place of the run side."""
        lane, near = self._lane, self._side.frames[start : start + _LOOKED_AHEAD]
        return max(
            (
                lane.pause_likelihood_ratio(near[at - 1], near[at])
                * lane.colour_likelihood_ratio(near[:at], near[at:])
                for at, _ in lane.pieces(near)
                if at
            ),
            default=1.0,
        )

    def _is_called(self, place: int) -> bool:
        """Whether the slate of somebody else was shown between a run's head slate and a frame, and not
        photographed."""
        by_then, soon = self._lane.calls
        slate = self._side.slate[-1]
        return bool(soon) and slate < place and soon[place] > by_then[slate]

    def _before(self, start: int) -> int:
        return self._side.frames[start - 1] if start else self._side.slate[-1]

    def _lengths(self, start: int, run_frames: Sequence[int] = ()) -> float:
        """The likelihood ratio of the numbers of frames before a place and after it, up to the next slate."""
        lane, frames = self._lane, self._side.frames
        known = exposures(lane.frames, [*self._known, *run_frames])
        goes_on = frames[-1] in (0, len(lane.frames) - 1)  # more may follow
        after = None if goes_on else exposures(lane.frames, frames[start:])
        return lane.statistics.lengths_likelihood_ratio(known, after)

    def _reason(self, start: int, look: float, last: RunSegment | None) -> str:
        first = self._side.frames[start]
        if not start and self._side.unread:
            return f"before it: {SlateStatus.UNREAD}"
        if not self._lane.frames[first].seen:
            return NOT_LOOKED_AT
        if self._is_called(first):
            return SHOWN_MEANWHILE
        if last is not None and look <= 1.0:
            return last.doubt
        pause = _pause_text(self._lane.pause(self._before(start), first))
        if look > 1.0:
            return f"other clothes or hair, {pause}"
        return f"{pause}, and clothes and hair do not settle who came after"


def _limited(likelihood_ratio: float) -> float:
    """A likelihood ratio of one thing, as the odds of its alternative are divided by it."""
    return min(max(likelihood_ratio, 1.0), _LARGEST_RATIO)


def _pause_text(pause: float | None) -> str:
    if pause is None:
        return "no times to tell a pause"
    return "the clock was set in between" if math.isinf(pause) else f"a pause of {pause:.0f} s"
