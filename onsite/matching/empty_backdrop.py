"""Loose frames of an empty backdrop, such as test shots: nobody is suggested for them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

from onsite.matching.change_points import NOBODY_SEEN
from onsite.matching.cut_runs import Run, places_of
from onsite.matching.likelihood_ratios import LaneLikelihoods
from onsite.matching.name_runs import NamedRun

PARTLY_EMPTY = "nobody is to be seen in some of the frames"

_FEW = 20
"""Frames of a lane that do not show yet whether its backdrop was judged rightly: in the morning all may be
test shots."""


def doubt_empty_runs(named: Sequence[NamedRun], cut: Sequence[Run], lane: LaneLikelihoods) -> list[NamedRun]:
    """The parts of a lane, where those of loose runs that show nobody say so and have no hints.

    A run in which only some frames are empty keeps its hints: pieces that look so different are one run only
    where nobody can have changed places between them, or where an override joined them, and somebody who
    bends down is not gone. Where the slate and the named frames around a run seem empty too, its person wears
    the backdrop's colours.
    """
    run_by_place = {place: run for run in cut for place in run.frames}
    runs: defaultdict[int, list[int]] = defaultdict(list)
    people: defaultdict[int, list[int]] = defaultdict(list)
    for part in named:
        runs[_first_frame(part)] += part.frames
        if part.person is not None and part.frames[0] in run_by_place:
            people[id(run_by_place[part.frames[0]])] += part.frames

    def shown(part: NamedRun) -> NamedRun:
        if part.person is not None:
            return part
        run = run_by_place.get(part.frames[0])
        around = [*places_of(run.before), *people[id(run)]] if run is not None else []
        if _is_empty(lane, runs[_first_frame(part)]) and not (around and _is_empty(lane, around)):
            return replace(part, doubt=NOBODY_SEEN, hints=())
        return replace(part, doubt=PARTLY_EMPTY) if part.doubt == NOBODY_SEEN else part

    return [shown(part) for part in named]


def _first_frame(part: NamedRun) -> int:
    return part.frames[0] if part.begins is None else part.begins


def _is_empty(lane: LaneLikelihoods, frames: Sequence[int]) -> bool:
    if len(lane.frames) >= _FEW:
        return lane.nobody(frames)
    return all(lane.looks.nothing_seen(place) for place in frames)
