"""Slate observations in a lane: whose each slate is, or why that is not known."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from onsite.core.codes import SlateKind, parse_clock_code, parse_slate_code, slate_kind
from onsite.matching.clock_offset import ClockOffset, Span
from onsite.matching.evidence import CardAssignment, Evidence, FrameEvidence
from onsite.matching.shooting_order import ShootingLane

_UPSIDE_DOWN = range(135, 226)  # degrees from upright
_SIDEWAYS_SHARE = 0.8  # of a lane's slates lying one way: the camera was on its side and wrote no orientation
_FEWEST = 5
_TICK = 0.5  # seconds; the ends of a clock's range are moments at which a card changed hands


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


def slate_observations(
    lane: ShootingLane, clocks: Sequence[ClockOffset], evidence: Evidence
) -> dict[int, SlateObservation]:
    """The slate observations of a lane, by place."""
    sideways = _sideways(lane, evidence.shoot)
    around = dict(_clocks_around(lane, clocks))
    marks: dict[int, SlateObservation] = {}
    for piece, clock in zip(lane.pieces, clocks, strict=True):
        for index in piece:
            frame = lane.frames[index]
            if not frame.symbols:
                continue
            mark = _mark(frame, around.get(index, clock), evidence, sideways)
            if mark is not None:
                marks[index] = _with_hand(mark, frame, evidence)
    return marks


def _clocks_around(lane: ShootingLane, clocks: Sequence[ClockOffset]) -> Iterator[tuple[int, ClockOffset]]:
    """A clock with the offsets of both, for the places where that of either neighbouring piece may hold."""
    for places in lane.either:
        around = range(places.start - 1, places.stop + 1)
        either = [
            clock
            for piece, clock in zip(lane.pieces, clocks, strict=True)
            if piece.start < around.stop and around.start < piece.stop
        ]
        least = min(either, key=lambda clock: clock.is_measured)
        both = least.widened([span for clock in either for span in clock.ranges])
        yield from ((place, both) for place in places)


def _mark(
    frame: FrameEvidence, clock: ClockOffset, evidence: Evidence, sideways: int
) -> SlateObservation | None:
    read = [
        (code, symbol) for symbol in frame.symbols if symbol.text and (code := parse_slate_code(symbol.text))
    ]
    own_codes = {code.text: symbol for code, symbol in read if code.shoot == evidence.shoot}
    if len(own_codes) > 1:
        return _several(own_codes, frame, clock, evidence)
    for text, symbol in own_codes.items():
        upside_down = (symbol.turned - sideways) % 360 in _UPSIDE_DOWN
        return replace(_whose(text, frame, clock, evidence), upside_down=upside_down)
    kinds = {slate_kind(symbol.text, evidence.shoot) for symbol in frame.symbols}
    for kind, status in _WITHOUT_OWNER.items():
        if kind in kinds:
            return SlateObservation(status)
    return None


_WITHOUT_OWNER = {
    SlateKind.OTHER_SHOOT: SlateStatus.OTHER_SHOOT,
    SlateKind.CLOCK: SlateStatus.CLOCK,
    SlateKind.UNREAD: SlateStatus.UNREAD,
}


def _several(
    own_codes: Mapping[str, object], frame: FrameEvidence, clock: ClockOffset, evidence: Evidence
) -> SlateObservation:
    people = {_whose(text, frame, clock, evidence).person for text in own_codes}
    return SlateObservation(
        SlateStatus.SEVERAL, possible=tuple(sorted(person for person in people if person is not None))
    )


def _whose(code: str, frame: FrameEvidence, clock: ClockOffset, evidence: Evidence) -> SlateObservation:
    if code in evidence.codes:
        return SlateObservation(SlateStatus.SLATE, evidence.codes[code])
    if code not in evidence.cards:
        return SlateObservation(SlateStatus.NOBODY)
    ties = evidence.cards[code]
    holders = _holders(ties, frame.taken, clock.ranges)
    if len(holders) == 1 and (clock.is_measured or len({tie.person for tie in ties}) <= 1):
        person = holders[0]
        return (
            SlateObservation(SlateStatus.NO_HOLDER)
            if person is None
            else SlateObservation(SlateStatus.SLATE, person)
        )
    return SlateObservation(
        SlateStatus.UNSETTLED, possible=tuple(sorted({person for person in holders if person is not None}))
    )


def _holders(
    assignments: Sequence[CardAssignment], taken: float | None, offsets: Sequence[Span]
) -> list[int | None]:
    """Everybody who may have held a card when a camera's clock said `taken` and was off by one of the
    `offsets`; None stands for nobody.

    A card assigned to a single person is that person's whatever the clocks say. Of several holders only a
    measured clock tells: arrivals do not show that a clock was set.
    """
    people = {tie.person for tie in assignments}
    if len(people) <= 1:
        return [next(iter(people), None)]
    if taken is None:
        return sorted(people)  # type: ignore[return-value]
    holders: dict[int | None, None] = {}
    for low, high in offsets:
        first, last = taken + low + _TICK, taken + high - _TICK
        if first < assignments[0].at:
            holders[None] = None
        for tie, following in zip(assignments, [*assignments[1:], None], strict=True):
            if tie.at <= last and (following is None or following.at > first):
                holders[tie.person] = None
    return list(holders)


def _with_hand(mark: SlateObservation, frame: FrameEvidence, evidence: Evidence) -> SlateObservation:
    """A slate frame given to a person by an override is that person's slate."""
    decision = evidence.overrides.get(frame.id)
    if decision is None or decision.person is None:
        return mark
    return replace(mark, status=SlateStatus.SLATE, person=decision.person, possible=(), is_override=True)


def code_of(frame: FrameEvidence, shoot: str) -> str | None:
    """The slate code of this shoot that a frame shows; None where it shows none, or several."""
    codes = {
        code.text
        for s in frame.symbols
        if s.text and (code := parse_slate_code(s.text)) and code.shoot == shoot
    }
    return next(iter(codes)) if len(codes) == 1 else None


def clock_slate_time(frame: FrameEvidence, shoot: str) -> float | None:
    """The door's time on the clock slate of this shoot that a frame shows; None where it shows none, or
    several."""
    times = {
        code.seconds
        for symbol in frame.symbols
        if symbol.text and (code := parse_clock_code(symbol.text)) and code.shoot == shoot
    }
    return float(next(iter(times))) if len(times) == 1 else None


def _sideways(lane: ShootingLane, shoot: str) -> int:
    """90 or 270 where nearly all slates of a lane lie that way, else 0."""
    turns = [
        round(symbol.turned / 90) % 4 * 90
        for frame in lane.frames
        for symbol in frame.symbols
        if symbol.text and (code := parse_slate_code(symbol.text)) and code.shoot == shoot
    ]
    for way in (90, 270):
        if len(turns) >= _FEWEST and turns.count(way) >= _SIDEWAYS_SHARE * len(turns):
            return way
    return 0
