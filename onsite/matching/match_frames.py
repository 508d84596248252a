"""The whole match: evidence in, a verdict on every frame out. The same evidence gives the same answer."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections import Counter, defaultdict
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from statistics import mode

import numpy as np

from onsite.matching.camera_clocks import camera_clocks
from onsite.matching.clock_offset import SHOWN_AFTER, SHOWN_BEFORE
from onsite.matching.cut_runs import Run, cut_runs, runs_of_one_person
from onsite.matching.day_looks import learn_looks
from onsite.matching.day_statistics import day_statistics
from onsite.matching.evidence import (
    Evidence,
    FrameEvidence,
    FrameKind,
    FrameVerdict,
    NamedBy,
    Override,
    SlateShown,
)
from onsite.matching.forgotten_slates import forgotten_slates
from onsite.matching.likelihood_ratios import LaneLikelihoods
from onsite.matching.looks import LaneLooks, flash_misfires
from onsite.matching.name_runs import NamedRun, name_lane
from onsite.matching.name_warnings import NOBODY_SEEN, doubt_empty_runs, with_warnings
from onsite.matching.shooting_order import ShootingLane, shooting_lanes
from onsite.matching.slate_status import (
    SlateObservation,
    SlateStatus,
    doubt_double_turns,
    slate_observations,
)
from onsite.matching.split_and_join import loosen_around_overrides, regroup
from onsite.matching.suggestions import NEAR, Arrivals, shown_before, suggest_people


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
class _WorkedLane:
    """A lane on its way through the match."""

    lane: ShootingLane
    slates: Mapping[int, SlateObservation]
    named: Sequence[NamedRun]
    shown: Sequence[SlateShown]
    """Slates shown at its stations, in the order of time."""
    mixed_up: bool
    """Whether parts of the day are interleaved in it."""


def match(evidence: Evidence) -> MatchResult:
    """Match frames to people. Raises AssertionError if a frame were lost or doubled on the way."""
    found, unplaced = shooting_lanes(evidence.frames)
    worked = _worked(camera_clocks(found, evidence), evidence)
    mixed_up = {lane.lane.camera for lane in worked if lane.mixed_up}
    if evidence.reuses_cards and mixed_up:
        worked = _worked([_trusted(lane.lane, mixed_up) for lane in worked], evidence)
    arrivals = Arrivals(evidence.arrived, _photographed(worked, evidence))
    verdicts = [verdict for lane in worked for verdict in _verdicts(lane, evidence, arrivals)]
    verdicts += [_unplaced(frame, evidence) for frame in sorted(unplaced, key=lambda f: (f.name, f.id))]
    assert len(verdicts) == len(evidence.frames), "frames in = frames out"
    assert {verdict.frame for verdict in verdicts} == {frame.id for frame in evidence.frames}
    return MatchResult(tuple(verdicts), tuple(lane.lane for lane in worked))


def _worked(lanes: Sequence[ShootingLane], evidence: Evidence) -> list[_WorkedLane]:
    slates = doubt_double_turns(lanes, [slate_observations(lane, evidence) for lane in lanes], evidence)
    cuts = [
        cut_runs(lane.frames, found, _by_hand(lane, evidence).keys())
        for lane, found in zip(lanes, slates, strict=True)
    ]
    shown = _shown_near(lanes, slates, evidence.slates_shown)
    likelihoods = _likelihoods(lanes, slates, cuts, shown, evidence)
    return [
        _work(lane, slates[number], shown[number], cuts[number], likelihoods[number], evidence)
        for number, lane in enumerate(lanes)
    ]


def _likelihoods(
    lanes: Sequence[ShootingLane],
    slates: Sequence[Mapping[int, SlateObservation]],
    cuts: Sequence[Sequence[Run]],
    shown: Mapping[int, Sequence[SlateShown]],
    evidence: Evidence,
) -> list[LaneLikelihoods]:
    """What each lane's frames say of changes of people, by what the day shows."""
    looks = [
        LaneLooks(lane.frames, flash_misfires(lane.frames, cut))
        for lane, cut in zip(lanes, cuts, strict=True)
    ]
    runs = [list(runs_of_one_person(cut)) for cut in cuts]
    day = learn_looks(looks, runs)
    forgotten = forgotten_slates(lanes, slates, evidence)
    seen = _times_seen(slates)
    again = frozenset(person for person, times in seen.items() if times > 1)
    return [
        LaneLikelihoods.of(
            lane.frames,
            looks[number],
            day,
            day.lanes[number],
            day_statistics(lane.frames, runs[number]),
            _calls(lane, shown[number], seen),
            again,
            forgotten[number],
        )
        for number, lane in enumerate(lanes)
    ]


