"""From where on a run is doubtful: somebody else probably stepped in.

Frames before the doubt keep their name; frames after it are loose.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from onsite.matching.evidence import FrameEvidence, Shown
from onsite.matching.looks import Looks, LookScale
from onsite.matching.runs import Tempo, seconds_between

_PAUSE_OF_A_CHANGE = 0.75  # of the usual change of people, where looks tell nothing
_SHORT_PAUSE = 0.6  # of a long one, where the look has changed altogether
_ALTOGETHER = 1.15  # times what different people are apart


@dataclass(frozen=True, slots=True)
class Doubt:
    """From `start` (a place in the run's frames) on, for that reason; `person` where it points to somebody."""

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

    def pause(self, a: int, b: int) -> float | None:
        return seconds_between(self.frames, b, a) if self.backwards else seconds_between(self.frames, a, b)


def first_doubt(
    lane: LaneSense, slate: Sequence[int], run: Sequence[int], showings: Sequence[tuple[float, Shown]]
) -> Doubt | None:
    """The first doubt about a run after its slate, or None.

    `showings` are other people's slates shown at this lane's stations, with their time on the camera's clock.
    """
    found = [
        doubt
        for doubt in (
            _stepped_in(lane, slate, run),
            _shown_meanwhile(lane, slate, run, showings),
            _too_many(lane, run),
        )
        if doubt is not None
    ]
    return min(found, key=lambda doubt: doubt.start, default=None)


def _stepped_in(lane: LaneSense, slate: Sequence[int], run: Sequence[int]) -> Doubt | None:
    """A long pause together with a changed look; where looks tell nothing, a pause as for a change of people."""
    everything = [*slate, *run]
    for place, (a, b) in enumerate(pairwise(everything), 1):
        start = place - len(slate)
        if start < 0:
            continue
        pause = lane.pause(a, b)
        before, after = everything[len(slate) : place] or list(slate), everything[place:]
        if not lane.scale.tells:
            enough = max(lane.tempo.pause, _PAUSE_OF_A_CHANGE * lane.tempo.change)
            if pause is not None and start > 0 and pause > enough:
                return Doubt(start, f"a pause of {pause:.0f} s, and looks tell nothing here")
            continue
        if pause is not None and pause < _SHORT_PAUSE * lane.tempo.pause:
            continue
        changed = lane.looks.distance(before, after[:3])
        if changed is None:
            if pause is not None and pause > lane.tempo.pause and start > 0:
                return Doubt(start, f"a pause of {pause:.0f} s, and no look to compare")
            continue
        limit = (
            lane.scale.changed
            if pause is None or pause >= lane.tempo.pause
            else _ALTOGETHER * lane.scale.other
        )
        if changed > max(limit, lane.scale.same * (1.5 if start == 0 else 1.0)):
            when = f"after a pause of {pause:.0f} s" if pause is not None else "with no times to tell a pause"
            return Doubt(start, f"the look changed {when}")
    return None


def _shown_meanwhile(
    lane: LaneSense, slate: Sequence[int], run: Sequence[int], showings: Sequence[tuple[float, Shown]]
) -> Doubt | None:
    begin = lane.frames[slate[-1]].taken
    if begin is None:
        return None
    for at, showing in showings:
        for start, index in enumerate(run):
            taken = lane.frames[index].taken
            if taken is not None and begin < at <= taken:
                return Doubt(start, "another person's slate was shown meanwhile", showing.person)
    return None


def _too_many(lane: LaneSense, run: Sequence[int]) -> Doubt | None:
    if len(run) <= lane.tempo.many:
        return None
    return Doubt(lane.tempo.many, f"{len(run)} frames are far more than others have here")
