"""Change points in a run: from which frame on somebody else may be on it.

A run is taken in pieces within which nobody can have changed places. For each piece the posterior odds of
another person are computed: prior odds, times the likelihood ratios of the pause before the piece, of the
numbers of frames before and after it, and of its colour distance to the person's known frames. A piece keeps
the name only where the odds are below `SURE`. Pieces after a change point may be the person's again: they
came back after a light test, or only a badge was in their picture.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from onsite.matching.cut_runs import SlateBound, exposures
from onsite.matching.evidence import SlateShown
from onsite.matching.likelihood_ratios import LaneLikelihoods
from onsite.matching.slate_status import SlateStatus

SURE = 3e-3
"""Posterior odds of another person below which a name is kept. Nearly all pieces are far below; the priors
err towards loose frames. How often names are wrong is measured on simulated days."""

UNSEEN = 1e-4
"""Odds that are added for what no evidence shows: somebody dressed alike takes over within the usual pause
between two frames. About as often as that happened on simulated days (`tests/bench/bench_certainty.py`)."""

SHOWN_EARLY_SECONDS = 20.0
"""Seconds by which a person may be on set before their slate is shown. Our own choice."""

MIXED_UP = "two parts of the day are mixed up here: the camera's clock was set back"
NOT_LOOKED_AT = "its picture could not be looked at"
NOBODY_SEEN = "nobody is to be seen in the frame"

# Prior odds of another person on a piece. Our own guesses, chosen to err towards loose frames and checked on
# simulated days. The first three are multiplied by how often it happens on the day.
_FORGOT = 1.0  # the next person's slate was forgotten
_SUBSTITUTION_PRIOR = 0.6  # somebody else stands in for a light test of at most `TEST` frames
_LEFT = 0.6  # the slate's person left again, and the next person forgot their slate
_LEFT_AND_BACK = 0.3  # the same, where the person's slate was photographed again at another time
_DELETED = 0.2  # the counter skips frames: one of them may have been a slate
_UNSEEN = 0.15  # the frame could not be analysed, and may be a slate
_SLATE = 20.0  # an unreadable slate: mostly the next person's
_AT_ONCE = 0.05  # the same right after the person's own slate, where that was photographed only once
_STAYS = 6.0  # somebody else was there just before, and has stayed
_DIVIDED = 1.0  # another person's tail slate follows, so somebody did step in
TEST = 3
"""Largest number of frames of a light test."""

_LARGEST_RATIO = 50.0  # largest likelihood ratio that a colour distance, or a change elsewhere, counts with
_SHOWN_LATE_SECONDS = 120.0  # seconds after the slate is shown by which its person is on set
_CLEAR_RATIO = 2.0  # likelihood ratio above which the look is said to have changed
_MUTE = 0.2  # likelihood ratio below which the look is said to tell nothing


@dataclass(frozen=True, slots=True)
class RunSide:
    """A run as seen from the slate at one of its ends, in the order from that slate."""

    slate: Sequence[int]
    """Places of the slate's frames."""
    frames: Sequence[int]
    """Places of the run's frames."""
    between: Mapping[int, SlateBound]
    """Slates inside the run whose person is not known, by the number of frames before them."""
    showings: Sequence[tuple[float, SlateShown]] = ()
    """Other people's slates shown at this lane's stations meanwhile, in time of its camera."""
    divided: bool = False
    """Whether another person's slate closes the run."""
    person: int | None = None
    """The person of a head slate."""


@dataclass(frozen=True, slots=True)
class RunSegment:
    """Frames of a run side between two change points: the slate person's where `doubt` is empty."""

    frames: tuple[int, ...]
    doubt: str = ""
    """Why the name is not kept, in words."""
    hint: int | None = None
    """The person whom the change point points to."""
    mark: SlateBound | None = None
    """The slate right before the frames."""
    came: float = math.inf
    """Odds of another person before the colours are weighed."""
    odds: float = math.inf
    """Posterior odds of another person, at the weakest step."""

    @property
    def certainty(self) -> float:
        """Probability that the slate's person is on the frames, if the slate is held by its person."""
        return 1.0 / (1.0 + self.odds + UNSEEN)


def run_segments(lane: LaneLikelihoods, reach: RunSide) -> list[RunSegment]:
    """Divide a run side at its change points, in its own order."""
    weighing = _SegmentSearch(lane, reach)
    barred = _barred(lane, reach)
    until = len(reach.frames) if barred is None else barred[0]
    for start, end in lane.pieces(reach.frames[:until]):
        weighing.weigh(start, end)
    if barred is not None:
        weighing.parts.append(barred[1])
    return _joined(lane, weighing.parts)


def segment_groups(
    lane: LaneLikelihoods, frames: Sequence[int], between: Mapping[int, SlateBound]
) -> list[RunSegment]:
    """Divide frames that no slate names where a change of person is likelier than not."""
    pieces = lane.pieces(frames)
    parts = [
        RunSegment(tuple(frames[start:end]), "no slate", mark=between.get(start)) for start, end in pieces
    ]
    return _joined(lane, parts)


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
    return part.mark is None and part.hint is None and not lane.others(last.frames, part.frames)


