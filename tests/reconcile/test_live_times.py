"""Shoot time as frames land: by the whole match where it knew them, else by what the last frames tell."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from sqlmodel import select

from onsite.reconcile.current_match import match_now
from onsite.reconcile.export_frames import frame_lines
from onsite.reconcile.live_match import LiveFrame, live_frames, live_frames_of
from onsite.store.schema import Frame
from onsite.store.shoot import Shoot
from tests.matching.days import Day
from tests.reconcile.stored import near, store_arrivals, store_day, store_frames, store_people, store_showings

HOUR = timedelta(hours=1)


@pytest.fixture
def timezone() -> str:
    """The zone that the days' cameras write their times in."""
    return "UTC"


def ahead(frame: LiveFrame) -> timedelta:
    """By how much the camera's clock is shown to be ahead."""
    assert frame.taken is not None
    assert frame.shoot_time is not None
    return frame.taken - frame.shoot_time


def match_first(shoot: Shoot, day: Day, count: int) -> None:
    """So many frames of the day come in and are matched; the others come in after that."""
    store_people(shoot, day)
    store_arrivals(shoot, day, day.arrived)
    store_showings(shoot, day)
    store_frames(shoot, day, day.frames[:count])
    match_now(shoot)
    store_frames(shoot, day, day.frames[count:])


def held_against_the_list(shoot: Shoot, last: int) -> None:
    listed = {line.frame: line for line in frame_lines(shoot)}
    for frame in live_frames(shoot, 1, last):
        line = listed[f"f{frame.frame}"]
        assert frame.shoot_time == datetime.fromisoformat(line.taken_at)
        assert frame.taken == datetime.fromisoformat(line.camera_time)


def test_a_right_clock_is_shown_as_it_is(shoot: Shoot) -> None:
    store_day(shoot, Day(log_shown=True).people(range(1, 13)))
    assert {ahead(frame) for frame in live_frames(shoot, 1)} == {timedelta(0)}
    assert {frame.camera_time for frame in live_frames(shoot, 1)} == {None}


def test_a_clock_an_hour_ahead_is_put_right_before_anything_is_matched(shoot: Shoot) -> None:
    store_day(shoot, Day(clock_off=3600.0, log_shown=True).people(range(1, 13)))
    for frame in live_frames(shoot, 1):
        assert near(ahead(frame), HOUR)
        assert frame.camera_time == frame.taken


def test_what_the_whole_match_found_stands_where_the_last_frames_tell_too_little(shoot: Shoot) -> None:
    day = Day(clock_off=3600.0, log_shown=True).people(range(1, 25))
    day.log_shown = False  # slates out of a deck from here on
    store_day(shoot, day.people(range(25, 41)))
    match_now(shoot)
    held_against_the_list(shoot, 5)
    held_against_the_list(shoot, 400)
    assert near(ahead(live_frames(shoot, 1, 5)[-1]), HOUR)


@pytest.mark.long
def test_a_clock_set_forward_long_before_the_last_frames(shoot: Shoot) -> None:
    day = Day(log_shown=True).people(range(1, 25))
    day.now += 1800
    day.clock_off = 7200.0
    store_day(shoot, day.people(range(25, 49)))
    match_now(shoot)
    held_against_the_list(shoot, 5)
    held_against_the_list(shoot, 400)
    assert near(ahead(live_frames(shoot, 1, 5)[-1]), 2 * HOUR)


@pytest.mark.long
def test_a_clock_set_right_again_in_the_afternoon(shoot: Shoot) -> None:
    day = Day(clock_off=3600.0, log_shown=True).people(range(1, 25))
    day.clock_off = 0.0
    store_day(shoot, day.people(range(25, 49)))
    match_now(shoot)
    held_against_the_list(shoot, 5)
    held_against_the_list(shoot, 400)
    assert ahead(live_frames(shoot, 1, 5)[-1]) == timedelta(0)


def test_frames_that_land_after_the_match_go_on_by_its_clock(shoot: Shoot) -> None:
    day = Day(clock_off=3600.0, log_shown=True).people(range(1, 15))
    count = len(day.frames) - 9
    match_first(shoot, day, count)
    shown = live_frames(shoot, 1)
    (shift,) = {ahead(frame) for frame in shown[:count]}
    assert near(shift, HOUR)
    assert {ahead(frame) for frame in shown[count:]} == {shift}


def test_a_clock_set_right_after_the_match_is_believed_again(shoot: Shoot) -> None:
    day = Day(clock_off=3600.0, log_shown=True).people(range(1, 13))
    count = len(day.frames)
    day.clock_off = 0.0
    match_first(shoot, day.people(range(13, 25)), count)
    shown = live_frames(shoot, 1)
    assert all(near(ahead(frame), HOUR) for frame in shown[:count])
    assert {ahead(frame) for frame in shown[count:]} == {timedelta(0)}


def test_a_frame_that_tells_no_time_has_none(shoot: Shoot) -> None:
    day = Day(clock_off=3600.0, log_shown=True).people(range(1, 13))
    store_day(shoot, day)
    with shoot.writing() as session:
        blank = session.exec(select(Frame).where(Frame.id == day.ids(3)[1])).one()
        blank.taken = None
        session.add(blank)
    (frame,) = (frame for frame in live_frames(shoot, 1) if frame.frame == day.ids(3)[1])
    assert (frame.taken, frame.shoot_time, frame.camera_time) == (None, None, None)


def test_frames_that_came_in_together_from_two_cameras(shoot: Shoot) -> None:
    left = Day(clock_off=3600.0, log_shown=True).people(range(1, 13))
    right = Day(camera=2, log_shown=True, station="set-B").people(range(13, 25))
    store_day(shoot, left, right)
    new = [left.frames[-1].id, right.frames[-1].id]
    found = live_frames_of(shoot, new)
    assert sorted(found) == sorted(new)
    assert near(ahead(found[new[0]]), HOUR)
    assert ahead(found[new[1]]) == timedelta(0)
    assert live_frames_of(shoot, []) == {}
