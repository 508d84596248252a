"""What the pace tells about the end of the day."""

from dataclasses import replace
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onsite.roster.find_people import RosterPerson
from onsite.status.forecast import (
    DayForecast,
    PaceOf,
    forecast_data,
    forecast_text,
    late_people,
    make_forecast,
)
from onsite.status.person_status import PersonStatus, Stage

VIENNA = ZoneInfo("Europe/Vienna")
NOON = datetime(2026, 6, 13, 12, tzinfo=VIENNA)


def every(minutes: float, count: int, until: datetime = NOON) -> list[datetime]:
    """So many people, one each so many minutes, the last at `until`."""
    return [until - timedelta(minutes=minutes * place) for place in range(count)]


def test_a_day_that_fits() -> None:
    """By hand: one person in 2 min is 30 an hour; 10 + 50 people are 2 h, till 14:00; 14:20 leaves 20 min,
    in which 10 more would fit."""
    told = make_forecast(every(1, 60), every(2, 31), 10, 50, NOON, time(14, 20))
    assert told.per_hour == pytest.approx(30)
    assert told.end == NOON + timedelta(hours=2)
    assert told.spare == timedelta(minutes=20)
    assert (told.left, told.fitting, told.pace_of, told.known_from) == (60, 50, PaceOf.PHOTOGRAPHED, 31)
    assert forecast_text(told) == "30 an hour · done about 14:00 · 20 min spare"


def test_a_day_that_is_too_short() -> None:
    """By hand: till 13:00 there is room for 30: the 10 who wait, and 20 of the 50 expected."""
    told = make_forecast(every(1, 60), every(2, 31), 10, 50, NOON, time(13))
    assert told.spare == -timedelta(hours=1)
    assert told.fitting == 20
    assert forecast_text(told) == (
        "30 an hour · done about 14:00 · 1 h too long · 20 of 50 expected still fit"
    )


def test_the_last_slot_is_said_to_be_it() -> None:
    fits = make_forecast([], every(2, 31), 10, 50, NOON, time(14, 20), by_slots=True)
    assert forecast_text(fits).endswith("20 min spare before the last slot, 14:20")
    late = make_forecast([], every(2, 31), 10, 50, NOON, time(13), by_slots=True)
    assert "1 h after the last slot, 13:00" in forecast_text(late)
    exact = make_forecast([], every(2, 31), 10, 50, NOON, time(14), by_slots=True)
    assert forecast_text(exact).endswith("just in time for the last slot, 14:00")


def test_without_frames_the_door_tells_when_all_are_here() -> None:
    told = make_forecast(every(2, 31), [], 31, 15, NOON)
    assert (told.pace_of, told.left, told.end) == (PaceOf.ARRIVED, 15, NOON + timedelta(minutes=30))
    assert forecast_text(told) == "30 an hour arrive · all here about 12:30"


@pytest.mark.parametrize("count", [0, 1, 2])
def test_too_few_tell_nothing_and_it_is_said_how_many_do(count: int) -> None:
    told = make_forecast(every(2, count), every(2, count), 2, 5, NOON, time(17))
    assert (told.per_hour, told.end, told.spare, told.fitting) == (None, None, None, None)
    assert told.known_from == count
    assert forecast_text(told) == "pace after 3 people · planned end 17:00"


def test_yesterdays_pace_and_a_camera_with_a_wrong_date_are_left_aside() -> None:
    yesterday = NOON - timedelta(days=1)
    assert make_forecast(every(2, 31, yesterday), every(2, 31, yesterday), 2, 5, NOON).per_hour is None
    told = make_forecast(every(3, 21), every(2, 31, NOON.replace(year=2019)), 2, 10, NOON)
    assert (told.pace_of, told.per_hour) == (PaceOf.ARRIVED, pytest.approx(20))


def test_when_nobody_is_left() -> None:
    assert forecast_text(make_forecast([], every(2, 31), 0, 0, NOON)) == "30 an hour · everybody is done"
    assert forecast_text(make_forecast([], [], 0, 0, NOON)) == "nobody is expected"


