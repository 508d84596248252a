"""What people's waiting tells of a clock: a queue grows and shrinks bit by bit."""

from __future__ import annotations

from collections.abc import Callable, Iterable

import pytest

from onsite.matching.clock_changes import ClockChange, longer_after_breaks, where_it_changes
from onsite.matching.shooting_order import shooting_lanes
from tests.matching.days import Day

HOUR = 3600.0
SOON, LONG = 300.0, 300.0 + HOUR


def a_turn_each(day: Day, waits: Iterable[float]) -> Day:
    """People one after the other, who came so many seconds before their slate."""
    for person, wait in enumerate(waits, len(day.arrived) + 1):
        day.arrived[person] = day.now + 40.0 - wait
        day.person(person)
    return day


def before_and_after(
    before: float, after: float, between: Callable[[Day], None], counted: bool = True, counter: int = 1000
) -> Day:
    """Nine people who waited alike, something in between, and nine who waited alike; six frames each."""
    day = a_turn_each(Day(counted=counted, counter=counter), [before] * 9)
    between(day)
    return a_turn_each(day, [after] * 9)


def change_of(day: Day) -> ClockChange | None:
    (lane,), _ = shooting_lanes(day.evidence().frames)
    return where_it_changes(lane, range(len(lane.frames)), day.evidence())


def longer(day: Day) -> list[float]:
    (lane,), _ = shooting_lanes(day.evidence().frames)
    return list(longer_after_breaks(lane, range(len(lane.frames)), day.evidence()))


def nothing(day: Day) -> None:
    """They go on."""


def frames_go_missing(day: Day) -> None:
    day.counter += 60


def a_few_frames_go_missing(day: Day) -> None:
    day.counter += 6


def lunch(day: Day) -> None:
    day.now += HOUR


def test_an_hour_longer_after_an_hours_break_may_be_a_clock_set_forward() -> None:
    change = change_of(before_and_after(SOON, LONG, lunch))
    assert change is not None
    assert change.place == 9 * 6
    assert change.seconds == 0.0  # it is not known


def test_without_a_break_no_clock_was_set_forward() -> None:
    assert change_of(before_and_after(SOON, LONG, nothing)) is None


def test_an_hour_less_where_frames_are_missing_may_be_a_clock_set_back() -> None:
    change = change_of(before_and_after(LONG, SOON, frames_go_missing))
    assert change is not None
    assert change.place == 9 * 6


def test_so_it_may_where_nothing_counts_the_frames() -> None:
    assert change_of(before_and_after(LONG, SOON, nothing, counted=False)) is not None


@pytest.mark.parametrize("between", [nothing, a_few_frames_go_missing, lunch])
def test_where_the_counter_goes_on_a_clock_set_back_would_show(between: Callable[[Day], None]) -> None:
    assert change_of(before_and_after(LONG, SOON, between)) is None


def test_a_counter_that_begins_anew_after_its_last_goes_on() -> None:
    day = before_and_after(LONG, SOON, nothing, counter=9999 - 9 * 6 + 1)
    assert [frame.counter for frame in day.frames[53:55]] == [9999, 1]
    assert change_of(day) is None


def test_a_queue_that_grows_bit_by_bit_changes_nothing() -> None:
    day = a_turn_each(Day(), (SOON + 400.0 * n for n in range(12)))
    day.now += HOUR
    assert change_of(a_turn_each(day, (SOON + 400.0 * n for n in range(11, -1, -1)))) is None


def test_most_waited_longer_by_most_of_a_long_break() -> None:
    assert longer(before_and_after(SOON, LONG, lunch)) == [pytest.approx(HOUR)]
    assert longer(before_and_after(SOON, SOON + 900.0, lunch)) == []


def test_after_a_short_break_all_have_to() -> None:
    def a_quarter_of_an_hour(day: Day) -> None:
        day.now += 900.0

    day = before_and_after(SOON, SOON + 900.0, a_quarter_of_an_hour)
    assert longer(day) == [pytest.approx(900.0)]
    assert longer(a_turn_each(day, [SOON] * 9)) == []
