"""Slate observations: whose each slate is, or why that is not known.

A deck card may have changed hands before the door recorded it, or after. Everybody who gets a card is
photographed with it. Where somebody has no slate all day, a slate of the card they held may be theirs: they
were there, and their record came after it; or it is the next holder's, right after their record, or their
record came late. Then it is not settled.
"""

from __future__ import annotations

import math
from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import zip_longest

from onsite.core.codes import SlateKind, parse_clock_code, parse_slate_code, slate_kind
from onsite.matching.clock_offset import ClockOffset
from onsite.matching.evidence import TURN, CardAssignment, Evidence, FrameEvidence, Symbol
from onsite.matching.shooting_order import ShootingLane

_UPSIDE_DOWN = range(135, 226)
"""Degrees from upright, half way to a quarter turn: a camera on its side that wrote no orientation turns its
slates by a quarter."""
WAITS_DIFFER = 600.0
"""Seconds by which waits differ from one group to the next anyhow. Who came so much later is photographed
later; a card recorded so long after its holder came was recorded late; and in a break so long a clock may
have been set unseen (`camera_clocks`). Our own choice."""


class SlateStatus(StrEnum):
    """Meaning of a frame that shows a slate. The texts are shown as the doubt about the frames after it."""

    SLATE = "a slate of this shoot"
    UNREAD = "a slate was seen and does not read"
    OTHER_SHOOT = "a slate of another shoot"
    NOBODY = "a slate of this shoot that is nobody's"
    NO_HOLDER = "a deck card that nobody held then"
    UNSETTLED = "a deck card that several people may have held then"
    SEVERAL = "slates of several people in one frame"
    CLOCK = "a clock slate"


@dataclass(frozen=True, slots=True)
class SlateObservation:
    """A frame that shows a slate, and so bounds runs."""

    status: SlateStatus
    person: int | None = None
    """Whose slate it is."""
    possible: tuple[int, ...] = ()
    """Who else it may be."""
    upside_down: bool = False
    """As displayed."""
    is_override: bool = False
    """Whether an override says whose it is."""


def slate_observations(lane: ShootingLane, evidence: Evidence) -> dict[int, SlateObservation]:
    """The slate observations of a lane, by place."""
    slates: dict[int, SlateObservation] = {}
    for piece, clock in zip(lane.pieces, lane.clocks, strict=True):
        for place in piece:
            frame = lane.frames[place]
            slate = _slate(frame, clock, evidence) if frame.symbols else None
            if slate is not None:
                slates[place] = _with_hand(slate, frame, evidence)
    return slates


def _slate(frame: FrameEvidence, clock: ClockOffset, evidence: Evidence) -> SlateObservation | None:
    own_codes = _own_codes(frame, evidence.shoot)
    found = [_whose(code, frame, clock, evidence) for code in own_codes]
    if len(found) > 1:
        people = tuple(sorted({slate.person for slate in found if slate.person is not None}))
        return SlateObservation(SlateStatus.SEVERAL, possible=people)
    for slate, symbol in zip(found, own_codes.values(), strict=True):
        return replace(slate, upside_down=symbol.turned % 360 in _UPSIDE_DOWN)
    kinds = {slate_kind(symbol.text, evidence.shoot) for symbol in frame.symbols}
    return next((SlateObservation(status) for kind, status in _WITHOUT_OWNER.items() if kind in kinds), None)


_WITHOUT_OWNER = {
    SlateKind.OTHER_SHOOT: SlateStatus.OTHER_SHOOT,
    SlateKind.CLOCK: SlateStatus.CLOCK,
    SlateKind.UNREAD: SlateStatus.UNREAD,
}


def _whose(code: str, frame: FrameEvidence, clock: ClockOffset, evidence: Evidence) -> SlateObservation:
    if code in evidence.codes:
        return SlateObservation(SlateStatus.SLATE, evidence.codes[code])
    if code not in evidence.cards:
        return SlateObservation(SlateStatus.NOBODY)
    holders: set[int | None] = {held.person for held in evidence.cards[code]}
    if len(holders) > 1:
        holders = _holders(evidence.cards[code], frame.taken, clock)
        if len(holders) > 1 or not clock.is_measured:  # arrivals do not show that a clock was set
            people = tuple(sorted(person for person in holders if person is not None))
            return SlateObservation(SlateStatus.UNSETTLED, possible=people)
    person = next(iter(holders), None)
    return SlateObservation(SlateStatus.NO_HOLDER if person is None else SlateStatus.SLATE, person)