def test_an_end_tomorrow_has_its_date() -> None:
    told = make_forecast([], every(30, 3), 40, 0, NOON)
    assert "done about 2026-06-14 08:00" in forecast_text(told)


def test_an_end_that_is_out_of_sight_is_not_told() -> None:
    told = make_forecast([], every(60 * 24, 3), 900, 0, NOON)
    assert told.end is None


def test_a_day_that_goes_on_past_midnight_ends_tomorrow() -> None:
    late = NOON.replace(hour=22)
    told = make_forecast([], every(2, 31, late), 0, 30, late, time(0, 30))
    assert told.planned == datetime(2026, 6, 14, 0, 30, tzinfo=VIENNA)
    assert told.spare == timedelta(hours=1, minutes=30)


def test_the_hour_that_clocks_leave_out_is_not_worked() -> None:
    """Europe/Vienna, 2026-03-29: 02:00 is followed by 03:00 (EU directive 2000/84/EC)."""
    one = datetime(2026, 3, 29, 1, tzinfo=VIENNA)
    told = make_forecast([], every(2, 31, one), 60, 0, one)
    assert told.end is not None
    assert told.end.hour == 4


def test_the_numbers_for_scripts() -> None:
    data = forecast_data(make_forecast([], every(2, 31), 10, 50, NOON, time(13)))
    assert data["expected_end"] == "2026-06-13T14:00:00+02:00"
    assert (data["spare_minutes"], data["expected_that_fit"], data["photographed_per_hour"]) == (
        -60,
        20,
        30.0,
    )


many = st.integers(0, 3000)
paces = st.integers(1, 120).map(lambda minutes: every(minutes / 4, 30))


@given(paces, many, many, st.integers(0, 200), st.integers(0, 200))
def test_more_people_never_end_earlier_and_never_fit_better(
    shot: list[datetime], waiting: int, expected: int, more_waiting: int, more_expected: int
) -> None:
    fewer = make_forecast([], shot, waiting, expected, NOON, time(17))
    more = make_forecast([], shot, waiting + more_waiting, expected + more_expected, NOON, time(17))
    if more.end is not None:
        assert fewer.end is not None
        assert fewer.end <= more.end
        assert fewer.spare is not None
        assert more.spare is not None
        assert more.spare <= fewer.spare


@given(paces, many, many, st.integers(0, 23))
def test_everybody_fits_just_when_there_is_time_to_spare(
    shot: list[datetime], waiting: int, expected: int, hour: int
) -> None:
    told = make_forecast([], shot, waiting, expected, NOON, time(hour))
    assert told.fitting is not None
    assert 0 <= told.fitting <= expected
    if told.spare is not None and told.spare > timedelta(seconds=1):
        assert told.fitting == expected


@given(paces, many, many, st.one_of(st.none(), st.times()), st.booleans())
def test_the_sentence_is_always_one_line(
    shot: list[datetime], waiting: int, expected: int, ends: time | None, by_slots: bool
) -> None:
    told: DayForecast = make_forecast([], shot, waiting, expected, NOON, ends, by_slots)
    assert len(forecast_text(told).splitlines()) == 1


def test_who_is_late_counts_from_the_day_of_the_shoot_on() -> None:
    """A trial the week before, with one check-in, makes nobody late."""
    listed = RosterPerson(1, "C-1", "", None, "Ana Horvat", "Ana", "Horvat", "Altos")
    expected = PersonStatus(listed, Stage.EXPECTED, None, 0, slot="09:00")
    here = PersonStatus(replace(listed, id=2), Stage.ARRIVED, NOON, 0, slot="09:00")
    today = NOON.date()
    assert late_people([expected, here], NOON, today.isoformat()) == [expected]
    assert late_people([expected, here], NOON) == [expected]
    assert late_people([expected, here], NOON, (today + timedelta(days=1)).isoformat()) == []
