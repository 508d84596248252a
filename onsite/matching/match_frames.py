"""The whole match: evidence in, a verdict on every frame out. The same evidence gives the same answer."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain
from statistics import mode

from onsite.matching.camera_clocks import camera_clocks
from onsite.matching.change_points import SURE
from onsite.matching.clock_offset import SHOWN_AFTER, SHOWN_BEFORE
from onsite.matching.cut_runs import cut_runs
from onsite.matching.evidence import Evidence, FrameEvidence, FrameKind, FrameVerdict, NamedBy, Suggestion
from onsite.matching.likelihood_ratios import LaneLikelihoods, lane_likelihoods
from onsite.matching.looks import LaneLooks
from onsite.matching.name_runs import FrameName, Names, name_lane, runs_of
from onsite.matching.shooting_order import ShootingLane, shooting_lanes
from onsite.matching.slate_status import (
    SlateObservation,
    SlateStatus,
    doubt_late_records,
    slate_observations,
)
from onsite.matching.split_and_join import loosen_around_overrides, regroup
from onsite.matching.suggestions import NEAR, Arrivals, UnnamedRun, suggest_people

NOBODY_SEEN = "nobody is to be seen in the frame"
BEFORE_ARRIVAL = "photographed before they arrived: another's card, or an arrival typed in late"
LOOKS_OTHER = "looks different in their other frames: another's card, or other clothes"

_TOLERANCE = 120.0
"""Seconds by which an arrival may be recorded late without a warning: with 240, one in eleven of the warnings
of swapped cards is missing. Our own choice."""


@dataclass(frozen=True, slots=True)
class MatchResult:
    """Verdicts on all frames, and the lanes and clocks that they rest on."""

    verdicts: tuple[FrameVerdict, ...]
    """In shooting order, lane after lane."""
    lanes: tuple[ShootingLane, ...]

    def count(self) -> dict[FrameKind, int]:
        """Number of frames of each kind."""
        kinds = Counter(verdict.kind for verdict in self.verdicts)
        return {kind: kinds[kind] for kind in FrameKind}


@dataclass(frozen=True, slots=True)
class _NamedLane:
    """A lane, and what its frames are."""

    lane: ShootingLane
    slates: Mapping[int, SlateObservation]
    names: Names
    runs: Sequence[Sequence[int]]
    """The places of each run."""


def match(evidence: Evidence) -> MatchResult:
    """Match frames to people. Raises AssertionError if a frame were lost or doubled on the way."""
    found, unplaced = shooting_lanes(evidence.frames)
    lanes = camera_clocks(found, evidence)
    slates = doubt_late_records(lanes, [slate_observations(lane, evidence) for lane in lanes], evidence)
    named = _named_lanes(lanes, slates, evidence)
    people = [[person for _, person in _people(lane)] for lane in named]
    with_frames = {*chain.from_iterable(people), *(by.person for by in evidence.overrides.values())}
    shown = _shown_near(lanes, slates, evidence)
    loose = {frame: run for lane, near in zip(named, shown, strict=True) for frame, run in _loose(lane, near)}
    suggested = suggest_people(Arrivals(evidence.arrived, with_frames, people), list(loose.values()))
    suggestions = dict(zip(loose, suggested, strict=True))
    verdicts = [verdict for lane in named for verdict in _verdicts(lane, evidence, suggestions)]
    verdicts += [_unplaced(frame, evidence) for frame in sorted(unplaced, key=lambda f: (f.name, f.id))]
    assert len(verdicts) == len(evidence.frames), "frames in = frames out"
    assert {verdict.frame for verdict in verdicts} == {frame.id for frame in evidence.frames}
    return MatchResult(tuple(verdicts), tuple(lanes))


def _named_lanes(
    lanes: Sequence[ShootingLane], slates: Sequence[Mapping[int, SlateObservation]], evidence: Evidence
) -> list[_NamedLane]:
    """The lanes with the names of their frames, as slates and decisions by hand give them."""
    if not lanes:
        return []
    by_hand = [_by_hand(lane, evidence) for lane in lanes]
    cuts = [
        cut_runs(lane.frames, found, _given(decided))
        for lane, found, decided in zip(lanes, slates, by_hand, strict=True)
    ]
    likelihoods = lane_likelihoods(lanes, slates, cuts, evidence)
    named = []
    for lane, found, cut, decided, likely in zip(lanes, slates, cuts, by_hand, likelihoods, strict=True):
        # a frame that is set aside changes no other frame's name
        names = {place: name for place, name in name_lane(likely, cut).items() if place not in decided}
        names = _with_warnings(names, lane, likely, evidence.arrived)
        names = _with_decisions(names, lane, found, decided, evidence)
        names = _with_nobody(names, found, likely.looks)
        named.append(_NamedLane(lane, found, names, runs_of(names)))
    return named


def _shown_near(
    lanes: Sequence[ShootingLane], slates: Sequence[Mapping[int, SlateObservation]], evidence: Evidence
) -> list[list[tuple[float, int]]]:
    """The slates shown at each lane's stations: (when, whose), in order. A station belongs to the lane that
    soon photographs most of the slates that it shows; one that shows slates for a look only, as at the door,
    belongs to none."""
    read: defaultdict[int, list[tuple[float, int]]] = defaultdict(list)
    for number, lane in enumerate(lanes):
        for place, slate in slates[number].items():
            at = lane.true_time(place)
            if slate.person is not None and at is not None:
                read[slate.person].append((at, number))
    votes: defaultdict[str, list[int | None]] = defaultdict(list)
    for showing in evidence.slates_shown:
        soon = (number for at, number in read[showing.person] if abs(at - showing.at) < SHOWN_AFTER)
        votes[showing.station].append(next(soon, None))
    lane_of = {station: mode(numbers) for station, numbers in votes.items()}
    near: list[list[tuple[float, int]]] = [[] for _ in lanes]
    for showing in sorted(evidence.slates_shown, key=lambda showing: (showing.at, showing.person)):
        if (lane_number := lane_of[showing.station]) is not None:
            near[lane_number].append((showing.at, showing.person))
    return near


def _by_hand(lane: ShootingLane, evidence: Evidence) -> dict[int, int | None]:
    """Who decisions by hand say is on a lane's frames, by place; None where a frame is set aside."""
    by_hand = evidence.overrides
    frames = enumerate(lane.frames)
    return {place: by_hand[frame.id].person for place, frame in frames if frame.id in by_hand}


