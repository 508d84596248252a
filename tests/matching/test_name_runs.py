from __future__ import annotations

import pytest

from onsite.matching.evidence import NamedBy
from tests.matching.days import Day, assert_all_named, code, names, verdicts, wrong

BEGIN = range(1, 8)


def test_a_tail_slate_names_the_frames_before_it() -> None:
    day = Day().people(BEGIN)
    day.person(8, "unread")
    day.slate(8, code(8), 180)
    day.person(9)
    found = verdicts(day.evidence())
    assert_all_named(day, found)
    assert {found[frame].how for frame in day.ids(8)} == {NamedBy.TAIL_SLATE}


def test_a_day_of_tail_slates_where_looks_tell() -> None:
    day = Day()
    for person in range(1, 13):
        day.person(person, "tail")
    assert_all_named(day, verdicts(day.evidence()))


@pytest.mark.parametrize("looks", ["own", "alike"])
def test_head_and_tail_slate_of_the_same_person(looks: str) -> None:
    day = Day(looks=looks).people(BEGIN).person(8, "both").people(range(9, 12))
    assert_all_named(day, verdicts(day.evidence()))


def test_held_upside_down_by_mistake_names_the_frames_after_where_looks_tell() -> None:
    day = Day().people(BEGIN).person(8, "upside-down").people(range(9, 12))
    assert_all_named(day, verdicts(day.evidence()))


@pytest.mark.parametrize("looks", ["alike", "none"])
def test_held_upside_down_by_mistake_names_nobody_where_looks_do_not_tell(looks: str) -> None:
    day = Day(looks=looks).people(BEGIN).person(8, "upside-down").people(range(9, 12))
    found = verdicts(day.evidence())
    assert wrong(day, found) == []
    assert names(found, [*day.ids(7), *day.ids(8)]) == [7] * 5 + ["loose"] * 5
    assert 8 in {suggestion.person for suggestion in found[day.ids(8)[0]].suggestions}


@pytest.mark.parametrize("looks", ["own", "alike", "none"])
def test_a_slate_turned_the_right_way_at_once_is_no_tail_slate(looks: str) -> None:
    day = Day(looks=looks).people(BEGIN).arrive(8)
    day.now += 36
    day.slate(8, code(8), 180)
    day.slate(8, code(8))
    day.portraits(8)
    assert_all_named(day, verdicts(day.evidence()))


@pytest.mark.parametrize("looks", ["alike", "none"])
def test_a_slate_turned_at_once_does_not_name_whoever_came_before(looks: str) -> None:
    day = Day(looks=looks).people(BEGIN).person(8, "unread").arrive(9)
    day.now += 36
    day.slate(9, code(9), 180)
    day.slate(9, code(9))
    day.portraits(9)
    found = verdicts(day.evidence())
    assert names(found, day.ids(8)) == ["loose"] * 5
    assert names(found, day.ids(9)) == [9] * 5


@pytest.mark.parametrize("looks", ["own", "alike", "none"])
def test_a_forgotten_head_then_a_tail_never_gives_the_first_persons_name_to_the_second(looks: str) -> None:
    day = Day(looks=looks).people(BEGIN).person(8, "tail").people(range(9, 12))
    found = verdicts(day.evidence())
    assert wrong(day, found) == []
    assert 7 not in names(found, day.ids(8))


@pytest.mark.parametrize("looks", ["own", "alike", "none"])
def test_a_tail_slate_reaches_back_no_further_than_its_own_person(looks: str) -> None:
    """Eight's slate does not read; nine has none at the head, and one at the tail."""
    day = Day(looks=looks).people(BEGIN).person(8, "unread").person(9, "tail").people(range(10, 12))
    found = verdicts(day.evidence())
    assert names(found, day.ids(8)) == ["loose"] * 5
    assert names(found, day.ids(9)) == [9] * 5


@pytest.mark.parametrize("looks", ["alike", "none"])
def test_an_upside_down_slate_after_a_change_of_people_names_nobody_before(looks: str) -> None:
    day = Day(looks=looks).people(BEGIN).person(8, "unread").arrive(9)
    day.now += 36
    day.slate(9, code(9), 180)
    assert names(verdicts(day.evidence()), day.ids(8)) == ["loose"] * 5


@pytest.mark.parametrize("looks", ["own", "alike", "none"])
def test_a_head_and_a_tail_of_one_person_do_not_cover_somebody_between(looks: str) -> None:
    """Seven comes back, and holds the slate upside down; eight's was forgotten."""
    day = Day(looks=looks).people(BEGIN).person(8, "forgotten").person(7, "upside-down").person(9)
    found = verdicts(day.evidence())
    assert 7 not in names(found, day.ids(8))
    assert wrong(day, found) == []
