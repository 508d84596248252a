"""Loose frames of an empty backdrop: test shots, the moment after somebody has left. They are nobody's."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

from onsite.matching.doubts import NOBODY_SEEN
from onsite.matching.naming import Named
from onsite.matching.runs import Stretch, places_of
from onsite.matching.sense import LaneSense

SOME_EMPTY = "nobody is to be seen in some of the frames"

_FEW = 20
"""Frames of a lane that do not tell yet whether its backdrop is what it is taken for: in the morning all may
be test shots."""


def without_anybody(named: Sequence[Named], cut: Sequence[Stretch], lane: LaneSense) -> list[Named]:
    """The parts of a lane; those of loose runs that show nobody say so, and point to nobody.

    A run of which only some frames are empty keeps who may be on it: pieces that look so different are one
    run only where nobody can have changed places between them, or where hands joined them, and somebody who
    bends down is not gone. Where the slate and the names around a run show nobody either, its person wears
    the backdrop's colours.
    """
    stretches = {place: stretch for stretch in cut for place in stretch.frames}
    runs: defaultdict[int, list[int]] = defaultdict(list)
    people: defaultdict[int, list[int]] = defaultdict(list)
    for part in named:
        runs[_begins(part)] += part.frames
        if part.person is not None and part.frames[0] in stretches:
            people[id(stretches[part.frames[0]])] += part.frames

    def shown(part: Named) -> Named:
        if part.person is not None:
            return part
        stretch = stretches.get(part.frames[0])
        around = [*places_of(stretch.left), *people[id(stretch)]] if stretch is not None else []
        if _nobody(lane, runs[_begins(part)]) and not (around and _nobody(lane, around)):
            return replace(part, doubt=NOBODY_SEEN, hints=())
        return replace(part, doubt=SOME_EMPTY) if part.doubt == NOBODY_SEEN else part

    return [shown(part) for part in named]


def _begins(part: Named) -> int:
    return part.frames[0] if part.begins is None else part.begins


def _nobody(lane: LaneSense, frames: Sequence[int]) -> bool:
    if len(lane.frames) >= _FEW:
        return lane.nobody(frames)
    return all(lane.looks.nothing_seen(place) for place in frames)
