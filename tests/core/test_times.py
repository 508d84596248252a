"""Times as people write them. ISO 8601 is the standard; a clock time alone means the shoot's day."""

import re
from datetime import UTC, date
from zoneinfo import ZoneInfo

import pytest

from onsite.core.errors import Problem
from onsite.core.times import format_duration, parse_date, parse_time

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


@pytest.mark.parametrize(
    ("typed", "said", "instead"),
    [
        ("2026-03-29T02:30", "no 02:30 on 2026-03-29", ["2026-03-29T03:30:00"]),
        ("2:30", "no 02:30 on 2026-03-29", ["2026-03-29T03:30:00"]),
        (
            "2026-10-25T02:30",
            "02:30 on 2026-10-25 came twice",
            ["2026-10-25T02:30:00+02:00", "2026-10-25T02:30:00+01:00"],
        ),
    ],
)
def test_a_local_time_that_is_skipped_or_comes_twice_is_refused(
    typed: str, said: str, instead: list[str]
) -> None:
    """Summer time in Vienna by the IANA time zone database: 29 March 2026, 02:00, to 25 October, 03:00."""
    with pytest.raises(Problem, match=said) as refused:
        parse_time(typed, VIENNA, date(2026, 3, 29))
    assert re.findall(r"2026\S+[0-9]", refused.value.remedy) == instead
    moments = [parse_time(text, VIENNA) for text in instead]
    assert moments == sorted(moments)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("2026-03-29T01:59:59", "2026-03-29T00:59:59+00:00"),
        ("2026-03-29T03:00", "2026-03-29T01:00:00+00:00"),
        ("2026-10-25T01:59:59", "2026-10-24T23:59:59+00:00"),
        ("2026-10-25T03:00", "2026-10-25T02:00:00+00:00"),
    ],
)
def test_the_times_right_beside_are_taken(typed: str, meant: str) -> None:
    assert parse_time(typed, VIENNA).astimezone(UTC).isoformat() == meant


def test_lengths_of_time_are_told_in_two_units() -> None:
    assert [format_duration(s) for s in (0, 41, 3783, -90061)] == ["0 s", "41 s", "1 h 3 min", "-1 d 1 h"]


@pytest.mark.parametrize("typed", ["2026-06-13", " 2026-06-13 ", "13.6.2026", "13.06.2026", "13. 6. 2026"])
def test_a_date_is_taken_as_people_write_it(typed: str) -> None:
    assert parse_date(typed) == DAY


@pytest.mark.parametrize(
    "typed", ["", "tuesday", "6/7/2026", "7/6/2026", "13.6.26", "31.2.2026", "2026.06.13"]
)
def test_what_is_no_date_or_may_be_another_is_refused(typed: str) -> None:
    with pytest.raises(Problem, match="is not a date"):
        parse_date(typed)
