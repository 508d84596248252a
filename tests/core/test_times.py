"""Times as people write them. ISO 8601 is the standard; a clock time alone means the shoot's day."""

from datetime import date
from zoneinfo import ZoneInfo

import pytest

from onsite.core.errors import Problem
from onsite.core.times import format_duration, parse_time

VIENNA = ZoneInfo("Europe/Vienna")
DAY = date(2026, 6, 13)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("2026-06-13T09:41", "2026-06-13T09:41:00+02:00"),
        ("2026-01-13T09:41", "2026-01-13T09:41:00+01:00"),
        ("2026-06-13T07:41Z", "2026-06-13T07:41:00+00:00"),
        ("9:41", "2026-06-13T09:41:00+02:00"),
        ("09:41:07", "2026-06-13T09:41:07+02:00"),
    ],
)
def test_a_time_is_local_unless_it_says_otherwise(typed: str, meant: str) -> None:
    assert parse_time(typed, VIENNA, DAY).isoformat() == meant


@pytest.mark.parametrize("typed", ["", "soon", "25:00", "9:75", "13.6.2026"])
def test_what_is_no_time_is_refused(typed: str) -> None:
    with pytest.raises(Problem, match="is not a time"):
        parse_time(typed, VIENNA, DAY)


def test_lengths_of_time_are_told_in_two_units() -> None:
    assert [format_duration(s) for s in (0, 41, 3783, -90061)] == ["0 s", "41 s", "1 h 3 min", "-1 d 1 h"]
