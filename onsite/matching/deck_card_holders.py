"""Deck cards that may have changed hands before the door recorded it, or after.

Everybody who gets a card is photographed with it, once. Where one holder has the card on two occasions, and
the holder before or after them has no slate all day, one of the two may be that holder's: the record came too
late. So it may where a slate follows soon after the record, and the holder before has none: a clock that was
set forward by minutes, unmeasured, looks like that. Then the slate is not settled.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from onsite.matching.clock_offset import ClockOffset
from onsite.matching.evidence import Evidence
from onsite.matching.shooting_order import ShootingLane
from onsite.matching.slate_status import SlateObservation, SlateStatus, code_of

_AGAIN = 240.0
"""Seconds from which on a card shown again opens another turn."""
_SOON = 600.0
"""Seconds after a card changed hands within which its slate may be the holder's before: a clock set forward
by more in a break shows in how long people seem to have waited (`camera_clocks`)."""


def doubt_double_turns(
    lanes: Sequence[ShootingLane],
    clocks: Sequence[Sequence[ClockOffset]],
    marks: Sequence[Mapping[int, SlateObservation]],
    evidence: Evidence,
) -> list[dict[int, SlateObservation]]:
    """The slate observations without a person where the slate may be a neighbouring holder's."""
    doubted = [dict(lane) for lane in marks]
    if not evidence.reuses_cards:
        return doubted
    photographed = {mark.person for lane in marks for mark in lane.values() if mark.person is not None}
    turns: dict[tuple[str, int], list[tuple[float, int, int]]] = defaultdict(list)
    for at, number, place, code in sorted(_slates(lanes, clocks, marks, evidence)):
        person = marks[number][place].person
        assert person is not None
        turns[code, person].append((at, number, place))
    for code, ties in evidence.cards.items():
        for tie, following in pairwise(ties):
            if tie.person == following.person:
                continue
            shown = turns.get((code, tie.person), [])
            if following.person not in photographed and shown:
                for at, number, place in shown:
                    if at - shown[0][0] > _AGAIN:
                        _unsettle(doubted[number], place, tie.person, following.person)
            shown = turns.get((code, following.person), [])
            if tie.person not in photographed and shown:
                for at, number, place in shown:
                    if at - following.at < _SOON or shown[-1][0] - at > _AGAIN:
                        _unsettle(doubted[number], place, tie.person, following.person)
    return doubted


def _unsettle(marks: dict[int, SlateObservation], place: int, *people: int) -> None:
    possible = tuple(sorted({*marks[place].possible, *people}))
    marks[place] = replace(marks[place], status=SlateStatus.UNSETTLED, person=None, possible=possible)


def _slates(
    lanes: Sequence[ShootingLane],
    clocks: Sequence[Sequence[ClockOffset]],
    marks: Sequence[Mapping[int, SlateObservation]],
    evidence: Evidence,
) -> Iterator[tuple[float, int, int, str]]:
    """Photographs of deck cards whose holder is settled: (true time, lane, place, code)."""
    for number, (lane, lane_clocks) in enumerate(zip(lanes, clocks, strict=True)):
        for piece, clock in zip(lane.pieces, lane_clocks, strict=True):
            for place in piece:
                mark, frame = marks[number].get(place), lane.frames[place]
                if mark is None or mark.person is None or mark.is_override or frame.taken is None:
                    continue
                code = code_of(frame, evidence.shoot)
                if code is not None and code in evidence.cards:
                    yield clock.true(frame.taken), number, place, code