def _holders(
    assignments: Sequence[CardAssignment], taken: float | None, clock: ClockOffset
) -> set[int | None]:
    """Everybody who may have held a card when a camera's clock said `taken`; None stands for nobody."""
    first, last = (-math.inf, math.inf) if taken is None else (taken + clock.low, taken + clock.high)
    people = [None, *(held.person for held in assignments)]
    starts = [-math.inf, *(held.at for held in assignments)]
    ends = [*starts[1:], math.inf]
    return {
        person
        for person, start, end in zip(people, starts, ends, strict=True)
        if start <= last and first < end
    }


def _with_hand(slate: SlateObservation, frame: FrameEvidence, evidence: Evidence) -> SlateObservation:
    """A slate frame given to a person by an override is that person's slate."""
    decision = evidence.overrides.get(frame.id)
    if decision is None or decision.person is None:
        return slate
    return replace(slate, status=SlateStatus.SLATE, person=decision.person, possible=(), is_override=True)


def code_of(frame: FrameEvidence, shoot: str) -> str | None:
    """The slate code of this shoot that a frame shows; None where it shows none, or several."""
    codes = _own_codes(frame, shoot)
    return next(iter(codes)) if len(codes) == 1 else None


def _own_codes(frame: FrameEvidence, shoot: str) -> dict[str, Symbol]:
    """The slate codes of this shoot in a frame, each with its symbol."""
    return {
        code.text: symbol
        for symbol in frame.symbols
        if symbol.text and (code := parse_slate_code(symbol.text)) and code.shoot == shoot
    }


def clock_slate_time(frame: FrameEvidence, shoot: str) -> float | None:
    """The door's time on the clock slate of this shoot that a frame shows; None where it shows none, or
    several."""
    times = {
        code.seconds
        for symbol in frame.symbols
        if symbol.text and (code := parse_clock_code(symbol.text)) and code.shoot == shoot
    }
    return float(next(iter(times))) if len(times) == 1 else None


def doubt_late_records(
    lanes: Sequence[ShootingLane],
    slates: Sequence[Mapping[int, SlateObservation]],
    evidence: Evidence,
) -> list[dict[int, SlateObservation]]:
    """The slate observations without a person where the slate may be that of another holder of the card, of
    whom none was photographed."""
    doubted = [dict(found) for found in slates]
    more = evidence.reuses_cards
    while more:
        more = False
        photographed = {slate.person for found in doubted for slate in found.values()}
        for lane, found in zip(lanes, doubted, strict=True):
            for place, slate in found.items():
                possible = _with_unseen_holders(lane, place, slate, photographed, evidence)
                if len(possible) > 1:
                    unsettled = SlateStatus.UNSETTLED
                    found[place] = replace(slate, status=unsettled, person=None, possible=possible)
                    more = True
    return doubted


def _with_unseen_holders(
    lane: ShootingLane,
    place: int,
    slate: SlateObservation,
    photographed: Container[int | None],
    evidence: Evidence,
) -> tuple[int, ...]:
    """A slate's person, and the holders of its deck card, of whom none was photographed, whose it may be."""
    at, code = lane.true_time(place), code_of(lane.frames[place], evidence.shoot)
    if slate.person is None or slate.is_override or at is None:
        return ()
    came = evidence.arrived.get(slate.person, -math.inf)
    holders, found = evidence.cards.get(code or "", ()), {slate.person}
    for held, following in zip_longest(holders, holders[1:]):
        if held.person in photographed:
            continue
        late = evidence.arrived.get(held.person, -math.inf) - TURN < at < held.at
        if following is not None and following.person == slate.person:  # recorded late, or just before
            late |= following.at - came > WAITS_DIFFER or at - following.at < TURN
        if late:
            found.add(held.person)
    return tuple(sorted(found))