def _given(by_hand: Mapping[int, int | None]) -> dict[int, int]:
    """Who is on the frames that were given by hand, by place."""
    return {place: who for place, who in by_hand.items() if who is not None}


def _with_decisions(
    names: Names,
    lane: ShootingLane,
    slates: Mapping[int, SlateObservation],
    by_hand: Mapping[int, int | None],
    evidence: Evidence,
) -> Names:
    """The names after frames were given and runs split and joined by hand."""
    given = _given(by_hand)
    on_portraits = {place: person for place, person in given.items() if place not in slates}
    names = loosen_around_overrides(names, on_portraits, slates)
    # a slate set aside still bounds runs, and lends its person to no run
    read = {place: slate.person for place, slate in slates.items() if place not in by_hand}
    owners = {place: person for place, person in read.items() if person is not None} | given
    places = {frame.id: place for place, frame in enumerate(lane.frames)} if evidence.regroupings else {}
    return regroup(names, evidence.regroupings, places, owners)


def _with_warnings(
    names: Names, lane: ShootingLane, likelihoods: LaneLikelihoods, arrived: Mapping[int, float]
) -> Names:
    """The names, with a warning as `doubt` where something contradicts one. It does not take the name away:
    two people may hold each other's card all day."""
    runs: defaultdict[int, list[list[int]]] = defaultdict(list)
    for places in runs_of(names):
        if (person := names[places[0]].person) is not None:
            runs[person].append(places)
    warned = dict(names)
    for person, (first, *more) in runs.items():
        unlike = any(likelihoods.colour_likelihood_ratio(first, other) * SURE > 1.0 for other in more)
        for places in (first, *more):
            taken, came = lane.frames[places[0]].taken, arrived.get(person, -math.inf)
            late = taken is not None and taken + lane.clock_at(places[0]).high + _TOLERANCE < came
            if late or unlike:
                name = replace(names[places[0]], doubt=BEFORE_ARRIVAL if late else LOOKS_OTHER)
                warned |= dict.fromkeys(places, name)
    return warned


