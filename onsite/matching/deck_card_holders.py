"""Deck cards whose holder the clock leaves open: settled or doubted by the order of arrival.

People are photographed roughly in the order in which they arrive. Now and then somebody is let through, or
lets others go first, so the order settles nothing by itself. A slate is given to the possible holder who
arrived when those photographed around it arrived, if every other possible holder has a slate elsewhere. To be
wrong takes somebody let through at the very end of what the clock allows, or somebody who came back, with a
card whose other holder was never photographed with it.

A card may also change hands before the door records it: by the record it is still held by somebody
photographed with it long before, while its next holder has no slate all day. Then its slate stays unsettled.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from onsite.matching.clock_offset import ClockOffset
from onsite.matching.evidence import Evidence, FrameEvidence
from onsite.matching.shooting_order import ShootingLane
from onsite.matching.slate_status import SlateObservation, SlateStatus, code_of

SlateObservations = dict[int, SlateObservation]


@dataclass(frozen=True, slots=True)
class _Guess:
    """The possible holder of a card who arrived when those around a place in a lane arrived."""

    lane: int
    place: int
    person: int
    others: frozenset[int]


def settle_by_arrival_order(
    lanes: Sequence[ShootingLane], marks: Sequence[SlateObservations], evidence: Evidence
) -> list[SlateObservations]:
    """The slate observations of all lanes, with the slates settled that only one possible holder's arrival
    fits. Repeated, since what is settled may settle more: whoever has a slate now needs no other."""
    seen = {mark.person for lane in marks for mark in lane.values() if mark.person is not None}
    guesses = [
        guess
        for number, lane in enumerate(lanes)
        for guess in _guesses(number, lane, marks[number], evidence)
        if guess.person not in seen
    ]
    bearing = _bearing_each_other_out(guesses, seen)
    settled = [dict(lane) for lane in marks]
    for guess in bearing:
        mark = settled[guess.lane][guess.place]
        settled[guess.lane][guess.place] = replace(
            mark, status=SlateStatus.SLATE, person=guess.person, possible=()
        )
    return settle_by_arrival_order(lanes, settled, evidence) if bearing else settled


def _bearing_each_other_out(guesses: Sequence[_Guess], seen: Collection[int]) -> list[_Guess]:
    """The guesses that give everybody one turn and leave no possible holder of a card without a slate."""
    left = list(guesses)
    while True:
        once = _with_one_turn(left)
        fitting = [
            guess
            for guess in left
            if guess.person in once and all(other in once or other in seen for other in guess.others)
        ]
        if len(fitting) == len(left):
            return left
        left = fitting


def _with_one_turn(guesses: Sequence[_Guess]) -> set[int]:
    """People who would have one turn: the same slate in consecutive frames is one turn."""
    places = {(guess.lane, guess.place, guess.person) for guess in guesses}
    turns = Counter(person for lane, place, person in places if (lane, place - 1, person) not in places)
    return {person for person, count in turns.items() if count == 1}


def _guesses(
    number: int, lane: ShootingLane, marks: SlateObservations, evidence: Evidence
) -> Iterator[_Guess]:
    for piece in lane.pieces:
        unsure = [place for place in piece if place in marks and marks[place].status is SlateStatus.UNSETTLED]
        queue = _queue(lane, piece, marks, evidence) if unsure else None
        for place in unsure if queue else ():
            assert queue is not None
            frame, people = lane.frames[place], marks[place].possible
            came = {person: _came(frame, person, evidence) for person in people}
            apart = {p: 0.0 if at is None else abs(at - queue.expected(place)) for p, at in came.items()}
            nearest = min(apart, key=lambda person: (apart[person], person), default=None)
            if nearest is not None and apart[nearest] <= queue.late:
                yield _Guess(number, place, nearest, frozenset(people) - {nearest})


def _queue(
    lane: ShootingLane, piece: range, marks: Mapping[int, SlateObservation], evidence: Evidence
) -> ArrivalOrder | None:
    whose = ((place, marks[place].person) for place in piece if place in marks)
    return ArrivalOrder.of(
        (place, came)
        for place, person in whose
        if person is not None and (came := _came(lane.frames[place], person, evidence)) is not None
    )


def _came(frame: FrameEvidence, person: int, evidence: Evidence) -> float | None:
    """Seconds by which a person arrived after a frame's camera time; None where unknown. The earlier of
    arrival and first card assignment counts, since an arrival may have been typed in late."""
    code = code_of(frame, evidence.shoot)
    times = [tie.at for tie in evidence.cards.get(code or "", ()) if tie.person == person][:1]
    times += [evidence.arrived[person]] if person in evidence.arrived else []
    return None if frame.taken is None or not times else min(times) - frame.taken


_AGAIN = 240.0  # seconds from which on a card shown again opens another run


def doubt_late_assignments(
    lanes: Sequence[ShootingLane],
    clocks: Sequence[Sequence[ClockOffset]],
    marks: Sequence[dict[int, SlateObservation]],
    evidence: Evidence,
) -> list[dict[int, SlateObservation]]:
    """The slate observations of all lanes, with the slates unsettled that may be the card's next holder's."""
    following = _following(evidence)
    if not following:
        return list(marks)
    photographed = {mark.person for lane in marks for mark in lane.values() if mark.person is not None}
    doubted = [dict(lane) for lane in marks]
    first: dict[tuple[str, int], float] = {}
    for at, number, place, code in sorted(_sightings(lanes, clocks, marks, evidence)):
        mark = marks[number][place]
        assert mark.person is not None
        begun = first.setdefault((code, mark.person), at)
        heir = following.get((code, mark.person))
        if at - begun > _AGAIN and heir is not None and heir not in photographed:
            possible = tuple(sorted((mark.person, heir)))
            doubted[number][place] = replace(
                mark, status=SlateStatus.UNSETTLED, person=None, possible=possible
            )
    return doubted


def _following(evidence: Evidence) -> dict[tuple[str, int], int]:
    """The next holder of a card, by its code and its holder."""
    return {
        (code, tie.person): after.person
        for code, ties in evidence.cards.items()
        for tie, after in pairwise(ties)
        if after.person != tie.person
    }


def _sightings(
    lanes: Sequence[ShootingLane],
    clocks: Sequence[Sequence[ClockOffset]],
    marks: Sequence[Mapping[int, SlateObservation]],
    evidence: Evidence,
) -> list[tuple[float, int, int, str]]:
    """Photographs of deck cards whose holder is settled: (true time, lane, place, code)."""
    found = []
    for number, (lane, lane_clocks) in enumerate(zip(lanes, clocks, strict=True)):
        for piece, clock in zip(lane.pieces, lane_clocks, strict=True):
            for place in piece:
                mark, frame = marks[number].get(place), lane.frames[place]
                if mark is None or mark.person is None or mark.is_override or frame.taken is None:
                    continue
                code = code_of(frame, evidence.shoot)
                if code is not None and code in evidence.cards:
                    found.append((clock.true(frame.taken), number, place, code))
    return found


_AROUND = 5  # slates before, and after
_LATE = 900.0  # least seconds after the others that are not chance
_WIDELY = 0.9  # share of the slates that counts as typical


@dataclass(frozen=True, slots=True)
class ArrivalOrder:
    """When people arrived, along those slates of one camera and clock that surely have a single owner."""

    places: npt.NDArray[np.int64]
    """Places of these slates in the lane, in the order taken."""
    came: npt.NDArray[np.float64]
    """Seconds by which each slate's person arrived after its camera time (below 0)."""
    late: float
    """Seconds after the others from which on a person is late."""

    @classmethod
    def of(cls, sure: Iterable[tuple[int, float]]) -> ArrivalOrder | None:
        """None where there are too few slates."""
        pairs = sorted(sure)
        if len(pairs) < 2 * _AROUND:
            return None
        queue = cls(np.array([place for place, _ in pairs]), np.array([came for _, came in pairs]), _LATE)
        apart = np.abs([came - queue.expected(place) for place, came in pairs])
        return cls(queue.places, queue.came, max(_LATE, 2 * float(np.quantile(apart, _WIDELY))))

    def expected(self, place: int) -> float:
        """The median arrival of those around a place."""
        at = int(np.searchsorted(self.places, place))
        first = min(max(at - _AROUND, 0), len(self.places) - 2 * _AROUND)
        return float(np.median(self.came[first : first + 2 * _AROUND]))

    def is_late(self, place: int, came: float) -> bool:
        """Whether somebody arrived long after those around a place."""
        return came - self.expected(place) > self.late