def _calls(
    lane: ShootingLane, shown: Sequence[SlateShown], seen: Container[int]
) -> tuple[list[int], list[int]]:
    """How many slates of people of whom none was photographed had been shown by each frame; and how many
    were within moments."""
    times = [showing.at for showing in shown if showing.person not in seen]
    if not times:
        return [], []
    true = np.full(len(lane.frames), -np.inf)
    for piece, clock in zip(lane.pieces, lane.clocks, strict=True):
        taken = np.array([lane.frames[place].taken for place in piece], np.float64)
        true[piece.start : piece.stop] = np.nan_to_num(taken + clock.offset, nan=-np.inf)
    by_then, soon = (np.searchsorted(times, true + later, side="right") for later in (0.0, SHOWN_BEFORE))
    return by_then.tolist(), soon.tolist()


def _trusted(lane: ShootingLane, mixed_up: Container[int]) -> ShootingLane:
    """A lane whose clocks are known as far as they can be. Where parts of the day are interleaved in a
    camera's frames, slates were compared with the times of two clocks and tell nothing, also for copies of
    its frames."""
    if lane.camera not in mixed_up:
        return lane
    unknown = (replace(clock, low=-math.inf, high=math.inf, spans=()) for clock in lane.clocks)
    return replace(lane, clocks=tuple(unknown))


def _times_seen(slates: Sequence[Mapping[int, SlateObservation]]) -> Counter[int]:
    """On how many occasions each person's slate was photographed."""
    seen: Counter[int] = Counter()
    for lane in slates:
        last: tuple[int, int | None] = (-2, None)
        for place, slate in sorted(lane.items()):
            if slate.person is not None and (place - 1, slate.person) != last:
                seen[slate.person] += 1
            last = place, slate.person
    return seen


def _work(
    lane: ShootingLane,
    slates: Mapping[int, SlateObservation],
    shown: Sequence[SlateShown],
    cut: Sequence[Run],
    likelihoods: LaneLikelihoods,
    evidence: Evidence,
) -> _WorkedLane:
    by_hand = _by_hand(lane, evidence)
    named = name_lane(likelihoods, cut)
    named = with_warnings(lane, likelihoods, named, evidence.arrived)
    people = {place: decided.person for place, decided in by_hand.items() if decided.person is not None}
    named = loosen_around_overrides(
        named, {place: who for place, who in people.items() if place not in slates}, slates
    )
    owners = {
        place: slate.person
        for place, slate in slates.items()
        if slate.person is not None and (place in people or place not in by_hand)
    }  # a slate set aside still bounds runs, and lends its person to no run
    places = {frame.id: place for place, frame in enumerate(lane.frames)} if evidence.regroupings else {}
    named = regroup(named, evidence.regroupings, places, owners | people)
    named = doubt_empty_runs(named, cut, likelihoods)
    return _WorkedLane(lane, slates, named, shown, bool(likelihoods.mixed))


def _by_hand(lane: ShootingLane, evidence: Evidence) -> dict[int, Override]:
    """The overrides of a lane's frames, by place."""
    if not evidence.overrides:
        return {}
    return {
        place: evidence.overrides[frame.id]
        for place, frame in enumerate(lane.frames)
        if frame.id in evidence.overrides
    }


