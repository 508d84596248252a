"""The pace of the day."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onsite.status.forecast import pace

NINE = datetime(2026, 6, 13, 9, tzinfo=UTC)


def at(*minutes: float) -> list[datetime]:
    return [NINE + timedelta(minutes=minute) for minute in minutes]


def test_nobody_has_no_pace() -> None:
    assert pace([]).per_hour is None
    assert pace([]).first is None


def test_one_arrival_has_no_pace_but_a_time() -> None:
    assert pace(at(5)).first == NINE + timedelta(minutes=5)
    assert pace(at(5)).per_hour is None


def test_everybody_every_two_minutes_is_thirty_an_hour() -> None:
    assert pace(at(*range(0, 62, 2))).per_hour == pytest.approx(30)


def test_only_the_last_hour_counts() -> None:
    slow_then_quick = at(0, 60, 120, *range(180, 241, 3))
    assert pace(slow_then_quick).per_hour == pytest.approx(20)


def test_the_first_person_after_a_break_leaves_the_pace() -> None:
    before = at(*(0.8 * turn for turn in range(20)))
    assert pace(before).per_hour == pytest.approx(75)
    assert pace([*before, NINE + timedelta(minutes=60)]).per_hour == pytest.approx(75)


def test_one_person_named_from_long_before_leaves_the_pace() -> None:
    quick = at(*range(30, 40))
    assert pace(quick).per_hour == pytest.approx(60)
    assert pace([NINE + timedelta(minutes=3), *quick]).per_hour == pytest.approx(60)


def test_a_slow_day_has_no_breaks() -> None:
    assert pace(at(0, 5, 20, 25, 40, 45, 60)).per_hour == pytest.approx(6)


@pytest.mark.long
@given(st.lists(st.integers(0, 600), min_size=2, unique=True))
def test_the_order_does_not_matter(minutes: list[int]) -> None:
    assert pace(at(*minutes)) == pace(at(*sorted(minutes)))
