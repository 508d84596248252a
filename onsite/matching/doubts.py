"""From where on a run is doubtful: somebody else probably stands there.

A run is taken in pieces: frames so close after one another, and so alike, that nobody can have changed places.
For each piece the odds are weighed that somebody else is on it, from what is usual on this day (`usual`): how
likely that is before anything is seen, times how much likelier under it are the pause before the piece, the
numbers of frames before and after, and how far the piece looks from what is known of the person. A piece is
the person's only where the odds are below `SURE`. Pieces after a doubtful one may be theirs again: they
returned after a test of the light, or only their portraits had somebody's badge in them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from onsite.matching.evidence import FrameEvidence, Shown
from onsite.matching.looks import Looks
from onsite.matching.runs import Bound, seconds_between
from onsite.matching.usual import Usual

NOT_LOOKED_AT = "its picture could not be looked at"

SURE = 1e-3
"""The odds of somebody else below which a name stands. Nearly all pieces are far below it."""

# How likely somebody else is on a piece before its pause, frames and look are weighed. Our own guesses, on the
# side of doubt; tried on simulated days.
_FORGOT = 0.05  # the next person's slate was forgotten
_STANDS_IN = 0.03  # somebody stands in for a test of the light, for no more than `_TEST` frames
_LEFT = 0.02  # the slate's person left again, and the next one forgot theirs
_DELETED = 0.2  # frames between are missing from the counter: a slate may have been among them
_UNSEEN = 0.15  # nobody could look at the frame, and it may be a slate
_SLATE = 20.0  # a slate was seen that is nobody's: mostly it is that of the next person
_STAYS = 3.0  # somebody else was there just before, and has stayed
_DIVIDED = 1.0  # another person's tail slate follows: somebody did step in
_TEST = 3
_NO_TIMES = 0.002  # what a pause says that no time tells of
_CALLED_EARLY = 20.0  # seconds from being called, and perhaps on set, to the slate's being photographed
_FARTHEST = 30  # frames without a time to look past
_CLOCK_SLACK = 1.0  # seconds by which a clock without sub-seconds may seem to go back
_SPEAKS = 2.0  # times likelier, from which on a look is said to have changed
_MUTE = 0.2  # times as likely, down to which it is said to tell nothing


@dataclass(frozen=True, slots=True)
class Part:
    """Frames of a run that are the person's, where `doubt` is empty, or else may be somebody else's. `hint` is
    whom the doubt points to, `mark` what was seen before the frames where that is the doubt."""

    frames: tuple[int, ...]
    doubt: str = ""
    hint: int | None = None
    mark: Bound | None = None


@dataclass(frozen=True, slots=True)
class Reach:
    """What a slate might name: its own frames `slate`, the `frames` of the stretch from there, and what marks
    are between them, each by the number of frames before it. `showings` are other people's slates shown at
    this lane's stations meanwhile, at times of its camera. `divided`: another person's slate closes it."""

    slate: Sequence[int]
    frames: Sequence[int]
    between: Mapping[int, Bound]
    showings: Sequence[tuple[float, Shown]] = ()
    divided: bool = False


@dataclass(frozen=True, slots=True)
class LaneSense:
    """A lane's frames, how they look, and what is usual in it."""

    frames: Sequence[FrameEvidence]
    looks: Looks
    usual: Usual
    backwards: bool = False
    """Reaches are given from their last frame to their first: a tail slate names that way."""

    def pause(self, a: int, b: int) -> float | None:
        """Seconds between two frames; where one has no time, between the nearest that have one. Infinite where
        the clock was set in between: nobody knows how long it was. None where there are no times."""
        first, last = (b, a) if self.backwards else (a, b)
        if (pause := seconds_between(self.frames, first, last)) is None:
            before = range(first, max(first - _FARTHEST, -1), -1)
            after = range(last, min(last + _FARTHEST, len(self.frames)))
            start, end = (
                next((i for i in side if self.frames[i].taken is not None), None) for side in (before, after)
            )
            if start is None or end is None:
                return None
            pause = seconds_between(self.frames, start, end)
        return math.inf if pause is None or pause < -_CLOCK_SLACK else max(pause, 0.0)

    def missing(self, a: int, b: int) -> bool:
        """Whether the counter tells of frames between two neighbours that are not here."""
        one, other = self.frames[a].counter, self.frames[b].counter
        return one is not None and other is not None and abs(other - one) > abs(b - a)