class _SegmentSearch:
    """A run side while its pieces are weighed one after the other."""

    def __init__(self, lane: LaneLikelihoods, reach: RunSide) -> None:
        self.parts: list[RunSegment] = []
        self._lane = lane
        self._reach = reach
        self._known: list[int] = []
        self._marks = sorted(reach.between)

    def weigh(self, start: int, end: int) -> None:
        """Weigh the next piece: keep the name, or begin a segment without it."""
        piece, mark = tuple(self._reach.frames[start:end]), self._reach.between.get(start)
        last = self.parts[-1] if self.parts and self.parts[-1].doubt else None
        part = self._with_last(last, piece, start, end) if last is not None and mark is None else None
        if part is not None:
            self.parts.pop()
        else:
            look, came = self._look(piece), self._came(start, end, mark, last)
            part = RunSegment(piece, "", None, mark, came, came * look)
            if part.odds >= SURE:
                part = replace(part, doubt=self._reason(start, look, mark, last))
        if part.odds < SURE:
            part = RunSegment(part.frames, odds=part.odds)
            self._known += part.frames
        self.parts.append(part)

    def _with_last(self, last: RunSegment, piece: tuple[int, ...], start: int, end: int) -> RunSegment | None:
        """Weigh the piece together with the unnamed segment before it.

        None where the two look different, or where only the new piece may be the person's: somebody stood in
        for a moment.
        """
        seen = any(self._lane.looks.looked_at(place) for place in last.frames)
        if seen and self._lane.colour_likelihood_ratio(last.frames, piece) >= 1.0:
            return None
        # the change came before the last segment, or only now
        came = last.came + self._came(start, end, None, None, last.frames)
        part = replace(
            last, frames=last.frames + piece, came=came, odds=came * self._look(last.frames + piece)
        )
        odds = last.came * self._lane.colour_likelihood_ratio([*self._known, *piece], last.frames) < SURE
        if part.odds < SURE and seen and not odds:
            return None
        return part

    def _look(self, piece: Sequence[int]) -> float:
        if any(self._lane.looks.looked_at(place) for place in self._known):
            return self._lane.colour_likelihood_ratio(self._known, piece)
        return self._lane.slate_likelihood_ratio(self._reach.slate, piece)

    def _came(
        self,
        start: int,
        end: int,
        mark: SlateBound | None,
        last: RunSegment | None,
        run_frames: Sequence[int] = (),
    ) -> float:
        """Odds of another person before the colours are weighed, given that `run_frames` are the person's."""
        lane, piece = self._lane, self._reach.frames[start:end]
        if lane.nobody(piece) and not lane.nobody(self._known or self._reach.slate):
            return math.inf  # a picture of the backdrop, whoever was there before
        if mark is not None:
            return self._after_mark(start, mark, last)
        speaks = lane.pause_likelihood_ratio(self._before(start), piece[0], after_slate=not start)
        if last is not None:
            return (
                _STAYS / _loud(lane.colour_likelihood_ratio(last.frames, piece))
                + self._forgot(start) * speaks
            )
        if not start:
            left = _LEFT_AND_BACK if self._reach.person in lane.again else _LEFT * lane.change_prior
            return (left + self._unseen(start)) * speaks
        forgot = self._forgot(start, run_frames)
        if self._reach.divided or self._tail_follows(start):
            forgot += _DIVIDED * self._lengths(start, run_frames) / _loud(self._later(start))
        if lane.missing(self._before(start), piece[0]):
            forgot += _DELETED
        stands_in = (
            _SUBSTITUTION_PRIOR * lane.substitution_prior if exposures(lane.frames, piece) <= TEST else 0.0
        )
        return (forgot + stands_in + self._unseen(start)) * speaks

    def _after_mark(self, start: int, mark: SlateBound, last: RunSegment | None) -> float:
        """The same right after a slate whose person is not known."""
        lane, person = self._lane, self._reach.person
        if mark.mark.status is not SlateStatus.UNREAD:
            return math.inf  # it reads, and belongs to somebody else
        # the right slate after a wrong slate? Then the wrong slate's owner is photographed at another time
        if not start:
            pause = lane.pause_likelihood_ratio(self._before(start), mark.frames[0], after_slate=True)
            return math.inf if person is None or person in lane.again else _AT_ONCE * max(pause, 1.0)
        held = 1.0 if last is not None else lane.pause_likelihood_ratio(self._before(start), mark.frames[0])
        after = lane.pause_likelihood_ratio(mark.frames[-1], self._reach.frames[start])
        return _SLATE * held + (self._forgot(start) + self._unseen(start)) * after

    def _forgot(self, start: int, run_frames: Sequence[int] = ()) -> float:
        return _FORGOT * self._lane.change_prior * self._lengths(start, run_frames)

    def _unseen(self, start: int) -> float:
        return 0.0 if self._lane.frames[self._reach.frames[start]].seen else _UNSEEN

    def _later(self, start: int) -> float:
        """The largest likelihood ratio of a change of person at a later place of the run side."""
        lane, near = self._lane, self._reach.frames[start : start + self._lane.statistics.many]
        return max(
            (
                lane.pause_likelihood_ratio(near[at - 1], near[at])
                * lane.colour_likelihood_ratio(near[:at], near[at:])
                for at, _ in lane.pieces(near)
                if at
            ),
            default=1.0,
        )

    def _tail_follows(self, start: int) -> bool:
        """Whether a tail slate follows whose owner is one of several other people."""
        marks = (bound.mark for place, bound in self._reach.between.items() if place > start)
        return any(m.upside_down and m.possible and self._reach.person not in m.possible for m in marks)

    def _before(self, start: int) -> int:
        return self._reach.frames[start - 1] if start else self._reach.slate[-1]

    def _lengths(self, start: int, run_frames: Sequence[int] = ()) -> float:
        frames = self._reach.frames
        until = next((place for place in self._marks if place > start), len(frames))
        whole = until < len(frames) or self._lane.goes_on(frames[-1])
        known, after = (
            exposures(self._lane.frames, pieces)
            for pieces in ([*self._known, *run_frames], frames[start:until])
        )
        return self._lane.statistics.lengths_likelihood_ratio(known, after if whole else None)

    def _reason(self, start: int, look: float, mark: SlateBound | None, last: RunSegment | None) -> str:
        first = self._reach.frames[start]
        if mark is not None:
            return f"before it: {mark.mark.status}"
        if not self._lane.frames[first].seen:
            return NOT_LOOKED_AT
        if look > _CLEAR_RATIO and self._lane.nobody([first]):
            return NOBODY_SEEN
        if last is not None and look <= _CLEAR_RATIO:
            return last.doubt
        spoken = _pause_text(self._lane.pause(self._before(start), first))
        if look > _CLEAR_RATIO:
            return f"other clothes or hair, {spoken}"
        if look > _MUTE:
            return f"{spoken}, and clothes and hair tell nothing here"
        return f"{spoken}, and clothes and hair do not settle who came after"


