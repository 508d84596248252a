"""Slate observations in a lane: whose each slate is, or why that is not known."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from onsite.core.codes import SlateKind, parse_slate_code, slate_kind
from onsite.matching.clock_offset import ClockOffset, Sighting, Span, find_clock_offset
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
    UNSETTLED = "a deck card that may have been one of several people's then"
    SEVERAL = "slates of several people in one frame"


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


def clock_of(sightings: Sequence[Sighting], evidence: Evidence) -> ClockOffset:
    """The clock offset from the slates that a camera read, if it was not set in between."""
    return find_clock_offset(
        sightings, evidence.codes, evidence.cards, evidence.arrived, evidence.slates_shown
    )


def slate_observations(
    lane: ShootingLane, clocks: Sequence[ClockOffset], evidence: Evidence
) -> dict[int, SlateObservation]:
    """The slate observations of a lane, by place."""
    sideways = _sideways(lane, evidence.shoot)
    offsets = dict(_offsets_around(lane, clocks))
    marks: dict[int, SlateObservation] = {}
    for piece, clock in zip(lane.pieces, clocks, strict=True):
        for index in piece:
            frame = lane.frames[index]
            if not frame.symbols:
                continue
            mark = _mark(frame, offsets.get(index, clock.ranges), evidence, sideways)
            if mark is not None:
                marks[index] = _with_hand(mark, frame, evidence)
    return marks


def _offsets_around(
    lane: ShootingLane, clocks: Sequence[ClockOffset]
) -> Iterator[tuple[int, tuple[Span, ...]]]:
    """All offsets that fit the places where the clock of either neighbouring piece may hold."""
    for places in lane.either:
        around = range(places.start - 1, places.stop + 1)
        offsets = [
            span
            for piece, clock in zip(lane.pieces, clocks, strict=True)
            if piece.start < around.stop and around.start < piece.stop
            for span in clock.ranges
        ]
        yield from ((place, tuple(offsets)) for place in places)


def _mark(
    frame: FrameEvidence, offsets: Sequence[Span], evidence: Evidence, sideways: int
) -> SlateObservation | None:
    read = [
        (code, symbol) for symbol in frame.symbols if symbol.text and (code := parse_slate_code(symbol.text))
    ]
    own_codes = {code.text: symbol for code, symbol in read if code.shoot == evidence.shoot}
    if len(own_codes) > 1:
        return _several(own_codes, frame, offsets, evidence)
    for text, symbol in own_codes.items():
        upside_down = (symbol.turned - sideways) % 360 in _UPSIDE_DOWN
        return replace(_whose(text, frame, offsets, evidence), upside_down=upside_down)
    if read:
        return SlateObservation(SlateStatus.OTHER_SHOOT)
    unread = any(slate_kind(symbol.text, evidence.shoot) is SlateKind.UNREAD for symbol in frame.symbols)
    return SlateObservation(SlateStatus.UNREAD) if unread else None


def _several(
    own_codes: Mapping[str, object], frame: FrameEvidence, offsets: Sequence[Span], evidence: Evidence
) -> SlateObservation:
    people = {_whose(text, frame, offsets, evidence).person for text in own_codes}
    return SlateObservation(
        SlateStatus.SEVERAL, possible=tuple(sorted(person for person in people if person is not None))
    )


def _whose(code: str, frame: FrameEvidence, offsets: Sequence[Span], evidence: Evidence) -> SlateObservation:
    if code in evidence.codes:
        return SlateObservation(SlateStatus.SLATE, evidence.codes[code])
    if code not in evidence.cards:
        return SlateObservation(SlateStatus.NOBODY)
    holders = _holders(evidence.cards[code], frame.taken, offsets)
    if len(holders) == 1:
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

    A card assigned to a single person is that person's whatever the clocks say.
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


def sightings_of(frames: Sequence[FrameEvidence], evidence: Evidence) -> list[Sighting]:
    """Slates of this shoot as they were read, the same slate in consecutive frames once."""
    sightings: list[Sighting] = []
    before = None
    for frame in frames:
        code = code_of(frame, evidence.shoot) if frame.symbols else None
        if code is not None and frame.taken is not None and code != before:
            sightings.append(Sighting(frame.taken, code))
        before = code
    return sightings


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
