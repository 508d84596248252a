"""What is said of a run beside its slates: warnings against its name, and that nobody is to be seen.

A warning does not take the name away: two people may hold each other's card all day.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from onsite.matching.cut_runs import Run, places_of
from onsite.matching.likelihood_ratios import LaneLikelihoods
from onsite.matching.name_runs import NamedRun
from onsite.matching.shooting_order import ShootingLane

NOBODY_SEEN = "nobody is to be seen in the frame"
BEFORE_ARRIVAL = "photographed before they arrived: another's card, or an arrival typed in late"
LOOKS_OTHER = "looks different in their other frames: another's card, or other clothes"

_TOLERANCE = 120.0
"""Seconds by which an arrival may be recorded late without a warning. Our own choice."""
_DIFFERENT = 100.0
"""Likelihood ratio of two people, from which on two runs look different. Our own choice."""


def with_warnings(
    lane: ShootingLane,
    likelihoods: LaneLikelihoods,
    named: Sequence[NamedRun],
    arrived: Mapping[int, float],
) -> list[NamedRun]:
    """The parts of a lane that slates named, with a warning as `doubt` where something contradicts the
    name."""
    other = set(_looking_different(likelihoods, named))

    def warned(part: NamedRun) -> NamedRun:
        came, taken = arrived.get(part.person or -1, -math.inf), lane.frames[part.frames[0]].taken
        if taken is not None and taken + lane.clock_at(part.frames[0]).high + _TOLERANCE < came:
            return replace(part, doubt=BEFORE_ARRIVAL)
        return replace(part, doubt=LOOKS_OTHER) if part.frames in other else part

    return [warned(part) for part in named]


def _looking_different(likelihoods: LaneLikelihoods, named: Sequence[NamedRun]) -> Iterator[tuple[int, ...]]:
    """The frames of runs of one person that do not look alike."""
    runs: dict[int, list[tuple[int, ...]]] = {}
    for part in named:
        if part.person is not None:
            runs.setdefault(part.person, []).append(part.frames)
    for first, *more in runs.values():
        if any(likelihoods.colour_likelihood_ratio(first, frames) > _DIFFERENT for frames in more):
            yield from (first, *more)


def doubt_empty_runs(named: Sequence[NamedRun], cut: Sequence[Run], lane: LaneLikelihoods) -> list[NamedRun]:
    """The parts of a lane, where those of loose runs that show nobody say so and have no hints.

    A run in which only some frames are empty keeps its hints: pieces that look so different are one run only
    where nobody can have changed places between them, or where an override joined them, and somebody who
    bends down is not gone. Where the slate and the named frames around a run seem empty too, its person wears
    the backdrop's colours.
    """
    if not any(part.person is None and lane.looks.nobody(part.frames[:1]) for part in named):
        return list(named)
    run_by_place = {place: run for run in cut for place in run.frames}
    joined: defaultdict[int, list[int]] = defaultdict(list)
    people: defaultdict[int, list[int]] = defaultdict(list)
    for part in named:
        joined[_first_frame(part)] += part.frames
        if part.person is not None and part.frames[0] in run_by_place:
            people[id(run_by_place[part.frames[0]])] += part.frames

    def shown(part: NamedRun) -> NamedRun:
        if part.person is not None or not lane.looks.nobody(part.frames[:1]):
            return part
        run = run_by_place.get(part.frames[0])
        around = [*places_of(run.before), *people[id(run)]] if run is not None else []
        if lane.looks.nobody(joined[_first_frame(part)]) and not lane.looks.nobody(around):
            return replace(part, doubt=NOBODY_SEEN, hints=())
        return part

    return [shown(part) for part in named]


def _first_frame(part: NamedRun) -> int:
    return part.frames[0] if part.begins is None else part.begins
