"""Who comes when, and when everybody should be done."""

from datetime import time, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onsite.core.errors import Problem
from onsite.roster.find_people import RosterPerson
from onsite.status.day_plan import checked_ends, last_time, plan_day, planned_end
from onsite.status.person_status import PersonStatus, Stage


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
    for written in (f"{at:%H:%M}", f"{at:%H.%M}"):
        assert planned_end(checked_ends(written), []).at == at.replace(second=0, microsecond=0)


@pytest.mark.parametrize("text", ["", "five", "24:00", "17", "17:0", "17:60", "-1:00", "17:00:00", "١٧:٠٠ x"])
def test_what_is_no_time_of_day_is_refused(text: str) -> None:
    with pytest.raises(Problem, match="not a time of day"):
        checked_ends(text)


def person(number: int, slot: str, group: str = "Altos") -> PersonStatus:
    listed = RosterPerson(number, f"C-{number}", "", None, "Ana Horvat", "Ana", "Horvat", group)
    return PersonStatus(listed, Stage.EXPECTED, None, 0, slot=slot)


def test_people_come_by_their_slots() -> None:
    plan = plan_day(
        [person(1, "10:30"), person(2, "09:00"), person(3, "9.00", "Tenors"), person(4, "10h30")], "11:00"
    )
    assert [(slot.start, [s.person.id for s in slot.people]) for slot in plan.slots] == [
        (time(9), [2, 3]),
        (time(10, 30), [1, 4]),
    ]
    assert plan.slots[0].groups == {"Altos": 1, "Tenors": 1}
    assert [slot.each for slot in plan.slots] == [timedelta(minutes=45), timedelta(minutes=15)]
    assert plan.fullest == plan.slots[1]


def test_a_slot_with_an_end_has_the_time_until_then() -> None:
    (slot, _) = plan_day([person(1, "10:30-10:40"), person(2, "10:30-10:40"), person(3, "12:00")], "").slots
    assert slot.each == timedelta(minutes=5)


def test_each_day_has_its_own_slots() -> None:
    plan = plan_day([person(1, "Friday 10:30"), person(2, "Saturday, 09:00"), person(3, "Friday 09:00")], "")
    assert [(slot.day, slot.start) for slot in plan.slots] == [
        ("Friday", time(9)),
        ("Friday", time(10, 30)),
        ("Saturday", time(9)),
    ]


def test_nobody_is_missing_from_the_plan() -> None:
    plan = plan_day([person(1, "09:00"), person(2, ""), person(3, "after lunch")], "")
    assert [s.person.id for s in plan.without_slot] == [2]
    assert [s.person.id for s in plan.unread] == [3]


@given(st.lists(st.sampled_from(["", "morning", "09:00", "9.15", "Friday 10:30", "10:30-10:40", "4 pm"])))
def test_everybody_stands_in_the_plan_once(slots: list[str]) -> None:
    plan = plan_day([person(number, slot) for number, slot in enumerate(slots)], "17:00")
    planned = [s.person.id for slot in plan.slots for s in slot.people]
    others = [s.person.id for s in (*plan.without_slot, *plan.unread)]
    assert sorted(planned + others) == list(range(len(slots)))
