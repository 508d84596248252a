"""From where on a run is doubtful: somebody else probably stands there.

A run is taken in pieces, in each of which nobody can have changed places. For each piece the odds are weighed
that somebody else is on it, from what is usual on this day: how likely that is before anything is seen, times
how much likelier under it are the pause before the piece, the numbers of frames before and after, and how far
the piece looks from what is known of the person. A piece is theirs only where the odds are below `SURE`.
Pieces after a doubtful one may be theirs again: they came back after a test of the light, or only a badge was
in their picture.
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
"""The odds of somebody else below which a name stands. Nearly all pieces are far below it, and what the odds
are made of is chosen on the side of doubt: how often names are wrong is for simulated days to tell."""

SHOWN_EARLY_SECONDS = 20.0
"""Seconds by which somebody may be on set before their slate is shown. Our own choice."""

MIXED_UP = "two parts of the day are mixed up here: the camera's clock was set back"
NOT_LOOKED_AT = "its picture could not be looked at"
NOBODY_SEEN = "nobody is to be seen in the frame"

# How likely somebody else is on a piece before its pause, frames and look are weighed. Our own guesses, on
# the side of doubt; tried on simulated days. The first three are times how often that happens on the day.
_FORGOT = 1.0  # the next person's slate was forgotten
_SUBSTITUTION_PRIOR = 0.6  # somebody stands in for a test of the light, for no more than `TEST` frames
_LEFT = 0.6  # the slate's person left again, and the next one forgot theirs
_LEFT_AND_BACK = 0.3  # likewise, where their slate was photographed again at another time
_DELETED = 0.2  # frames between are missing from the counter: a slate may have been among them
_UNSEEN = 0.15  # nobody could look at the frame, and it may be a slate
_SLATE = 20.0  # a slate was seen that does not read: mostly it is that of the next person
_AT_ONCE = 0.05  # likewise right after their slate, where that was photographed only once
_STAYS = 6.0  # somebody else was there just before, and has stayed
_DIVIDED = 1.0  # another person's tail slate follows: somebody did step in
TEST = 3
"""Frames of a test, at most."""

_LARGEST_RATIO = 50.0  # times that a look, or a change of people elsewhere, may speak against these
_SHOWN_LATE_SECONDS = 120.0  # seconds after their slate was shown by which somebody is on set
_CLEAR_RATIO = 2.0  # times likelier, from which on a look is said to have changed
_MUTE = 0.2  # times as likely, down to which it is said to tell nothing


@dataclass(frozen=True, slots=True)
class RunSide:
    """What a slate might name: its own frames `slate`, the `frames` of the stretch from there, and what marks
    are between them, each by the number of frames before it. `showings` are other people's slates shown at
    this lane's stations meanwhile, at times of its camera. `divided`: another person's slate closes it.
    `person` is whose slate it is, where that is a head slate."""

    slate: Sequence[int]
    frames: Sequence[int]
    between: Mapping[int, SlateBound]
    showings: Sequence[tuple[float, SlateShown]] = ()
    divided: bool = False
    person: int | None = None


@dataclass(frozen=True, slots=True)
class RunSegment:
    """Frames of a reach that are the person's where `doubt` is empty, else perhaps somebody else's.

    `hint` is whom the doubt points to, `mark` what was seen right before the frames. `came` are the odds of
    somebody else before the frames' look is weighed, `odds` those after.
    """

    frames: tuple[int, ...]
    doubt: str = ""
    hint: int | None = None
    mark: SlateBound | None = None
    came: float = math.inf
    odds: float = math.inf


def run_segments(lane: LaneLikelihoods, reach: RunSide) -> list[RunSegment]:
    """A reach divided into what is its slate's person's and what is not surely so, in its own order."""
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
    """Frames that no slate names, divided where somebody else has stepped in, likelier than not."""
    pieces = lane.pieces(frames)
    parts = [
        RunSegment(tuple(frames[start:end]), "no slate", mark=between.get(start)) for start, end in pieces
    ]
    return _joined(lane, parts)


def _joined(lane: LaneLikelihoods, parts: Sequence[RunSegment]) -> list[RunSegment]:
    """Parts with those in a row that are one person's, for all that is known, put together."""
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
    """A reach while its pieces are weighed, one after the other."""

    def __init__(self, lane: LaneLikelihoods, reach: RunSide) -> None:
        self.parts: list[RunSegment] = []
        self._lane = lane
        self._reach = reach
        self._known: list[int] = []
        self._marks = sorted(reach.between)

    def weigh(self, start: int, end: int) -> None:
        """Takes the next piece for theirs, or doubts it."""
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
        """The piece weighed together with the one that was doubted before, where they look alike or nobody
        could look at that. None where only the new one may be theirs: somebody stood in for a moment."""
        seen = any(self._lane.looks.looked_at(place) for place in last.frames)
        if seen and self._lane.colour_likelihood_ratio(last.frames, piece) >= 1.0:
            return None
        came = last.came + self._came(start, end, None, None, last.frames)  # there before, or only now
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
        """The odds that somebody else came, before the look is weighed, were `run_frames` known to be
        theirs."""
        lane, piece = self._lane, self._reach.frames[start:end]
        if lane.nobody(piece) and not lane.nobody(self._known or self._reach.slate):
            return math.inf  # whoever was there, this is a picture of the backdrop
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
        """The same right after a slate that does not say whose it is."""
        lane, person = self._lane, self._reach.person
        if mark.mark.status is not SlateStatus.UNREAD:
            return math.inf  # it reads, and is not theirs
        if not start:  # the right slate after a wrong one? Then its owner has a turn at another time
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
        """How much likelier people changed than not at a later place of the reach, the likeliest."""
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
        """Whether a tail slate follows that is one of several others', of whom is not known."""
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
            return f"the look changed: {spoken}"
        if look > _MUTE:
            return f"{spoken}, and looks tell nothing here"
        return f"{spoken}, and the look does not settle who came after"


def _loud(likelihood_ratio: float) -> float:
    """What speaks for one thing and against another, for the latter to be divided by."""
    return min(max(likelihood_ratio, 1.0), _LARGEST_RATIO)


def _barred(lane: LaneLikelihoods, reach: RunSide) -> tuple[int, RunSegment] | None:
    """From which frame on nothing is theirs, whatever it looks like, counted in the reach's frames."""
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
    """Frames of some other time of the day lie among these."""
    if not lane.mixed:
        return
    if not lane.mixed.isdisjoint(reach.slate):
        yield 0, MIXED_UP, None
    yield from ((place, MIXED_UP, None) for place, frame in enumerate(reach.frames) if frame in lane.mixed)


def _slate_shown_since(lane: LaneLikelihoods, reach: RunSide) -> Iterator[tuple[int, str, int | None]]:
    """Somebody else's slate was shown meanwhile."""
    begin = lane.frames[reach.slate[-1]].taken
    for at, showing in reach.showings if begin is not None else ():
        if begin is not None and begin < at:
            place = _since(lane, reach, at - SHOWN_EARLY_SECONDS)
            if place is not None:
                yield place, "another person's slate was shown meanwhile", showing.person


def _since(lane: LaneLikelihoods, reach: RunSide, moment: float) -> int | None:
    """From which frame of a reach on somebody who was called at a moment may be there: where people may have
    changed soon after it, else from that moment on. None where all its frames are earlier."""
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
