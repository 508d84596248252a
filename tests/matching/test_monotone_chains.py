"""A clock that was set back, and a counter that began anew: frames in the order in which they were taken."""

from __future__ import annotations

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onsite.matching.evidence import FrameEvidence
from onsite.matching.shooting_order import order_frames
from tests.matching.days import NINE, Day, assert_all_named, verdicts


@pytest.mark.parametrize("back", [40.0, 600.0, 3000.0])
@pytest.mark.parametrize("anew", [15, 45])
def test_the_counter_begins_anew_and_the_clock_is_set_back(back: float, anew: int) -> None:
    """Before or after each other: some counters come twice, and some times."""
    day = Day(counter=100).people(range(1, 11))
    for person in range(11, 61):
        if person == anew:
            day.counter = 70
        if person == 30:
            day.clock_off = -back
        day.people([person])
    lane, rest = order_frames(day.frames[::-1])
    assert rest == []
    assert [f.id for f in lane.frames] == [f.id for f in day.frames]
    assert_all_named(day, verdicts(day.evidence()))


@pytest.mark.long
@given(
    seed=st.integers(0, 10_000),
    anew=st.integers(20, 180),
    first=st.integers(1, 300),
    set_back=st.integers(20, 180),
    by=st.floats(1, 20_000),
)
def test_times_go_back_only_where_the_clock_was_set(
    seed: int, anew: int, first: int, set_back: int, by: float
) -> None:
    """No frame is lost, and strands are never torn apart: where two were mixed, times would go back often."""
    rng = random.Random(seed)
    now, counter, frames = NINE, 100, []
    for number in range(200):
        now += rng.uniform(1.5, 40.0)
        counter = first if number == anew else counter + 1
        frames.append(FrameEvidence(number, 1, f"{number}", now - by * (number >= set_back), counter))
    lane, rest = order_frames(rng.sample(frames, len(frames)))
    assert sorted(f.id for f in [*lane.frames, *rest]) == list(range(200))
    assert len(lane.jumps) <= 2


def test_copies_of_frames_stay_beside_them() -> None:
    frames = [FrameEvidence(n, 1, f"a{n}", NINE + 5 * n - 300 * (n >= 60), n % 50 + 1) for n in range(100)]
    copies = [FrameEvidence(f.id + 100, 1, f"b{f.id}", f.taken, f.counter, "copies") for f in frames]
    lane, _ = order_frames([*copies, *frames])
    assert [f.id % 100 for f in lane.frames] == [n for n in range(100) for _ in range(2)]


def test_a_slate_a_moment_before_the_last_frame_on_a_clock_set_back() -> None:
    """The counter shows that it came after: less than a tick of the clock tells nothing."""
    day = Day(counter=700).people(range(1, 4))
    day.counter = 20
    day.people(range(4, 7))
    last = day.frames[-1].taken or 0.0
    day.now += 60
    day.clock_off = last - 0.2 - (day.now + 4.0)
    day.slate(7, "")
    lane, _ = order_frames(day.frames)
    assert [f.id for f in lane.frames] == [f.id for f in day.frames]
