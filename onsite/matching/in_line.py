"""Deck cards that, by what is known of the clock, may have been one of several people's: the queue may tell.

Where one came when those photographed around came, and all others long after, the card was theirs, if no
other slate shows them. To be wrong takes somebody who was let through, at the
very end of what the clock allows, with a card whose other holder was never photographed with theirs.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace

from onsite.matching.evidence import Evidence, FrameEvidence
from onsite.matching.marks import Mark, Meaning, code_of
from onsite.matching.order import Lane
from onsite.matching.queue import Queue

Marks = dict[int, Mark]


def settle_by_queue(lanes: Sequence[Lane], marks: Sequence[Marks], evidence: Evidence) -> list[Marks]:
    """The marks of all lanes, with the slates settled that only one person's turn fits. What is settled may
    settle more: whoever has a slate now needs no other."""
    settled = _settled(lanes, marks, evidence)
    return settled if settled == list(marks) else settle_by_queue(lanes, settled, evidence)


def _settled(lanes: Sequence[Lane], marks: Sequence[Marks], evidence: Evidence) -> list[Marks]:
    seen = {mark.person for lane in marks for mark in lane.values() if mark.person is not None}
    found = [
        dict(_fitting(lane, of_lane, evidence, seen)) for lane, of_lane in zip(lanes, marks, strict=True)
    ]
    turns = Counter(
        person for some in found for place, person in some.items() if some.get(place - 1) != person
    )
    return [
        of_lane
        | {
            place: replace(of_lane[place], meaning=Meaning.SLATE, person=person, possible=())
            for place, person in some.items()
            if turns[person] == 1
        }
        for of_lane, some in zip(marks, found, strict=True)
    ]


def _fitting(
    lane: Lane, marks: Marks, evidence: Evidence, seen: Collection[int]
) -> Iterator[tuple[int, int]]:
    """The places of unsettled slates and the only person whose each can be."""
    for piece in lane.pieces:
        unsure = [place for place in piece if place in marks and marks[place].meaning is Meaning.UNSETTLED]
        queue = _queue(lane, piece, marks, evidence) if unsure else None
        for place in unsure if queue else ():
            assert queue is not None
            came = {person: _came(lane.frames[place], person, evidence) for person in marks[place].possible}
            person = _only_one(queue, place, came, seen)
            if person is not None:
                yield place, person


def _queue(lane: Lane, piece: range, marks: Mapping[int, Mark], evidence: Evidence) -> Queue | None:
    whose = ((place, marks[place].person) for place in piece if place in marks)
    return Queue.of(
        (place, came)
        for place, person in whose
        if person is not None and (came := _came(lane.frames[place], person, evidence)) is not None
    )


def _only_one(
    queue: Queue, place: int, came: Mapping[int, float | None], seen: Collection[int]
) -> int | None:
    """Who came when those around that place came, where all others came too late, or earlier and have slates
    elsewhere."""
    left = [person for person, at in came.items() if at is None or not queue.is_late(place, at)]
    apart = {person: 0.0 if at is None else abs(at - queue.usual(place)) for person, at in came.items()}
    nearest = min(left, key=lambda person: (apart[person], person), default=None)
    if nearest is None or nearest in seen or apart[nearest] > queue.late / 2:
        return None
    return nearest if all(person in seen for person in left if person != nearest) else None


def _came(frame: FrameEvidence, person: int, evidence: Evidence) -> float | None:
    """By how many seconds a person came after the camera's time of a frame; None where that is not known. An
    arrival may have been typed in late, and not so the card."""
    code = code_of(frame, evidence.shoot)
    times = [tie.at for tie in evidence.cards.get(code or "", ()) if tie.person == person][:1]
    times += [evidence.arrived[person]] if person in evidence.arrived else []
    return None if frame.taken is None or not times else min(times) - frame.taken