def parts_of(lane: LaneSense, reach: Reach) -> list[Part]:
    """A reach divided into what is its slate's person's and what is not surely so, in its own order."""
    weighing = _Weighing(lane, reach)
    for start, end in _pieces(lane, reach.frames):
        weighing.weigh(start, end)
    return weighing.parts


def groups_of(lane: LaneSense, frames: Sequence[int], between: Mapping[int, Bound]) -> list[Part]:
    """Frames that no slate names, divided where somebody else has stepped in, likelier than not."""
    parts: list[Part] = []
    for start, end in _pieces(lane, frames):
        piece, mark = tuple(frames[start:end]), between.get(start)
        if parts and mark is None and not _others(lane, parts[-1].frames, piece):
            parts[-1] = replace(parts[-1], frames=parts[-1].frames + piece)
        else:
            parts.append(Part(piece, mark=mark))
    return parts


def _pieces(lane: LaneSense, frames: Sequence[int]) -> Iterator[tuple[int, int]]:
    """Where pieces begin and end, counted in the frames."""
    start = 0
    for place in range(1, len(frames)):
        if _may_change(lane, frames[place - 1], frames[place]):
            yield start, place
            start = place
    if frames:
        yield start, len(frames)


def _may_change(lane: LaneSense, a: int, b: int) -> bool:
    if abs(b - a) != 1 or not (lane.frames[a].seen and lane.frames[b].seen):
        return True
    pause = lane.pause(a, b)
    far = lane.looks.steps[min(a, b)] > lane.usual.looks.step  # never where a look is missing
    return bool(far) or (pause is not None and pause >= lane.usual.quick)


def _others(lane: LaneSense, before: Sequence[int], piece: Sequence[int]) -> bool:
    """Whether two pieces are of two people, likelier than not."""
    usual = lane.usual
    look = usual.looks.speak(lane.looks.distance(before, piece), len(piece))
    lengths = usual.lengths_speak(len(before), len(piece))
    return _FORGOT * _speak(lane, before[-1], piece[0]) * lengths * look > 1.0


def _speak(lane: LaneSense, a: int, b: int, after_slate: bool = False) -> float:
    """How much likelier the pause between two frames is where people change than where they do not."""
    pause = lane.pause(a, b)
    return _NO_TIMES if pause is None else lane.usual.pause_speaks(pause, after_slate)