def _with_nobody(names: Names, slates: Mapping[int, SlateObservation], looks: LaneLooks) -> Names:
    """The names, where loose runs that show nobody say so and have no hints.

    A run in which only some frames are empty keeps its hints: somebody who bends down is not gone. Where the
    slate before it seems empty too, its person wears the backdrop's colours.
    """
    bounds = sorted(place for place, slate in slates.items() if slate.status is not SlateStatus.CLOCK)
    found = dict(names)
    for places in runs_of(names):
        name = names[places[0]]
        if name.person is None and looks.nobody(places):
            slate = bounds[: bisect_left(bounds, places[0])][-1:]
            if not looks.nobody(slate):
                found |= dict.fromkeys(places, FrameName(name.run, doubt=NOBODY_SEEN))
    return found


def _people(lane: _NamedLane) -> list[tuple[int, int]]:
    """The first places of the named runs of a lane, and whose they are."""
    runs = ((places[0], lane.names[places[0]].person) for places in lane.runs)
    return [(place, person) for place, person in runs if person is not None]


def _loose(lane: _NamedLane, near: Sequence[tuple[float, int]]) -> Iterator[tuple[int, UnnamedRun]]:
    """The loose runs of a lane that show somebody, by their first frame. `near` are the slates shown at its
    stations: when, and whose."""
    named = _people(lane)
    for places in lane.runs:
        name = lane.names[places[0]]
        if name.person is not None or name.doubt == NOBODY_SEEN:
            continue
        at = bisect_left(named, (places[0],))
        before = [person for _, person in named[max(at - NEAR, 0) : at]]
        after = [person for _, person in named[at : at + NEAR]]
        moment = lane.lane.true_time(places[0])
        span = (math.inf, math.inf) if moment is None else (moment - SHOWN_AFTER, moment + SHOWN_BEFORE)
        first, last = (bisect_left(near, (edge,)) for edge in span)
        shown = {person for _, person in near[first:last]}.difference(before[-2:], after[:2])
        yield lane.lane.frames[places[0]].id, UnnamedRun(before, after, moment, name.hints, shown)


def _verdicts(
    lane: _NamedLane, evidence: Evidence, suggestions: Mapping[int, tuple[Suggestion, ...]]
) -> Iterator[FrameVerdict]:
    frames = lane.lane.frames
    found = {place: _slate_verdict(frames[place], slate) for place, slate in lane.slates.items()}
    for places in lane.runs:
        run = frames[places[0]].id
        for place in places:
            name = lane.names[place]
            kind = FrameKind.LOOSE if name.person is None else FrameKind.NAMED
            likely = suggestions.get(run, ())
            found[place] = FrameVerdict(
                frames[place].id, kind, name.person, name.how, name.doubt, run, likely, name.certainty
            )
    for place, frame in enumerate(frames):
        yield (evidence.overrides and _decided(frame, evidence)) or found[place]


def _slate_verdict(frame: FrameEvidence, slate: SlateObservation) -> FrameVerdict:
    if slate.status is SlateStatus.SLATE:
        how = NamedBy.TAIL_SLATE if slate.upside_down else NamedBy.SLATE
        return FrameVerdict(frame.id, FrameKind.SLATE, slate.person, how, run=frame.id)
    return FrameVerdict(frame.id, FrameKind.SLATE, doubt=slate.status.value, run=frame.id)


def _decided(frame: FrameEvidence, evidence: Evidence) -> FrameVerdict | None:
    decision = evidence.overrides.get(frame.id)
    if decision is None:
        return None
    kind = FrameKind.SET_ASIDE if decision.person is None else FrameKind.NAMED
    certainty = None if decision.person is None else 1.0
    return FrameVerdict(frame.id, kind, decision.person, NamedBy.OVERRIDE, run=frame.id, certainty=certainty)


def _unplaced(frame: FrameEvidence, evidence: Evidence) -> FrameVerdict:
    doubt = "nothing tells for sure when in the day it was taken"
    return _decided(frame, evidence) or FrameVerdict(frame.id, FrameKind.LOOSE, doubt=doubt, run=frame.id)
