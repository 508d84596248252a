"""The clocks of each camera: what ties them to the door's, and where they were set.

A clock was set where two offsets explain more observations than one does, before a place and after it. A
clock set forward looks like a break; one set back shows in the shooting order, unless frames are missing or
the break was longer. Where nothing measures a clock after a break, and people seem to have waited longer by
some minutes, it may have been set forward: whatever the break allows stays possible.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Container, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from statistics import median

from onsite.core.file_counter import counter_distance
from onsite.matching.clock_offset import (
    DECISIVE,
    MEASURED,
    SHOWN_AFTER,
    SHOWN_BEFORE,
    ClockOffset,
    Observation,
    OffsetSource,
    agreement,
    find_clock_offset,
)
from onsite.matching.evidence import CardAssignment, Evidence
from onsite.matching.shooting_order import ClockJump, ShootingLane
from onsite.matching.slate_status import TURN, WAITS_DIFFER, clock_slate_time, code_of

_MOST_BREAKS = 12
"""Breaks of a piece that are looked at, the longest first: a day has fewer, and it bounds the time."""
_FEWEST_LOST = DECISIVE // 2
"""Slates that two offsets must explain beyond what one does where many frames are missing: a clock set back
there leaves no other trace. With `DECISIVE`, 13 names are wrong on one day of
`tests/matching/test_simulated_days.py`, and none on 480 others."""
_AROUND = 8
"""People before a break and after it whose waits are compared: enough for a median. Our own choice."""
_MANY = 50
"""Frames missing in a row, as with a missing memory card: a clock set back would not show. Our own choice."""


def camera_clocks(lanes: Sequence[ShootingLane], evidence: Evidence) -> list[ShootingLane]:
    """Each lane cut where its clock was set, with the jumps added, and with the clock of each piece."""
    shown_at: dict[int, list[float]] = {}
    for showing in evidence.slates_shown:
        shown_at.setdefault(showing.person, []).append(showing.at)
    return [_with_clocks(lane, evidence, shown_at) for lane in lanes]


@dataclass(frozen=True, slots=True)
class _Piece:
    """Frames with one clock."""

    places: range
    clock: ClockOffset
    set_forward: float = 0.0
    """Seconds by which the clock was set forward right before it."""


def _with_clocks(lane: ShootingLane, evidence: Evidence, shown_at: dict[int, list[float]]) -> ShootingLane:
    found: list[_Piece] = []
    for places in lane.pieces:
        seen = list(_observations(lane, places, evidence, shown_at))
        for piece in _pieces(lane, places, seen):
            found += _doubted(lane, piece, seen, evidence.settled_cards) if evidence.reuses_cards else [piece]
    forward = {
        piece.places.start: ClockJump(
            lane.frames[piece.places.start - 1].id, lane.frames[piece.places.start].id, piece.set_forward
        )
        for piece in found
        if piece.set_forward
    }
    place_of = {frame.id: place for place, frame in enumerate(lane.frames)} if forward else {}
    jumps = sorted([*lane.jumps, *forward.values()], key=lambda jump: place_of.get(jump.after, 0))
    pieces, clocks = tuple(piece.places for piece in found), tuple(piece.clock for piece in found)
    return replace(lane, jumps=tuple(jumps), pieces=pieces, clocks=clocks)


# Observations


def _observations(
    lane: ShootingLane, places: range, evidence: Evidence, shown_at: dict[int, list[float]]
) -> Iterator[tuple[int, Observation]]:
    """What the slates of a piece say of its clock, each with its place; the same slate in consecutive frames
    once."""
    before, last = None, -1
    for place in places:
        frame = lane.frames[place]
        if not frame.symbols or frame.taken is None:
            continue
        door = clock_slate_time(frame, evidence.shoot)
        if door is not None:
            yield place, Observation.of_clock_slate(frame.taken, door)
        code = code_of(frame, evidence.shoot)
        if code is not None and (code != before or place - last > 1):
            for each in _of_code(code, frame.taken, evidence, shown_at):
                yield place, each
        before, last = code, place


def _of_code(
    code: str, taken: float, evidence: Evidence, shown_at: dict[int, list[float]]
) -> Iterator[Observation]:
    """What a slate says by the times at which it was shown while its owner had it, and by their arrival where
    it was only one person's."""
    assignments = list(evidence.cards.get(code, ()))
    if (owner := evidence.codes.get(code)) is not None:
        assignments = [CardAssignment(-math.inf, owner)]
    shown = [
        (at, held.at, until)
        for held, until in zip(assignments, [*(held.at for held in assignments[1:]), math.inf], strict=False)
        for at in shown_at.get(held.person, ())
        if held.at - SHOWN_AFTER <= at <= until + SHOWN_BEFORE
    ]
    if shown:
        yield Observation.of_slate_shown(taken, sorted(shown))
    if len({held.person for held in assignments}) == 1:
        since = assignments[0].at if owner is None else evidence.arrived.get(owner)
        if since is not None:
            yield Observation.of_arrival(taken, since)


# Changes that are measured


def _pieces(lane: ShootingLane, places: range, seen: Sequence[tuple[int, Observation]]) -> list[_Piece]:
    """The piece cut where its clock was set, as the measuring observations show."""
    cut = next(filter(None, (_best_cut(lane, places, seen, source) for source in MEASURED)), None)
    if cut is None:
        return [_Piece(places, find_clock_offset([each for place, each in seen if place in places]))]
    before, after = range(places.start, cut.place), range(cut.place, places.stop)
    first, (second, *rest) = _pieces(lane, before, seen), _pieces(lane, after, seen)
    clock = first[-1].clock
    forward = clock.offset - second.clock.offset if clock.is_measured and second.clock.is_measured else 0.0
    return [*first, replace(second, set_forward=max(forward, 0.0)), *rest]