def _loud(likelihood_ratio: float) -> float:
    """A likelihood ratio for one hypothesis, limited so that the odds of its alternative can be divided by
    it."""
    return min(max(likelihood_ratio, 1.0), _LARGEST_RATIO)


def _barred(lane: LaneLikelihoods, reach: RunSide) -> tuple[int, RunSegment] | None:
    """The first place from which no frame keeps the name, whatever it looks like, and the
    segment from there."""
    bars = [*_slate_shown_since(lane, reach), *_mixed_up(lane, reach)]
    if (
        len(reach.frames) > lane.statistics.many
        and exposures(lane.frames, reach.frames) > lane.statistics.many
    ):
        bars.append(
            (lane.statistics.many, f"{len(reach.frames)} frames are far more than others have here", None)
        )
    if not bars:
        return None
    start, reason, hint = min(bars, key=lambda bar: bar[0])
    return start, RunSegment(tuple(reach.frames[start:]), reason, hint)


def _mixed_up(lane: LaneLikelihoods, reach: RunSide) -> Iterator[tuple[int, str, int | None]]:
    """The first frames that lie among frames of another time of the day."""
    if not lane.mixed:
        return
    if not lane.mixed.isdisjoint(reach.slate):
        yield 0, MIXED_UP, None
    yield from ((place, MIXED_UP, None) for place, frame in enumerate(reach.frames) if frame in lane.mixed)


def _slate_shown_since(lane: LaneLikelihoods, reach: RunSide) -> Iterator[tuple[int, str, int | None]]:
    """The first frames after another person's slate was shown."""
    begin = lane.frames[reach.slate[-1]].taken
    for at, showing in reach.showings if begin is not None else ():
        if begin is not None and begin < at:
            place = _since(lane, reach, at - SHOWN_EARLY_SECONDS)
            if place is not None:
                yield place, "another person's slate was shown meanwhile", showing.person


def _since(lane: LaneLikelihoods, reach: RunSide, moment: float) -> int | None:
    """The place of the first frame that a person whose slate was shown at `moment` may be on: where people
    may have changed soon after, else the first frame from then on. None where all frames are earlier."""
    times = [lane.frames[frame].taken for frame in reach.frames]
    later = [place for place, taken in enumerate(times) if taken is not None and taken >= moment]
    for place, _ in lane.pieces(reach.frames):
        if place in later and (times[place] or 0.0) < moment + _SHOWN_LATE_SECONDS:
            return place
    return later[0] if later else None


def _pause_text(pause: float | None) -> str:
    if pause is None:
        return "no times to tell a pause"
    return "the clock was set in between" if math.isinf(pause) else f"a pause of {pause:.0f} s"