def _shown_near(
    lanes: Sequence[ShootingLane],
    slates: Sequence[Mapping[int, SlateObservation]],
    shown: Sequence[SlateShown],
) -> defaultdict[int, list[SlateShown]]:
    """The slates shown at each lane's stations, in the order of time. A station belongs to the lane that soon
    photographs most of the slates that it shows; one that shows slates for a look only, as at the door,
    belongs to none."""
    read: defaultdict[int, list[tuple[float, int]]] = defaultdict(list)
    for number, lane in enumerate(lanes):
        for place, slate in slates[number].items():
            at = lane.true_time(place)
            if slate.person is not None and at is not None:
                read[slate.person].append((at, number))
    votes: defaultdict[str, list[int]] = defaultdict(list)
    in_order = sorted(shown, key=lambda showing: (showing.at, showing.person))
    for showing in in_order:
        soon = (number for at, number in read[showing.person] if abs(at - showing.at) < SHOWN_AFTER)
        votes[showing.station].append(next(soon, -1))
    lane_of = {station: mode(numbers) for station, numbers in votes.items()}
    near: defaultdict[int, list[SlateShown]] = defaultdict(list)
    for showing in in_order:
        near[lane_of[showing.station]].append(showing)
    return near


def _photographed(worked: Sequence[_WorkedLane], evidence: Evidence) -> set[int]:
    """Everybody who has frames."""
    found = {part.person for lane in worked for part in lane.named if part.person is not None}
    return found | {given.person for given in evidence.overrides.values() if given.person is not None}


def _unnamed(lane: _WorkedLane, arrivals: Arrivals) -> Iterator[tuple[NamedRun, float | None, set[int]]]:
    """The loose parts of a lane that show a person, with their expected place in the order of arrival."""
    neighbours = _Neighbours(lane.named)
    for part in lane.named:
        if part.person is None and part.doubt != NOBODY_SEEN:
            before, after = neighbours.of(part.frames[0])
            yield part, arrivals.expected(before, after), {*before[:2], *after[:2]}


def _verdicts(lane: _WorkedLane, evidence: Evidence, arrivals: Arrivals) -> Iterable[FrameVerdict]:
    times = [showing.at for showing in lane.shown]
    suggested = {}
    for part, expected, near in _unnamed(lane, arrivals):
        moment = lane.lane.true_time(part.frames[0])
        just_then = [s for s in shown_before(lane.shown, times, moment) if s.person not in near]
        suggested[part.frames[0]] = suggest_people(arrivals, expected, moment, part.hints, just_then)
    found: dict[int, FrameVerdict] = {}
    for part in lane.named:
        run = lane.lane.frames[part.frames[0] if part.begins is None else part.begins].id
        kind = FrameKind.LOOSE if part.person is None else FrameKind.NAMED
        suggestions = suggested.get(part.frames[0], ())
        for index in part.frames:
            frame = lane.lane.frames[index].id
            found[index] = FrameVerdict(
                frame, kind, part.person, part.how, part.doubt, run, suggestions, part.certainty
            )
    for index, slate in lane.slates.items():
        found[index] = _slate_verdict(lane.lane.frames[index], slate)
    for index, evident in enumerate(lane.lane.frames):
        yield (evidence.overrides and _decided(evident, evidence)) or found[index]


class _Neighbours:
    """The people named before and after a place in a lane."""

    def __init__(self, named: Sequence[NamedRun]) -> None:
        places = sorted((part.frames[0], part.person) for part in named if part.person is not None)
        self._starts = [place for place, _ in places]
        self._people = [person for _, person in places]

    def of(self, index: int) -> tuple[Sequence[int], Sequence[int]]:
        """The people before, the nearest first, and those after."""
        at = bisect_left(self._starts, index)
        return self._people[max(at - NEAR, 0) : at][::-1], self._people[at : at + NEAR]


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
    doubt = "neither its time nor its counter tells its place in the day"
    return _decided(frame, evidence) or FrameVerdict(frame.id, FrameKind.LOOSE, doubt=doubt, run=frame.id)
