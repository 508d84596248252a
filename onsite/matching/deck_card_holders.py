"""Deck cards that, by what is known of the clock, may have been one of several people's: the queue may tell.

A card was theirs who came when those photographed around came, if each of its other possible holders has a
slate elsewhere. To be wrong takes somebody who was let through at the very end of what the clock allows, or
came back, with a card whose other holder never showed theirs to a camera.
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
    """Who came when those around a lane's place came, of several people who may have held its card."""

    lane: int
    place: int
    person: int
    others: frozenset[int]


def settle_by_arrival_order(
    lanes: Sequence[ShootingLane], marks: Sequence[SlateObservations], evidence: Evidence
) -> list[SlateObservations]:
    """The marks of all lanes, with the slates settled that only one person's turn fits. What is settled may
    settle more: whoever has a slate now needs no other."""
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
    """The guesses that give everybody one turn, and leave no possible holder of a card without a slate."""
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
    """People who would have one turn: the same slate in a row is one."""
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
    """By how many seconds a person came after the camera's time of a frame; None where that is not known. An
    arrival may have been typed in late, and not so the card."""
    code = code_of(frame, evidence.shoot)
    times = [tie.at for tie in evidence.cards.get(code or "", ()) if tie.person == person][:1]
    times += [evidence.arrived[person]] if person in evidence.arrived else []
    return None if frame.taken is None or not times else min(times) - frame.taken


# TODO Deck cards that changed hands before the door had written it down.
# TODO
# TODO By the record a card may still be somebody's who was photographed with it long before, while whoever
# got it TODO next has no slate on the whole day: then it is not settled whose it was.

_AGAIN = 240.0  # seconds from which on a card that is shown again is another run


def doubt_late_assignments(
    lanes: Sequence[ShootingLane],
    clocks: Sequence[Sequence[ClockOffset]],
    marks: Sequence[dict[int, SlateObservation]],
    evidence: Evidence,
) -> list[dict[int, SlateObservation]]:
    """The marks of all lanes, with the slates unsettled that may be of the card's next holder."""
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
    """Who got a card after somebody, by its code and them."""
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
    """When deck cards were photographed whose holder is taken for known: (true time, lane, place, code)."""
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


# TODO People stand in a queue: who is photographed now came at about the time when those around them came.
# TODO
# TODO Now and then somebody is let through, or lets others go first. So this settles nothing by itself; it
# speaks TODO for a clock that has everybody in line, and against a card's next holder, who came long after
# all others TODO around.

_AROUND = 5  # slates before, and after
_LATE = 900.0  # seconds after the others, at least, that are no chance of the queue
_WIDELY = 0.9  # of the slates: what is usual


@dataclass(frozen=True, slots=True)
class ArrivalOrder:
    """Of the slates of one camera with one clock that are one person's for sure: their `places` in the order
    taken, and how far before the camera's time of each its person `came`, in seconds (below 0)."""

    places: npt.NDArray[np.int64]
    came: npt.NDArray[np.float64]
    late: float

    @classmethod
    def of(cls, sure: Iterable[tuple[int, float]]) -> ArrivalOrder | None:
        """None where there are too few to tell."""
        pairs = sorted(sure)
        if len(pairs) < 2 * _AROUND:
            return None
        queue = cls(np.array([place for place, _ in pairs]), np.array([came for _, came in pairs]), _LATE)
        apart = np.abs([came - queue.expected(place) for place, came in pairs])
        return cls(queue.places, queue.came, max(_LATE, 2 * float(np.quantile(apart, _WIDELY))))

    def expected(self, place: int) -> float:
        """When those around that place came."""
        at = int(np.searchsorted(self.places, place))
        first = min(max(at - _AROUND, 0), len(self.places) - 2 * _AROUND)
        return float(np.median(self.came[first : first + 2 * _AROUND]))

    def is_late(self, place: int, came: float) -> bool:
        """Whether somebody came long after those around that place."""
        return came - self.expected(place) > self.late
