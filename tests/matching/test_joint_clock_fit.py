"""Two cameras whose clocks only arrivals tie, and deck cards that go from hand to hand between them."""

from __future__ import annotations

from functools import cache
from statistics import median

import pytest

from onsite.matching.clock_changes import with_clocks
from onsite.matching.clock_offset import ClockOffset, OffsetSource
from onsite.matching.joint_clock_fit import fitted_together
from onsite.matching.match_frames import match
from onsite.matching.shooting_order import ShootingLane, shooting_lanes
from onsite.simulator.accident_days.score_match import score
from onsite.simulator.accident_days.simulate import Simulated, simulate

SEEDS = [2, 3, 4, 5]
"""Of days that keep no log of slates shown."""


@cache
def day(seed: int, **accidents: float) -> Simulated:
    return simulate(seed, 160, {"cards_again": 1.0, **accidents}, cameras=2)


Clocks = list[tuple[ShootingLane, range, ClockOffset]]


def pieces(placed: list[ShootingLane], found: list[list[ClockOffset]]) -> Clocks:
    return [
        (lane, piece, clock)
        for lane, some in zip(placed, found, strict=True)
        for piece, clock in zip(lane.pieces, some, strict=True)
    ]


def by_themselves(simulated: Simulated) -> tuple[list[ShootingLane], list[list[ClockOffset]]]:
    found = [with_clocks(lane, simulated.evidence) for lane in shooting_lanes(simulated.evidence.frames)[0]]
    return [lane for lane, _ in found], [some for _, some in found]


def together(simulated: Simulated) -> Clocks:
    placed, alone = by_themselves(simulated)
    return pieces(placed, fitted_together(placed, alone, simulated.evidence))


def one_by_one(simulated: Simulated) -> Clocks:
    """As if the frames of the other camera were not there."""
    return [
        found
        for lane, some in zip(*by_themselves(simulated), strict=True)
        for found in pieces([lane], fitted_together([lane], [some], simulated.evidence))
    ]


def width(found: Clocks) -> float:
    return median(sum(high - low for low, high in clock.ranges) for _, _, clock in found)


def offsets(simulated: Simulated, lane: ShootingLane, piece: range) -> list[float]:
    """The true time of each frame, less what the camera's clock said."""
    frames = [lane.frames[place] for place in piece]
    return [simulated.truth.frames[f.id].at - f.taken for f in frames if f.taken is not None]


@pytest.mark.parametrize(
    "fault", ["", "clock_hours", "clock_day", "clock_drift", "let_through", "typed_late"]
)
@pytest.mark.parametrize("seed", SEEDS)
def test_the_true_clock_is_never_ruled_out(seed: int, fault: str) -> None:
    simulated = day(seed, **({fault: 1.0 if fault.startswith("clock") else 0.05} if fault else {}))
    for lane, piece, clock in together(simulated):
        assert clock.source is OffsetSource.ARRIVALS
        for off in offsets(simulated, lane, piece)[::50]:
            assert any(low <= off <= high for low, high in clock.ranges), (off, clock)


@pytest.mark.parametrize("seed", SEEDS)
def test_two_cameras_tell_more_than_one(seed: int) -> None:
    assert width(together(day(seed))) < width(one_by_one(day(seed)))


@pytest.mark.parametrize("seed", SEEDS)
def test_cards_are_their_holders(seed: int) -> None:
    simulated = day(seed, let_through=0.05)
    result = score(simulated, match(simulated.evidence))
    assert result.wrong == 0
    assert result.loose < 0.04 * result.frames


def test_without_cards_that_are_used_again_each_clock_stays_as_it_is() -> None:
    simulated = simulate(3, 60, {"clock_hours": 1.0}, cameras=2)
    assert together(simulated) == pieces(*by_themselves(simulated))
