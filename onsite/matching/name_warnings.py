"""Warnings against a name that do not take it away: two people may hold each other's card all day."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from onsite.matching.clock_offset import ClockOffset, OffsetSource
from onsite.matching.evidence import NamedBy
from onsite.matching.likelihood_ratios import LaneLikelihoods
from onsite.matching.name_runs import NamedRun
from onsite.matching.shooting_order import ShootingLane

BEFORE_ARRIVAL = "photographed before they arrived: another's card, or an arrival typed in late"
LOOKS_OTHER = "looks different in their other frames: another's card, or other clothes"

_TOLERANCE = 120.0  # seconds by which an arrival may be recorded late without a warning
_DIFFERENT = 100.0  # likelihood ratio of two people, from which on two runs look different
_BY_SLATE = (NamedBy.SLATE, NamedBy.TAIL_SLATE)


def with_warnings(
    lane: ShootingLane,
    clocks: Sequence[ClockOffset],
    sense: LaneLikelihoods,
    named: Sequence[NamedRun],
    arrived: Mapping[int, float],
) -> list[NamedRun]:
    """The named parts of a lane, with a warning as `doubt` where something contradicts the name."""
    early = {id(part) for part in _before_arrival(lane, clocks, named, arrived)}
    other = {id(part) for part in _looking_different(sense, named)}
    return [
        replace(part, doubt=BEFORE_ARRIVAL if id(part) in early else LOOKS_OTHER)
        if id(part) in early or id(part) in other
        else part
        for part in named
    ]


def _before_arrival(
    lane: ShootingLane, clocks: Sequence[ClockOffset], named: Iterable[NamedRun], arrived: Mapping[int, float]
) -> Iterable[NamedRun]:
    latest = {
        place: clock.high
        for piece, clock in zip(lane.pieces, clocks, strict=True)
        if clock.source is not OffsetSource.NOTHING
        for place in piece
    }
    for part in named:
        came = arrived.get(part.person or -1)
        first = part.frames[0]
        taken = lane.frames[first].taken
        if part.how not in _BY_SLATE or came is None or taken is None or first not in latest:
            continue
        if taken + latest[first] + _TOLERANCE < came:
            yield part


def _looking_different(sense: LaneLikelihoods, named: Iterable[NamedRun]) -> Iterable[NamedRun]:
    """Runs of one person that do not look alike."""
    runs: dict[int, list[NamedRun]] = {}
    for part in named:
        if part.person is not None and part.how in _BY_SLATE:
            runs.setdefault(part.person, []).append(part)
    for parts in runs.values():
        if any(
            sense.colour_likelihood_ratio(parts[0].frames, part.frames) > _DIFFERENT for part in parts[1:]
        ):
            yield from parts
