"""The clocks of each camera: what ties them to the door's, and where they were set.

A clock is steady from one change to the next. It may have been set in a break, where frames are missing, or
before a clock slate; the changes are those that leave the most observations explained, at a price for each
(optimal partitioning, with the pruning of PELT: Jackson et al. 2005, Killick et al. 2012). A clock set
forward looks like a break; one set back shows in the shooting order, unless frames are missing or the break
was longer. After a long break a clock that is not measured again may have been set forward by as much.
"""

from __future__ import annotations

import math
from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from onsite.core.file_counter import counter_distance
from onsite.matching.clock_offset import (
    DECISIVE,
    SHOWN_AFTER,
    SHOWN_BEFORE,
    ClockOffset,
    Observation,
    OffsetSource,
    agreement,
    find_clock_offset,
)
from onsite.matching.evidence import TURN, CardAssignment, Evidence
from onsite.matching.shooting_order import ClockJump, ShootingLane
from onsite.matching.slate_status import WAITS_DIFFER, clock_slate_time, code_of

_MOST_BREAKS = 12
"""Breaks of a piece that are looked at, the longest first: a day has fewer, and it bounds the time."""
_MANY = 50
"""Frames missing in a row, as with a missing memory card: a clock set back would not show, so that half as
many slates tell. Without it, 13 names are wrong on one day of `tests/matching/test_simulated_days.py`."""
_WEIGHTS = {OffsetSource.CLOCK_SLATES: DECISIVE, OffsetSource.SHOWN: 1}
"""What an observation that is explained counts for: a single clock slate shows a change."""

_Seen = Sequence[tuple[int, Observation]]
"""Observations, each with its place."""


def camera_clocks(lanes: Sequence[ShootingLane], evidence: Evidence) -> list[ShootingLane]:
    """Each lane cut where its clock was set, with the jumps added, and with the clock of each piece."""
    shown_at: dict[int, list[float]] = {}
    for showing in evidence.slates_shown:
        shown_at.setdefault(showing.person, []).append(showing.at)
    return [_with_clocks(lane, evidence, shown_at) for lane in lanes]


def _with_clocks(lane: ShootingLane, evidence: Evidence, shown_at: dict[int, list[float]]) -> ShootingLane:
    jumps = list(lane.jumps)
    found: list[tuple[range, ClockOffset]] = []
    for whole in lane.pieces:
        seen = list(_observations(lane, whole, evidence, shown_at))
        before = ClockOffset()
        for start, end in pairwise([whole.start, *_changes(lane, whole, seen), whole.stop]):
            piece, mine = range(start, end), [each for each in seen if start <= each[0] < end]
            clock = find_clock_offset([each for _, each in mine])
            forward = before.offset - clock.offset
            if before.is_measured and clock.is_measured and forward > 0:
                jumps.append(ClockJump(lane.frames[start - 1].id, lane.frames[start].id, forward))
            doubted = _doubted(lane, piece, clock, mine, evidence.settled_cards)
            found += doubted if evidence.reuses_cards else [(piece, clock)]
            before = clock
    place_of = {frame.id: place for place, frame in enumerate(lane.frames)} if jumps else {}
    jumps.sort(key=lambda jump: place_of.get(jump.after, 0))
    pieces, clocks = tuple(piece for piece, _ in found), tuple(clock for _, clock in found)
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


# Changes


def _changes(lane: ShootingLane, places: range, seen: _Seen) -> list[int]:
    """The first places of new clocks in a piece: the likeliest changes, then those where frames are missing,
    which fewer slates show."""
    if _explained(seen, places.stop) + DECISIVE // 2 > sum(_WEIGHTS.get(each.source, 0) for _, each in seen):
        return []
    pauses, lost = _breaks(lane, places), [at for at in places[1:] if _is_card_missing(lane, at)]
    slates = [place for place, each in seen if each.source is OffsetSource.CLOCK_SLATES]
    longest = max(pauses.values(), default=1.0)  # the longer, the likelier
    prices = {
        at: DECISIVE - 0.1 - 0.1 * pauses.get(at, 0.0) / longest for at in {*pauses, *lost, *slates[1:]}
    }
    found = _partition(places, seen, prices)
    for start, end in pairwise([places.start, *found, places.stop]):
        half = {at: DECISIVE // 2 - 0.1 for at in lost if start < at < end}
        found = [*found, *_partition(range(start, end), seen, half)]
    return sorted(found)


def _explained(seen: _Seen, end: int, start: int = 0) -> int:
    """What a single clock explains from a place up to another."""
    return sum(
        weight * agreement([each for at, each in seen if each.source is source and start <= at < end])[1]
        for source, weight in _WEIGHTS.items()
    )


def _partition(places: range, seen: _Seen, prices: Mapping[int, float]) -> list[int]:
    """The changes that explain the most, less what each costs."""
    best: dict[int, tuple[float, tuple[int, ...]]] = {places.start: (0.0, ())}
    open_starts = [places.start]
    for end in [*sorted(prices), places.stop]:
        values = {start: best[start][0] + _explained(seen, end, start) for start in open_starts}
        start = max(open_starts, key=lambda start: values[start])
        value, price = values[start], prices.get(end, 0.0)
        best[end] = value - price, (*best[start][1], end)
        open_starts = [*(start for start in open_starts if values[start] > value - price), end]
    return list(best[places.stop][1][:-1])


def _breaks(lane: ShootingLane, places: range) -> dict[int, float]:
    """The places after the longest breaks of a piece, each with its length in seconds."""
    found = []
    for before, place in pairwise(places):
        a, b = lane.frames[before].taken, lane.frames[place].taken
        if a is not None and b is not None and b - a > TURN:
            found.append((b - a, place))
    return {place: pause for pause, place in sorted(found, reverse=True)[:_MOST_BREAKS]}


def _is_card_missing(lane: ShootingLane, place: int) -> bool:
    """Whether the counter shows many frames missing before a place."""
    before, after = lane.frames[place - 1].counter, lane.frames[place].counter
    return before is not None and after is not None and counter_distance(before, after) > _MANY


def _doubted(
    lane: ShootingLane, piece: range, clock: ClockOffset, seen: _Seen, settled: Container[int]
) -> list[tuple[range, ClockOffset]]:
    """The piece and its clock; apart what comes after the first long break since that was measured, with all
    that the break allows."""
    fits = [(place, each.source) for place, each in seen if each.fits(clock.offset)]
    measured = [place for place, source in fits if source is OffsetSource.CLOCK_SLATES]
    shown = [place for place, source in fits if source is OffsetSource.SHOWN]
    measured += shown if len(shown) >= DECISIVE else []
    last = max([*measured, *(place for place in piece if lane.frames[place].id in settled)], default=0)
    breaks = {at: pause for at, pause in _breaks(lane, piece).items() if at > last and pause > WAITS_DIFFER}
    if not measured or not breaks:
        return [(piece, clock)]
    first, since = min(breaks), replace(clock, low=clock.low - sum(breaks.values()))
    return [(range(piece.start, first), clock), (range(first, piece.stop), since)]
