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


@pytest.mark.long
@given(st.lists(st.integers(0, 600), min_size=2, unique=True))
def test_the_order_does_not_matter(minutes: list[int]) -> None:
    assert pace(at(*minutes)) == pace(at(*sorted(minutes)))
