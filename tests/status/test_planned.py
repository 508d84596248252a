"""When everybody should be done."""

from datetime import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onsite.core.errors import Problem
from onsite.status.forecast import checked_ends, last_time, planned_end


@pytest.mark.parametrize(
    ("slot", "at"),
    [
        ("10:30", time(10, 30)),
        ("10.30", time(10, 30)),
        ("9h15", time(9, 15)),
        ("17 h", time(17)),
        ("17 Uhr", time(17)),
        ("4:30 pm", time(16, 30)),
        ("12 a.m.", time(0)),
        ("10:30-10:40", time(10, 40)),
        ("10.30 – 10.45 Uhr", time(10, 45)),
        ("13.06.2026 10:30", time(10, 30)),
        ("2026-06-13 10:30", time(10, 30)),
        ("Altos, 09:05, room 12", time(9, 5)),
    ],
)
def test_a_slot_that_is_a_time(slot: str, at: time) -> None:
    assert last_time(slot) == at


@pytest.mark.parametrize(
    "slot", ["", "morning", "3", "slot 12", "25:00", "10:75", "13.06.2026", "1.234.5", "x" * 9999]
)
def test_a_slot_that_is_no_time(slot: str) -> None:
    assert last_time(slot) is None


def test_the_settings_go_before_the_slots() -> None:
    assert planned_end("17:00", ["18:30"]).at == time(17)
    assert not planned_end("17:00", ["18:30"]).by_slots
    by_slots = planned_end("", ["10:30", "", "16:40", "16:10"])
    assert (by_slots.at, by_slots.by_slots) == (time(16, 40), True)


def test_slots_that_mostly_are_no_times_tell_nothing() -> None:
    assert planned_end("", ["A", "B", "10:30"]).at is None
    assert planned_end("", []).at is None


def test_an_end_that_is_no_time_is_said() -> None:
    assert planned_end("late", ["10:30"]).unread == "late"
    assert planned_end("late", ["10:30"]).at is None


@given(st.times())
def test_every_time_of_day_can_be_set(at: time) -> None:
    assert planned_end(checked_ends(f"{at:%H:%M}"), []).at == at.replace(second=0, microsecond=0)


@pytest.mark.parametrize("text", ["", "five", "24:00", "17", "17:0", "17:60", "-1:00", "17:00:00", "١٧:٠٠ x"])
def test_what_is_no_time_of_day_is_refused(text: str) -> None:
    with pytest.raises(Problem, match="not a time of day"):
        checked_ends(text)
