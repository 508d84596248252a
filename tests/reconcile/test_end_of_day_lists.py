from __future__ import annotations

import pytest

from onsite.checkin.check_in import undo_arrival
from onsite.reconcile.camera_lanes import read_day_lanes
from onsite.reconcile.current_match import match_now
from onsite.reconcile.end_of_day_lists import EndOfDayLists, PersonLine, read_end_of_day_lists
from onsite.reconcile.overrides import give_frames
from onsite.store.schema import Person
from onsite.store.shoot import Shoot
from tests.matching.days import Day, code
from tests.reconcile.stored import store_day


@pytest.fixture
def day(shoot: Shoot) -> Day:
    """Seven people; then a slate of eight alone, one that does not read alone, and nine not photographed."""
    day = Day().people(range(1, 4))
    day.counter += 2
    day.people(range(4, 8)).arrive(8).arrive(9)
    day.slate(8, code(8), after=40)
    day.slate(None, None, after=40)
    day.person(1)
    store_day(shoot, day)
    with shoot.writing() as session:
        session.add(Person(id=20, key="C-20", name="Nobody Yet", code="x"))
    return day


def lists(shoot: Shoot) -> EndOfDayLists:
    match_now(shoot)
    return read_end_of_day_lists(shoot, read_day_lanes(shoot))


def ids(lines: tuple[PersonLine, ...]) -> list[int]:
    return [line.person.id for line in lines]


@pytest.mark.usefixtures("day")
def test_who_was_not_photographed_and_who_never_came(shoot: Shoot) -> None:
    told = lists(shoot)
    assert ids(told.arrived_not_shot) == [8, 9]
    assert ids(told.never_came) == [20]
    assert told.shot_not_arrived == ()
    assert all(line.reason for line in (*told.arrived_not_shot, *told.never_came))


def test_who_was_photographed_and_never_checked_in(shoot: Shoot, day: Day) -> None:
    undo_arrival(shoot, "C-2")
    give_frames(shoot, day.ids(3), 20)
    told = lists(shoot)
    assert ids(told.shot_not_arrived) == [2, 20]
    assert told.shot_not_arrived[0].reason == "5 frames are theirs, and nobody checked them in"
    assert told.never_came == ()


@pytest.mark.usefixtures("day")
def test_gaps_in_counters(shoot: Shoot) -> None:
    (gap,) = lists(shoot).gaps
    assert (gap.camera, gap.first, gap.last) == ("A", 1018, 1019)


@pytest.mark.usefixtures("day")
def test_slates_without_frames(shoot: Shoot) -> None:
    theirs, unread = lists(shoot).slates_without_frames
    assert theirs.person is not None
    assert theirs.person.id == 8
    assert unread.person is None
    assert "does not read" in unread.reason


def test_the_slate_of_somebody_with_frames_elsewhere_is_not_listed(shoot: Shoot, day: Day) -> None:
    give_frames(shoot, day.ids(7)[-1:], 8)
    assert [line.person for line in lists(shoot).slates_without_frames] == [None]
