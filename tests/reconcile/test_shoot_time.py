"""Shoot time: what a wrong clock says is put right for showing, and kept as it was written."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from onsite.reconcile.camera_lanes import read_day_lanes
from onsite.reconcile.current_match import match_now, summary_now
from onsite.reconcile.explain_frame import explain_frame, print_explanation
from onsite.reconcile.export_frames import frame_lines
from onsite.reconcile.match_report import match_summary_data
from onsite.reconcile.overrides import give_frames
from onsite.reconcile.shoot_times import read_clock_corrections
from onsite.status.read_status import read_person_statuses
from onsite.store.shoot import Shoot
from tests.matching.days import NINE, Day
from tests.reconcile.stored import near, store_day

HOUR = timedelta(hours=1)


@pytest.fixture
def timezone() -> str:
    """The zone that the days' cameras write their times in."""
    return "UTC"


def times(shoot: Shoot) -> list[tuple[datetime, datetime]]:
    lines = frame_lines(shoot)
    return [(datetime.fromisoformat(i.taken_at), datetime.fromisoformat(i.camera_time)) for i in lines]


def test_a_camera_an_hour_ahead_is_listed_in_shoot_time_with_its_own_beside(shoot: Shoot) -> None:
    store_day(shoot, Day(clock_off=3600.0, log_shown=True).people(range(1, 13)))
    for taken, own in times(shoot):
        assert near(own - taken, HOUR)


def test_a_right_clock_is_left_as_it_is(shoot: Shoot) -> None:
    store_day(shoot, Day(log_shown=True).people(range(1, 13)))
    assert {own - taken for taken, own in times(shoot)} == {timedelta(0)}
    with shoot.reading() as session:
        assert read_clock_corrections(session) == {}


def test_a_clock_set_forward_at_noon_is_put_right_from_there_on_and_told(shoot: Shoot) -> None:
    day = Day(log_shown=True).people(range(1, 13))
    day.now += 1800
    day.clock_off = 7200.0
    store_day(shoot, day.people(range(13, 25)))
    shifts = [own - taken for taken, own in times(shoot)]
    assert shifts[: len(shifts) // 2] == [timedelta(0)] * (len(shifts) // 2)
    assert near(shifts[-1], 2 * HOUR)
    notes = [note.text for lane in read_day_lanes(shoot).lanes for run in lane.runs for note in run.notes]
    assert len(notes) == 1
    assert notes[0].startswith("the clock was set forward by ")


def test_runs_and_why_tell_shoot_time_and_what_the_clock_said(shoot: Shoot) -> None:
    day = Day(clock_off=-5400.0, log_shown=True).people(range(1, 13))
    store_day(shoot, day)
    said: list[str] = []
    told = explain_frame(shoot, f"f{day.ids(3)[0]}")
    print_explanation(told, lambda text, _style="": said.append(text))
    assert "by its camera's clock" in said[0]
    shift = datetime.fromisoformat(told.shoot_time) - datetime.fromisoformat(told.taken_at)
    assert near(shift, 1.5 * HOUR)
    run = read_day_lanes(shoot).by_frame[day.ids(3)[0]]
    assert run.begins is not None
    truly = NINE + (day.frames[[f.id for f in day.frames].index(run.everything[0])].taken or 0) - NINE + 5400
    assert run.begins.timestamp() == pytest.approx(truly, abs=45)


def test_how_people_stand_goes_by_shoot_time(shoot: Shoot) -> None:
    right = Day(log_shown=True).people(range(1, 13))
    wrong = Day(camera=2, clock_off=-7200.0, log_shown=True, station="set-B").people(range(11, 25))
    store_day(shoot, right, wrong)
    standing = {one.person.id: one for one in read_person_statuses(shoot)}
    truly = {**first_portraits(right), **first_portraits(wrong)}  # 11 and 12 were before both, here first
    for person, moment in truly.items():
        first = standing[person].first_frame
        assert first is not None
        assert first.timestamp() == pytest.approx(moment, abs=0 if person < 11 else 45)
    assert {one.frames for one in standing.values()} == {5, 10}


def first_portraits(day: Day) -> dict[int, float]:
    """When each person's first portrait was truly taken, in seconds since 1970 UTC."""
    return {
        person: (frame.taken or 0) - day.clock_off
        for frame in reversed(day.frames)
        if frame.id not in day.slates and (person := day.truth[frame.id]) is not None
    }


def test_cameras_that_disagree_are_warned_of(shoot: Shoot) -> None:
    first = Day(log_shown=True).people(range(1, 13))
    second = Day(camera=2, clock_off=-600.0, log_shown=True, station="set-B").people(range(13, 25))
    store_day(shoot, first, second)
    (warning,) = match_summary_data(shoot, summary_now(shoot))["warnings"]
    assert "disagree" in warning
    assert "behind" in warning


def test_matching_again_leaves_the_timing_as_it_was(shoot: Shoot) -> None:
    day = Day(clock_off=3600.0, log_shown=True).people(range(1, 13))
    store_day(shoot, day)
    match_now(shoot)
    with shoot.reading() as session:
        before = read_clock_corrections(session)
    give_frames(shoot, day.ids(3), 3)
    match_now(shoot)
    with shoot.reading() as session:
        assert read_clock_corrections(session) == before != {}
