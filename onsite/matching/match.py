"""The whole match: evidence in, a verdict on every frame out. The same evidence gives the same answer."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from onsite.matching.by_hand import loosen, regroup
from onsite.matching.clocks import Clock, TiedBy
from onsite.matching.evidence import Evidence, FrameEvidence, FrameKind, FrameVerdict, How, Shown, Suggestion
from onsite.matching.light import misfires
from onsite.matching.looks import Looks
from onsite.matching.marks import Mark, Meaning, marks_of
from onsite.matching.naming import Named, name_lane
from onsite.matching.order import Lane, lanes
from onsite.matching.runs import stretches
from onsite.matching.sense import LaneSense
from onsite.matching.set_forward import cut_where_set, lane_clocks
from onsite.matching.suggest import Arrivals, shown_before, suggest
from onsite.matching.usual import usual_of

_READ_WITHIN = 600.0  # seconds between a slate shown and the same slate read


@dataclass(frozen=True, slots=True)
class Match:
    """`verdicts` in shooting order, lane after lane; `clocks` one per piece of each lane."""

    verdicts: tuple[FrameVerdict, ...]
    lanes: tuple[Lane, ...]
    clocks: tuple[tuple[Clock, ...], ...]

    def count(self) -> dict[FrameKind, int]:
        kinds = Counter(verdict.kind for verdict in self.verdicts)
        return {kind: kinds[kind] for kind in FrameKind}


@dataclass(frozen=True, slots=True)
class _Lane:
    """A lane on its way through the match."""

    lane: Lane
    clocks: Sequence[Clock]
    marks: Mapping[int, Mark]
    named: Sequence[Named]

    def true_time(self, index: int) -> float | None:
        taken = self.lane.frames[index].taken
        return None if taken is None else clock_at(self.lane, self.clocks, index).true(taken)


def match(evidence: Evidence) -> Match:
    """Names for frames. Raises AssertionError if a frame were lost or doubled on the way: it never is."""
    found, unplaced = lanes(evidence.frames)
    placed = [cut_where_set(lane, evidence) for lane in found]
    clocks = _clocks(placed, evidence)
    worked = [_work(lane, lane_clock, evidence) for lane, lane_clock in zip(placed, clocks, strict=True)]
    with_frames = {part.person for lane in worked for part in lane.named if part.person is not None}
    with_frames |= {decision.person for decision in evidence.by_hand.values() if decision.person is not None}
    arrivals = Arrivals(evidence.arrived, with_frames)
    shown = sorted(evidence.shown, key=lambda showing: (showing.at, showing.person))
    verdicts = [verdict for lane in worked for verdict in _verdicts(lane, evidence, arrivals, shown)]
    verdicts += [_unplaced(frame, evidence) for frame in sorted(unplaced, key=lambda f: (f.name, f.id))]
    assert sorted(v.frame for v in verdicts) == sorted(f.id for f in evidence.frames), (
        "frames in = frames out"
    )
    return Match(tuple(verdicts), tuple(placed), tuple(tuple(lane.clocks) for lane in worked))


def clock_at(lane: Lane, clocks: Sequence[Clock], index: int) -> Clock:
    """The clock of the piece in which that frame of the lane is."""
    return next(clock for piece, clock in zip(lane.pieces, clocks, strict=True) if index in piece)


def _clocks(placed: Sequence[Lane], evidence: Evidence) -> list[list[Clock]]:
    """The clocks of all lanes; where only arrivals tie one, what the other lanes have read helps."""
    alone = [lane_clocks(lane, evidence) for lane in placed]
    if len(placed) < 2 or not evidence.cards:
        return alone
    read = [
        frozenset(
            mark.person
            for mark in marks_of(lane, clocks, evidence).values()
            if mark.meaning is Meaning.SLATE and mark.person is not None
        )
        for lane, clocks in zip(placed, alone, strict=True)
    ]
    together = []
    for number, (lane, clocks) in enumerate(zip(placed, alone, strict=True)):
        if all(clock.tied_by is not TiedBy.ARRIVALS for clock in clocks):
            together.append(clocks)
        else:
            elsewhere = frozenset().union(*(people for other, people in enumerate(read) if other != number))
            together.append(lane_clocks(lane, evidence, elsewhere))
    return together


def _work(lane: Lane, clocks: Sequence[Clock], evidence: Evidence) -> _Lane:
    marks = marks_of(lane, clocks, evidence)
    settled = frozenset(i for i, frame in enumerate(lane.frames) if frame.id in evidence.by_hand)
    cut = stretches(len(lane.frames), marks, settled)
    looks = Looks(lane.frames, misfires(lane.frames, cut))
    sense = LaneSense(lane.frames, looks, usual_of(lane.frames, cut, looks))
    named = name_lane(sense, cut, _showings(lane, clocks, marks, evidence))
    people = _people_by_hand(lane, evidence)
    named = loosen(named, {place: who for place, who in people.items() if place not in marks}, marks)
    slates = {
        place: mark.person
        for place, mark in marks.items()
        if mark.person is not None and (place in people or place not in settled)
    }  # one that hands set aside still bounds runs, and lends its person to none
    places = {frame.id: place for place, frame in enumerate(lane.frames)} if evidence.regrouped else {}
    return _Lane(lane, clocks, marks, regroup(named, evidence.regrouped, places, slates | people))


def _people_by_hand(lane: Lane, evidence: Evidence) -> dict[int, int]:
    """The places in a lane whose frames were given to somebody by hand, and to whom."""
    return {
        place: decision.person
        for place, frame in enumerate(lane.frames)
        if (decision := evidence.by_hand.get(frame.id)) is not None and decision.person is not None
    }


def _showings(
    lane: Lane, clocks: Sequence[Clock], marks: Mapping[int, Mark], evidence: Evidence
) -> list[tuple[float, Shown]]:
    """Slates shown at this lane's stations that it has not read, at times of its camera.

    A slate that this lane read about then is no sign of a missing one. A station belongs to the lane that
    reads the people whose slates it shows; where a showing fits no lane, it counts for none.
    """
    if not evidence.shown or len(clocks) != 1:
        return []
    offset = clocks[0].offset
    read: dict[int, list[float]] = {}
    for index, mark in marks.items():
        taken = lane.frames[index].taken
        if mark.person is not None and mark.meaning is Meaning.SLATE:
            read.setdefault(mark.person, []).append(math.inf if taken is None else taken + offset)
    theirs = Counter(showing.station for showing in evidence.shown if showing.person in read)
    total = Counter(showing.station for showing in evidence.shown)
    mine = {station for station, count in theirs.items() if 2 * count > total[station]}
    return [
        (showing.at - offset, showing)
        for showing in evidence.shown
        if showing.station in mine
        and not any(
            abs(at - showing.at) < _READ_WITHIN or at == math.inf for at in read.get(showing.person, ())
        )
    ]


def _verdicts(
    lane: _Lane, evidence: Evidence, arrivals: Arrivals, shown: Sequence[Shown]
) -> Iterable[FrameVerdict]:
    times = [showing.at for showing in shown]
    neighbours = _Neighbours(lane.named)
    found: dict[int, FrameVerdict] = {}
    for part in lane.named:
        first = part.frames[0]
        run = lane.lane.frames[first if part.begins is None else part.begins].id
        suggestions: tuple[Suggestion, ...] = ()
        if part.person is None:
            moment = lane.true_time(first)
            before, after = neighbours.of(first)
            suggestions = suggest(
                arrivals, moment, before, after, part.hints, shown_before(shown, times, moment)
            )
        kind = FrameKind.LOOSE if part.person is None else FrameKind.NAMED
        for index in part.frames:
            frame = lane.lane.frames[index].id
            found[index] = FrameVerdict(frame, kind, part.person, part.how, part.doubt, run, suggestions)
    for index, mark in lane.marks.items():
        found[index] = _slate_verdict(lane.lane.frames[index], mark)
    for index, evident in enumerate(lane.lane.frames):
        yield _decided(evident, evidence) or found[index]


class _Neighbours:
    """Who is named before and after a place in a lane."""

    def __init__(self, named: Sequence[Named]) -> None:
        places = sorted((part.frames[0], part.person) for part in named if part.person is not None)
        self._starts = [place for place, _ in places]
        self._people = [person for _, person in places]

    def of(self, index: int) -> tuple[int | None, int | None]:
        at = bisect_left(self._starts, index)
        before = self._people[at - 1] if at else None
        return before, self._people[at] if at < len(self._people) else None


def _slate_verdict(frame: FrameEvidence, mark: Mark) -> FrameVerdict:
    if mark.meaning is Meaning.SLATE:
        how = How.TAIL_SLATE if mark.upside_down else How.SLATE
        return FrameVerdict(frame.id, FrameKind.SLATE, mark.person, how, run=frame.id)
    return FrameVerdict(frame.id, FrameKind.SLATE, doubt=mark.meaning.value, run=frame.id)


def _decided(frame: FrameEvidence, evidence: Evidence) -> FrameVerdict | None:
    decision = evidence.by_hand.get(frame.id)
    if decision is None:
        return None
    kind = FrameKind.ASIDE if decision.person is None else FrameKind.NAMED
    return FrameVerdict(frame.id, kind, decision.person, How.HAND, run=frame.id)


def _unplaced(frame: FrameEvidence, evidence: Evidence) -> FrameVerdict:
    doubt = "neither its time nor its counter tells its place in the day"
    return _decided(frame, evidence) or FrameVerdict(frame.id, FrameKind.LOOSE, doubt=doubt, run=frame.id)
