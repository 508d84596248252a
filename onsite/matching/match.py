"""The whole match: evidence in, a verdict on every frame out. The same evidence gives the same answer."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from onsite.matching.by_hand import loosen, regroup
from onsite.matching.clocks import Clock, TiedBy
from onsite.matching.doubts import NOBODY_SEEN
from onsite.matching.empty import without_anybody
from onsite.matching.evidence import ByHand, Evidence, FrameEvidence, FrameKind, FrameVerdict, How, Shown
from onsite.matching.flags import flagged
from onsite.matching.handed_on import doubt_late_ties
from onsite.matching.in_line import settle_by_queue
from onsite.matching.light import misfires
from onsite.matching.looks import Looks
from onsite.matching.marks import Mark, Meaning, marks_of
from onsite.matching.naming import Named, name_lane
from onsite.matching.order import Lane, lanes
from onsite.matching.runs import stretches
from onsite.matching.sense import LaneSense
from onsite.matching.set_meanwhile import with_clocks
from onsite.matching.suggest import HINTED, SHOWN_WITHIN, Arrivals, Hint, shown_before, suggest
from onsite.matching.together import fitted_together
from onsite.matching.usual import usual_of

_FAR = 6  # people before and after loose frames who are looked at
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
    mixed_up: bool
    """Whether parts of the day are mixed up in it."""
    again: Sequence[tuple[float, Shown]] = ()
    """Slates shown again at its stations and not read then, at times of its camera."""

    def true_time(self, index: int) -> float | None:
        taken = self.lane.frames[index].taken
        return None if taken is None else clock_at(self.lane, self.clocks, index).true(taken)


def match(evidence: Evidence) -> Match:
    """Names for frames. Raises AssertionError if a frame were lost or doubled on the way: it never is."""
    found, unplaced = lanes(evidence.frames)
    settled = [with_clocks(lane, evidence) for lane in found]
    placed = [lane for lane, _ in settled]
    clocks = fitted_together(placed, [clocks for _, clocks in settled], evidence)
    worked = _worked(placed, clocks, evidence)
    mixed_up = {lane.lane.camera for lane in worked if lane.mixed_up}
    if evidence.cards_go_round and mixed_up:
        worked = _worked(placed, [_trusted(lane, mixed_up) for lane in worked], evidence)
    arrivals = Arrivals(evidence.arrived, _photographed(worked, evidence))
    arrivals.share_out(
        {
            lane.lane.frames[part.frames[0]].id: expected
            for lane in worked
            for part, expected in _unnamed(lane, arrivals)
            if all(hint.score < HINTED for hint in part.hints)
        }
    )
    shown = sorted(evidence.shown, key=lambda showing: (showing.at, showing.person))
    verdicts = [verdict for lane in worked for verdict in _verdicts(lane, evidence, arrivals, shown)]
    verdicts += [_unplaced(frame, evidence) for frame in sorted(unplaced, key=lambda f: (f.name, f.id))]
    assert sorted(v.frame for v in verdicts) == sorted(f.id for f in evidence.frames), (
        "frames in = frames out"
    )
    return Match(tuple(verdicts), tuple(placed), tuple(tuple(lane.clocks) for lane in worked))


def _worked(lanes: Sequence[Lane], clocks: Sequence[Sequence[Clock]], evidence: Evidence) -> list[_Lane]:
    read = [marks_of(*one, evidence) for one in zip(lanes, clocks, strict=True)]
    marks = doubt_late_ties(lanes, clocks, settle_by_queue(lanes, read, evidence), evidence)
    again, has_slate = _again(marks), _with_slate(marks)
    return [_work(*one, evidence, again, has_slate) for one in zip(lanes, clocks, marks, strict=True)]


def _trusted(lane: _Lane, mixed_up: Container[int]) -> Sequence[Clock]:
    """The clocks of a lane. Where parts of the day are mixed up in a camera's frames, arrivals were compared
    with the times of two clocks, and tell nothing, nor do they for copies of its frames."""
    if lane.lane.camera not in mixed_up:
        return lane.clocks
    return [
        replace(clock, low=-math.inf, high=math.inf, spans=()) if clock.tied_by is TiedBy.ARRIVALS else clock
        for clock in lane.clocks
    ]


def clock_at(lane: Lane, clocks: Sequence[Clock], index: int) -> Clock:
    """The clock of the piece in which that frame of the lane is."""
    return next(clock for piece, clock in zip(lane.pieces, clocks, strict=True) if index in piece)


def _again(marks: Sequence[Mapping[int, Mark]]) -> frozenset[int]:
    """People whose slates were photographed on several occasions."""
    seen: Counter[int] = Counter()
    for lane in marks:
        last: tuple[int, int | None] = (-2, None)
        for place, mark in sorted(lane.items()):
            if mark.person is not None and (place - 1, mark.person) != last:
                seen[mark.person] += 1
            last = place, mark.person
    return frozenset(person for person, times in seen.items() if times > 1)


def _with_slate(marks: Sequence[Mapping[int, Mark]]) -> frozenset[int]:
    """People whose slates were read."""
    return frozenset(mark.person for lane in marks for mark in lane.values() if mark.person is not None)


def _work(
    lane: Lane,
    clocks: Sequence[Clock],
    marks: Mapping[int, Mark],
    evidence: Evidence,
    again: frozenset[int],
    has_slate: frozenset[int],
) -> _Lane:
    by_hand = _by_hand(lane, evidence)
    cut = stretches(len(lane.frames), marks, by_hand.keys())
    looks = Looks(lane.frames, misfires(lane.frames, cut))
    sense = LaneSense.of(lane.frames, looks, usual_of(lane.frames, cut, looks))
    unread = _showings(lane, clocks, marks, evidence)
    missing = [one for one in unread if one[1].person not in has_slate]
    named = name_lane(sense, cut, missing, again)
    named = flagged(lane, clocks, sense, named, evidence.arrived)
    people = {place: decided.person for place, decided in by_hand.items() if decided.person is not None}
    named = loosen(named, {place: who for place, who in people.items() if place not in marks}, marks)
    slates = {
        place: mark.person
        for place, mark in marks.items()
        if mark.person is not None and (place in people or place not in by_hand)
    }  # one that hands set aside still bounds runs, and lends its person to none
    places = {frame.id: place for place, frame in enumerate(lane.frames)} if evidence.regrouped else {}
    named = regroup(named, evidence.regrouped, places, slates | people)
    named = without_anybody(named, cut, sense)
    shown_again = [one for one in unread if one[1].person in has_slate]
    return _Lane(lane, clocks, marks, named, bool(sense.mixed), shown_again)


def _by_hand(lane: Lane, evidence: Evidence) -> dict[int, ByHand]:
    """What hands decided on the frames of a lane, by their places in it."""
    if not evidence.by_hand:
        return {}
    return {
        place: evidence.by_hand[frame.id]
        for place, frame in enumerate(lane.frames)
        if frame.id in evidence.by_hand
    }


def _showings(
    lane: Lane, clocks: Sequence[Clock], marks: Mapping[int, Mark], evidence: Evidence
) -> list[tuple[float, Shown]]:
    """Slates shown at this lane's stations and not read about then, at its camera's times, in their order.

    A station belongs to the lane that reads most of the slates it shows, and soon; one that shows slates for
    a look only, as at the door, to none.
    """
    if not evidence.shown:
        return []
    read: dict[int, list[float]] = {}
    for index, mark in marks.items():
        taken = lane.frames[index].taken
        if mark.person is not None and mark.meaning is Meaning.SLATE:
            at = math.inf if taken is None else clock_at(lane, clocks, index).true(taken)
            read.setdefault(mark.person, []).append(at)

    def is_read(showing: Shown) -> bool:
        return any(
            abs(at - showing.at) < _READ_WITHIN or at == math.inf for at in read.get(showing.person, ())
        )

    total = Counter(showing.station for showing in evidence.shown)
    soon = Counter(showing.station for showing in evidence.shown if is_read(showing))
    mine = {station for station, count in soon.items() if 2 * count > total[station]}
    unread = [s for s in evidence.shown if s.station in mine and not is_read(s)]
    found = [
        one
        for piece, clock in zip(lane.pieces, clocks, strict=True)
        for one in _in(lane, piece, clock, unread)
    ]
    return sorted(found, key=lambda one: (one[0], one[1].person))


def _in(lane: Lane, piece: range, clock: Clock, showings: Iterable[Shown]) -> Iterator[tuple[float, Shown]]:
    """Those of the showings that fall into a piece of a lane, by its clock."""
    times = [taken for place in piece if (taken := lane.frames[place].taken) is not None]
    if times:
        first, last = min(times) - _READ_WITHIN, max(times) + _READ_WITHIN
        yield from (
            (at, showing) for showing in showings if first <= (at := showing.at - clock.offset) <= last
        )


def _photographed(worked: Sequence[_Lane], evidence: Evidence) -> set[int]:
    """Everybody who has frames."""
    found = {part.person for lane in worked for part in lane.named if part.person is not None}
    return found | {given.person for given in evidence.by_hand.values() if given.person is not None}


def _unnamed(lane: _Lane, arrivals: Arrivals) -> Iterator[tuple[Named, float | None]]:
    """The loose parts of a lane on which somebody is to be seen, with the place in the order of arrival that
    they should have."""
    neighbours = _Neighbours(lane.named)
    for part in lane.named:
        if part.person is None and part.doubt != NOBODY_SEEN:
            yield part, arrivals.expected(*neighbours.of(part.frames[0]))


def _verdicts(
    lane: _Lane, evidence: Evidence, arrivals: Arrivals, shown: Sequence[Shown]
) -> Iterable[FrameVerdict]:
    times = [showing.at for showing in shown]
    suggested = {}
    for part, expected in _unnamed(lane, arrivals):
        moment = lane.true_time(part.frames[0])
        just_then = shown_before(shown, times, moment)
        hints = (*part.hints, *_shown_again(lane, part))
        left = arrivals.shared(lane.lane.frames[part.frames[0]].id)
        suggested[part.frames[0]] = suggest(arrivals, expected, moment, hints, just_then, left)
    found: dict[int, FrameVerdict] = {}
    for part in lane.named:
        run = lane.lane.frames[part.frames[0] if part.begins is None else part.begins].id
        kind = FrameKind.LOOSE if part.person is None else FrameKind.NAMED
        suggestions = suggested.get(part.frames[0], ())
        for index in part.frames:
            frame = lane.lane.frames[index].id
            found[index] = FrameVerdict(frame, kind, part.person, part.how, part.doubt, run, suggestions)
    for index, mark in lane.marks.items():
        found[index] = _slate_verdict(lane.lane.frames[index], mark)
    for index, evident in enumerate(lane.lane.frames):
        yield _decided(evident, evidence) or found[index]


def _shown_again(lane: _Lane, part: Named) -> Iterator[Hint]:
    """Whose slate was shown again just before or during loose frames. It takes no name away: somebody may
    only have looked. Where frames are loose anyhow it points to who may have come back."""
    times = [taken for place in part.frames if (taken := lane.lane.frames[place].taken) is not None]
    if times and lane.again:
        first = bisect_left(lane.again, min(times) - SHOWN_WITHIN, key=lambda one: one[0])
        last = bisect_right(lane.again, max(times), key=lambda one: one[0])
        yield from (
            Hint(showing.person, "their slate was shown then") for _, showing in lane.again[first:last]
        )


class _Neighbours:
    """Who is named before and after a place in a lane."""

    def __init__(self, named: Sequence[Named]) -> None:
        places = sorted((part.frames[0], part.person) for part in named if part.person is not None)
        self._starts = [place for place, _ in places]
        self._people = [person for _, person in places]

    def of(self, index: int) -> tuple[Sequence[int], Sequence[int]]:
        """Those before, the nearest first, and those after."""
        at = bisect_left(self._starts, index)
        return self._people[max(at - _FAR, 0) : at][::-1], self._people[at : at + _FAR]


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