class _Weighing:
    """A reach while its pieces are weighed, one after the other."""

    def __init__(self, lane: LaneSense, reach: Reach) -> None:
        self.parts: list[Part] = []
        self._lane = lane
        self._reach = reach
        self._known: list[int] = []
        self._barred = min(
            _barred(lane, reach), key=lambda bar: bar[0], default=(len(reach.frames), "", None)
        )
        self._marks = sorted(reach.between)

    def weigh(self, start: int, end: int) -> None:
        """Takes the next piece for theirs, or doubts it."""
        barred, reason, hint = self._barred
        if start < barred < end:
            self.weigh(start, barred)
            start = barred
        piece = tuple(self._reach.frames[start:end])
        mark = self._reach.between.get(start)
        if start >= barred:
            return self._doubt(piece, reason, hint, mark)
        look, nobody = self._look(piece)
        if self._came(start, end, mark) * look < SURE:
            return self._take(piece)
        self._doubt(piece, self._reason(start, look, nobody, mark), None, mark)

    def _take(self, piece: tuple[int, ...]) -> None:
        self._known += piece
        if self.parts and not self.parts[-1].doubt:
            piece = self.parts.pop().frames + piece
        self.parts.append(Part(piece))

    def _doubt(self, piece: tuple[int, ...], reason: str, hint: int | None, mark: Bound | None) -> None:
        last = self.parts[-1] if self.parts else None
        if last is not None and last.doubt and mark is None and not _others(self._lane, last.frames, piece):
            self.parts[-1] = replace(last, frames=last.frames + piece)
        else:
            self.parts.append(Part(piece, reason, hint, mark))

    @property
    def _sure(self) -> bool:
        return not self.parts or not self.parts[-1].doubt

    def _look(self, piece: Sequence[int]) -> tuple[float, bool]:
        """What the look of a piece says, and whether nobody is to be seen in it."""
        looks, usual = self._lane.looks, self._lane.usual.looks
        lit = sum(not looks.without_light(place) for place in piece)
        if self._known and (distance := looks.distance(self._known, piece)) is not None:
            return usual.speak(distance, lit), looks.empty(piece[0])
        if not self._known and looks.mean(self._reach.slate) is not None:  # a card may hide who holds it
            distance = looks.distance(self._reach.slate, piece)
            return usual.speak(distance, lit, from_slate=True), looks.empty(piece[0])
        return 1.0, False

    def _came(self, start: int, end: int, mark: Bound | None) -> float:
        """The odds that somebody else came, before the look is weighed."""
        lane, frames = self._lane, self._reach.frames
        before = frames[start - 1] if start else self._reach.slate[-1]
        first = frames[start]
        unseen = 0.0 if lane.frames[first].seen else _UNSEEN
        speaks = _speak(lane, before, first, after_slate=not start)
        lengths = self._lengths(start)
        if mark is not None:
            held = _speak(lane, before, mark.frames[0], after_slate=not start)
            after = _speak(lane, mark.frames[-1], first)
            return _STAYS if not self._sure else _SLATE * held + (_FORGOT * lengths + unseen) * after
        if not self._sure:
            return _STAYS
        if not start:
            return (_LEFT + unseen) * speaks
        likely = _DIVIDED if self._reach.divided else _FORGOT
        likely += _DELETED if lane.missing(before, first) else 0.0
        stands_in = _STANDS_IN if end - start <= _TEST else 0.0
        return (likely * lengths + stands_in + unseen) * speaks

    def _lengths(self, start: int) -> float:
        until = next((place for place in self._marks if place > start), len(self._reach.frames))
        return self._lane.usual.lengths_speak(len(self._known), until - start)

    def _reason(self, start: int, look: float, nobody: bool, mark: Bound | None) -> str:
        lane, frames = self._lane, self._reach.frames
        if mark is not None:
            return f"before it: {mark.mark.meaning}"
        if not lane.frames[frames[start]].seen:
            return NOT_LOOKED_AT
        if nobody and look > _SPEAKS:
            return "nobody is to be seen in the frame"
        if not self._sure and look <= _SPEAKS:
            return self.parts[-1].doubt
        spoken = _spoken(lane.pause(frames[start - 1] if start else self._reach.slate[-1], frames[start]))
        if look > _SPEAKS:
            return f"the look changed: {spoken}"
        if look > _MUTE:
            return f"{spoken}, and looks tell nothing here"
        return f"{spoken}, and the look does not settle who came after"


def _barred(lane: LaneSense, reach: Reach) -> Iterator[tuple[int, str, int | None]]:
    """From which frame on nothing is theirs whatever it looks like, why, and to whom that points."""
    if len(reach.frames) > lane.usual.many:
        yield lane.usual.many, f"{len(reach.frames)} frames are far more than others have here", None
    begin = lane.frames[reach.slate[-1]].taken
    for at, showing in reach.showings if begin is not None else ():
        if begin is not None and begin < at:
            for place, frame in enumerate(reach.frames):
                taken = lane.frames[frame].taken
                if taken is not None and at - _CALLED_EARLY <= taken:
                    yield place, "another person's slate was shown meanwhile", showing.person
                    break


def _spoken(pause: float | None) -> str:
    if pause is None:
        return "no times to tell a pause"
    return "the clock was set in between" if math.isinf(pause) else f"a pause of {pause:.0f} s"