@dataclass(frozen=True, slots=True)
class _Cut:
    """Where a clock may have been set: the likeliest first place of the new clock, and others."""

    place: int
    more: int
    """Observations that two offsets explain beyond what one does."""
    pause: float


def _best_cut(
    lane: ShootingLane, places: range, seen: Sequence[tuple[int, Observation]], source: OffsetSource
) -> _Cut | None:
    """Where two offsets explain the most beyond what one does; None where that is too little."""
    mine = [(place, each) for place, each in seen if each.source is source and place in places]
    _, most = agreement([each for _, each in mine])
    is_slates = source is OffsetSource.CLOCK_SLATES
    fewest = 1 if is_slates else DECISIVE  # clock slates are photographed for this
    if len(mine) - most < min(fewest, _FEWEST_LOST):
        return None
    pauses = _breaks(lane, places)
    lost = {place for place in places[1:] if _is_card_missing(lane, place)}
    further = [place for place, _ in mine[1:]] if is_slates else []
    cuts = (_cut(mine, place, pauses.get(place, 0.0), most) for place in sorted({*pauses, *lost, *further}))
    found = [
        cut
        for cut in cuts
        if cut and cut.more >= (min(fewest, _FEWEST_LOST) if cut.place in lost else fewest)
    ]
    return max(found, key=lambda cut: (cut.more, cut.pause), default=None)


def _cut(mine: Sequence[tuple[int, Observation]], place: int, pause: float, most: int) -> _Cut | None:
    before = [each for at, each in mine if at < place]
    after = [each for at, each in mine if at >= place]
    if not before or not after:
        return None
    return _Cut(place, agreement(before)[1] + agreement(after)[1] - most, pause)


def _breaks(lane: ShootingLane, places: range) -> dict[int, float]:
    """The places after the longest breaks of a piece, each with its length in seconds."""
    found = []
    for before, place in pairwise(places):
        a, b = lane.frames[before].taken, lane.frames[place].taken
        if a is not None and b is not None and b - a > TURN:
            found.append((b - a, place))
    return {place: pause for pause, place in sorted(found, reverse=True)[:_MOST_BREAKS]}


# Changes that only waiting shows


def _doubted(
    lane: ShootingLane, piece: _Piece, seen: Sequence[tuple[int, Observation]], settled: Container[int]
) -> list[_Piece]:
    """The piece, cut where its clock may have been set unmeasured; the clock after that with all that the
    break allows."""
    measured = _measured(piece, seen)
    known = [place for place in piece.places if lane.frames[place].id in settled]
    waits = [
        (place, -each.offsets[0])
        for place, each in seen
        if each.source is OffsetSource.ARRIVALS and place in piece.places
    ]
    for place, pause in sorted(_doubtful(lane, piece.places, waits).items()):
        if measured and place > max([*measured, *known]):
            before, after = range(piece.places.start, place), range(place, piece.places.stop)
            low = -math.inf if pause is None else -pause
            clock = piece.clock.widened([(start + low, end) for start, end in piece.clock.ranges])
            return [replace(piece, places=before), _Piece(after, clock)]
    return [piece]


def _measured(piece: _Piece, seen: Sequence[tuple[int, Observation]]) -> list[int]:
    """The places at which a clock slate, or one of enough slates shown, agrees with the clock of a piece."""
    agreeing: dict[OffsetSource, list[int]] = {source: [] for source in MEASURED}
    for place, each in seen:
        fits = any(low <= piece.clock.offset <= high for low, high in each.ranges)
        if each.source in MEASURED and place in piece.places and fits:
            agreeing[each.source].append(place)
    shown = agreeing[OffsetSource.SHOWN]
    return sorted(agreeing[OffsetSource.CLOCK_SLATES] + (shown if len(shown) >= DECISIVE else []))


def _doubtful(
    lane: ShootingLane, places: range, waits: Sequence[tuple[int, float]]
) -> dict[int, float | None]:
    """The places after breaks through which people seem to have waited, or may have where too few waits are
    known, each with the length of the break; None where frames are missing, and waits changed much."""
    found: dict[int, float | None] = {}
    lost = [place for place in places[1:] if _is_card_missing(lane, place)]
    for place, pause in {**dict.fromkeys(lost, 0.0), **_breaks(lane, places)}.items():
        at = bisect_left(waits, (place,))
        before, after = (
            [wait for _, wait in side]
            for side in (waits[max(at - _AROUND, 0) : at], waits[at : at + _AROUND])
        )
        if min(len(before), len(after)) < DECISIVE:  # nobody's wait tells
            longer = math.inf if max(pause, WAITS_DIFFER * (place in lost)) >= WAITS_DIFFER else 0.0
        else:
            longer = median(after) - median(before)
        if place in lost and abs(longer) > WAITS_DIFFER:
            found[place] = None
        elif longer > WAITS_DIFFER:
            found[place] = pause
    return found


def _is_card_missing(lane: ShootingLane, place: int) -> bool:
    """Whether the counter shows many frames missing before a place."""
    before, after = lane.frames[place - 1].counter, lane.frames[place].counter
    return before is not None and after is not None and counter_distance(before, after) > _MANY
