"""Deck cards that changed hands before the door had written it down.

By the record a card may still be somebody's who was photographed with it long before, while whoever got it
next has no slate on the whole day: then it is not settled whose it was.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from onsite.matching.clocks import ClockOffset
from onsite.matching.evidence import Evidence
from onsite.matching.marks import SlateObservation, SlateStatus, code_of
from onsite.matching.order import ShootingLane

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
