"""The clocks of each camera: what ties them to the door's, and where they were set.

A clock is steady from one change to the next. It may have been set in a long break, or before a clock slate;
the changes are those that leave the most observations explained, at a price for each (optimal partitioning,
with the pruning of PELT: Jackson et al. 2005, Killick et al. 2012). A clock set forward looks like a break;
one set back shows in the shooting order, unless frames are missing or the break was longer. Before the first
measurement and after the last, a clock may have been set forward by as much as the long breaks there.
"""

from __future__ import annotations

import math
from collections.abc import Container, Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from onsite.matching.clock_offset import (
    DECISIVE,
    ClockOffset,
    Observation,
    OffsetSource,
    agreement,
    find_clock_offset,
)
from onsite.matching.evidence import CardAssignment, Evidence
from onsite.matching.shooting_order import ClockJump, ShootingLane
from onsite.matching.slate_status import WAITS_DIFFER, clock_slate_time, code_of

_WEIGHTS = {OffsetSource.CLOCK_SLATES: DECISIVE, OffsetSource.SHOWN: 1}
"""What an observation that is explained counts for: a single clock slate shows a change."""
_PRICE = DECISIVE - 0.5
"""What a change costs: less than a clock slate, or than so many slates shown."""

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
    untils = [*(held.at for held in assignments[1:]), math.inf]
    shown = [
        at
        for held, until in zip(assignments, untils, strict=False)
        for at in shown_at.get(held.person, ())
        if held.at <= at <= until
    ]
    if shown:
        yield Observation.of_slate_shown(taken, shown)
    if len({held.person for held in assignments}) == 1:
        since = assignments[0].at if owner is None else evidence.arrived.get(owner)
        if since is not None:
            yield Observation.of_arrival(taken, since)


# Changes


def _changes(lane: ShootingLane, places: range, seen: _Seen) -> list[int]:
    """The first places of new clocks in a piece."""
    explained = _explained(seen, places.stop)
    if explained + DECISIVE > sum(_WEIGHTS.get(each.source, 0) for _, each in seen):
        return []  # no more to be had
    slates = [place for place, each in seen if each.source is OffsetSource.CLOCK_SLATES]
    candidates = sorted({*_breaks(lane, places), *slates[1:]})
    best: dict[int, tuple[float, tuple[int, ...]]] = {places.start: (0.0, ())}
    open_starts = [places.start]
    for end in [*candidates, places.stop]:
        values = {start: best[start][0] + _explained(seen, end, start) for start in open_starts}
        start = max(open_starts, key=lambda start: values[start])
        value = values[start] - _PRICE
        best[end] = value, (*best[start][1], end)
        open_starts = [*(start for start in open_starts if values[start] > value), end]
    return list(best[places.stop][1][:-1])


def _explained(seen: _Seen, end: int, start: int = 0) -> int:
    """What a single clock explains from a place up to another."""
    return sum(
        weight * agreement([each for at, each in seen if each.source is source and start <= at < end])[1]
        for source, weight in _WEIGHTS.items()
    )


def _breaks(lane: ShootingLane, places: range) -> dict[int, float]:
    """The places after the long breaks of a piece, each with its length in seconds."""
    times = np.array([lane.frames[place].taken for place in places], np.float64)  # NaN where there is none
    pauses = np.diff(times)
    return {places[at + 1]: float(pauses[at]) for at in np.flatnonzero(pauses > WAITS_DIFFER).tolist()}


def _doubted(
    lane: ShootingLane, piece: range, clock: ClockOffset, seen: _Seen, settled: Container[int]
) -> list[tuple[range, ClockOffset]]:
    """The piece and its clock; apart what comes before the last long break before that was measured, and
    after the first one since, each with all that the breaks allow."""
    fits = [(place, each.source) for place, each in seen if each.fits(clock.offset)]
    measured = [place for place, source in fits if source is OffsetSource.CLOCK_SLATES]
    shown = [place for place, source in fits if source is OffsetSource.SHOWN]
    measured += shown if len(shown) >= DECISIVE else []
    if not measured:
        return [(piece, clock)]
    measured += [place for place in piece if lane.frames[place].id in settled]
    breaks = _breaks(lane, piece)
    before = {at: pause for at, pause in breaks.items() if at <= min(measured)}
    since = {at: pause for at, pause in breaks.items() if at > max(measured)}
    first, last = max(before, default=piece.start), min(since, default=piece.stop)
    found = [
        (range(piece.start, first), replace(clock, high=clock.high + sum(before.values()))),
        (range(first, last), clock),
        (range(last, piece.stop), replace(clock, low=clock.low - sum(since.values()))),
    ]
    return [(places, each) for places, each in found if places]
