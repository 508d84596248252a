"""Deck cards that, by what is known of the clock, may have been one of several people's: the queue may tell.

A card was theirs who came when those photographed around came, if each of its other possible holders has a
slate elsewhere. To be wrong takes somebody who was let through at the very end of what the clock allows, or
came back, with a card whose other holder never showed theirs to a camera.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from onsite.matching.evidence import Evidence, FrameEvidence
from onsite.matching.marks import SlateObservation, SlateStatus, code_of
from onsite.matching.order import ShootingLane
from onsite.matching.queue import ArrivalOrder

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
