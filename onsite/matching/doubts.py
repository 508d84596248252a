"""From where on a run is doubtful: somebody else probably stepped in.

Frames before the doubt keep their name; frames after it are loose.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from onsite.matching.evidence import FrameEvidence, Shown
from onsite.matching.looks import Looks, LookScale
from onsite.matching.runs import Tempo, seconds_between

_PAUSE_OF_A_CHANGE = 0.8  # of a quick change of people
_SHORT_PAUSE = 0.3  # of a long one, where the look has changed altogether
_LONGISH_PAUSE = 0.6  # of a long one, where it has changed
_ALTOGETHER = 0.9  # times what different people are apart
_CALLED_EARLY = 20.0  # seconds from being called, and perhaps on set, to the slate's being photographed
_FARTHEST = 30  # frames without a time to look past
_ANYWHERE = 0.5  # as far as one person's looks never are apart, on a day too short to measure them
_CLOCK_SLACK = 1.0  # seconds by which a clock without sub-seconds may seem to go back


@dataclass(frozen=True, slots=True)
class Doubt:
    """From `start`, a place in the run's frames, on; `person` where the reason points to somebody."""

    start: int
    reason: str
    person: int | None = None


@dataclass(frozen=True, slots=True)
class LaneSense:
    """What is usual in a lane, to tell what is not."""

    frames: Sequence[FrameEvidence]
    looks: Looks
    scale: LookScale
    tempo: Tempo
    backwards: bool = False
    """Runs are given from their last frame to their first: a tail slate names that way."""

    @property
    def as_for_a_change(self) -> float:
        """Seconds from which a pause may be that of a change of people."""
        return max(self.tempo.pause, _PAUSE_OF_A_CHANGE * self.tempo.change)

    def pause(self, a: int, b: int) -> float | None:
        """Seconds between two neighbours; where one has no time, between the nearest that have one."""
        first, last = (b, a) if self.backwards else (a, b)
        before = range(first, max(first - _FARTHEST, -1), -1)
        after = range(last, min(last + _FARTHEST, len(self.frames)))
        timed = [
            next((i for i in side if self.frames[i].taken is not None), None) for side in (before, after)
        ]
        start, end = timed
        return None if start is None or end is None else seconds_between(self.frames, start, end)

    def missing(self, a: int, b: int) -> bool:
        """Whether the counter tells of frames between two neighbours that are not here."""
        one, other = self.frames[a].counter, self.frames[b].counter
        return one is not None and other is not None and abs(other - one) > 1


def first_doubt(
    lane: LaneSense, slate: Sequence[int], run: Sequence[int], showings: Sequence[tuple[float, Shown]]
) -> Doubt | None:
    """The first doubt about a run after its slate, or None.

    `showings` are other people's slates shown at this lane's stations, at times of its camera.
    """
    found = [
        doubt
        for doubt in (
            _nobody_there(lane, run),
            _stepped_in(lane, slate, run),
            _shown_meanwhile(lane, slate, run, showings),
            _too_many(lane, run),
        )
        if doubt is not None
    ]
    return min(found, key=lambda doubt: doubt.start, default=None)


def _nobody_there(lane: LaneSense, run: Sequence[int]) -> Doubt | None:
    """An empty backdrop: a light test, and then perhaps somebody else."""
    start = next((place for place, index in enumerate(run) if lane.looks.empty(index)), None)
    return None if start is None else Doubt(start, "nobody is to be seen in the frame")


def _stepped_in(lane: LaneSense, slate: Sequence[int], run: Sequence[int]) -> Doubt | None:
    """A long pause together with a changed look; where looks tell nothing, one as for a change."""
    for start, (a, b) in enumerate(pairwise([slate[-1], *run[: lane.tempo.many]])):
        pause = lane.pause(a, b)
        if pause is not None and pause < -_CLOCK_SLACK:
            pause = math.inf  # the clock was set in between: nobody knows how long it took
        if pause is not None and pause < _SHORT_PAUSE * lane.tempo.pause:
            continue
        first = all(map(lane.looks.without_light, run[:start]))  # of the portraits that were lit
        changed = lane.looks.distance(slate if first else run[:start], _in_a_row(run[start : start + 3]))
        if not lane.scale.tells or changed is None:
            # A head slate may be followed by a wait. A tail slate held up late may be somebody else's.
            may_wait = first and not lane.backwards and not lane.missing(a, b)
            if pause is not None and pause > lane.as_for_a_change and not may_wait:
                return Doubt(start, f"{_spoken(pause)}, and looks tell nothing here")
            if not lane.scale.measured and changed is not None and changed > _ANYWHERE:
                return Doubt(start, f"the look changed altogether: {_spoken(pause)}")
        elif changed > _limit(lane, pause, first):
            return Doubt(start, f"the look changed: {_spoken(pause)}")
    return None


def _in_a_row(frames: Sequence[int]) -> list[int]:
    """The first of them, and those that follow it directly: where a hand has decided on frames in between,
    somebody else may stand behind those."""
    row = [frames[0]]
    for a, b in pairwise(frames):
        if abs(b - a) > 1:
            break
        row.append(b)
    return row


def _limit(lane: LaneSense, pause: float | None, first: bool) -> float:
    """How far a look may change: the less, the more the pause is like that of a change of people."""
    scale = lane.scale
    if first:  # a slate frame is not quite like portraits
        return max(scale.same + (scale.other - scale.same) * 2 / 3, 1.5 * scale.same)
    if pause is not None and pause < _LONGISH_PAUSE * lane.tempo.pause:
        return max(_ALTOGETHER * scale.other, scale.same)
    if pause is not None and pause > lane.as_for_a_change:
        return scale.same + (scale.other - scale.same) / 4
    return scale.changed


def _spoken(pause: float | None) -> str:
    if pause is None:
        return "no times to tell a pause"
    return "the clock was set in between" if math.isinf(pause) else f"a pause of {pause:.0f} s"


def _shown_meanwhile(
    lane: LaneSense, slate: Sequence[int], run: Sequence[int], showings: Sequence[tuple[float, Shown]]
) -> Doubt | None:
    begin = lane.frames[slate[-1]].taken
    if begin is None:
        return None
    for at, showing in showings:
        for start, index in enumerate(run):
            taken = lane.frames[index].taken
            if taken is not None and begin < at and at - _CALLED_EARLY <= taken:
                return Doubt(start, "another person's slate was shown meanwhile", showing.person)
    return None


def _too_many(lane: LaneSense, run: Sequence[int]) -> Doubt | None:
    if len(run) <= lane.tempo.many:
        return None
    return Doubt(lane.tempo.many, f"{len(run)} frames are far more than others have here")
