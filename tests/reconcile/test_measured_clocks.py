"""What a clock slate says of its camera's clock, told from the store."""

from __future__ import annotations

import pytest

from onsite.matching.evidence import FrameKind
from onsite.reconcile.camera_lanes import read_day_lanes
from onsite.reconcile.camera_on_set import read_camera_now
from onsite.reconcile.current_match import current_verdicts, summary_now
from onsite.reconcile.end_of_day_lists import read_end_of_day_lists
from onsite.reconcile.live_match import live_frames
from onsite.reconcile.measured_clocks import measured_clocks, measured_in
from onsite.store.shoot import Shoot
from tests.matching.days import NINE, Day, card
from tests.reconcile.stored import store_day

SLOW = -192.0


def text_of(shoot: Shoot, camera: int = 1) -> str:
    with shoot.reading() as session:
        clock = measured_clocks(session, shoot).get(camera)
    return clock.text if clock else ""


def test_the_last_clock_slate_is_told_in_words(shoot: Shoot) -> None:
    """Nine o'clock UTC in June is eleven in Vienna."""
    slow, right = Day(clock_off=SLOW).clock_slate(), Day(camera=2).clock_slate()
    store_day(shoot, slow.people(range(1, 4)), right.people(range(5, 8)), Day(camera=3).people(range(8, 9)))
    assert text_of(shoot) == "3 min 12 s slow, measured 11:00"
    assert text_of(shoot, 2) == "right, measured 11:00"
    assert text_of(shoot, 3) == ""
    assert [clock.label for clock in measured_in(shoot, [slow.frames[0].id])] == ["A"]
    assert measured_in(shoot, []) == []


def test_after_the_clock_was_set_a_clock_slate_is_asked_for_again(shoot: Shoot) -> None:
    day = Day(clock_off=SLOW, log_shown=True).clock_slate().people(range(1, 13))
    day.clock_off = -7200.0
    store_day(shoot, day.people(range(13, 25)))
    summary_now(shoot)
    assert text_of(shoot) == "3 min 12 s slow, measured 11:00, and set since"


def test_it_counts_among_slates_and_is_nothing_to_settle(shoot: Shoot) -> None:
    day = Day().clock_slate().people(range(1, 5)).clock_slate()
    store_day(shoot, day)
    summary = summary_now(shoot)
    assert (summary.frames, summary.named, summary.slates, summary.loose) == (26, 20, 6, 0)
    assert summary.unread_slates == ()
    (camera,) = summary.cameras
    assert camera.clocks == ("right (from 2 clock slates)",)
    lanes = read_day_lanes(shoot)
    assert read_end_of_day_lists(shoot, lanes).slates_without_frames == ()
    assert lanes.slates == 6


def test_on_set_it_raises_no_warning(shoot: Shoot) -> None:
    day = Day().clock_slate().people(range(1, 5)).clock_slate()
    store_day(shoot, day)
    now = read_camera_now(shoot, 1, {})
    of_clock = {day.frames[0].id, day.frames[-1].id}
    frames = [frame for run in now.runs for frame in run.frames if frame.id in of_clock]
    assert [frame.live.kind for frame in frames] == [FrameKind.SLATE] * 2
    assert [frame.warnings for frame in frames] == [()] * 2
    assert now.lone_slate(1000.0) is None


@pytest.mark.long
def test_long_after_its_clock_slate_a_card_used_again_is_named_on_set_once_all_was_matched(
    shoot: Shoot,
) -> None:
    """The clock slate is no longer among the last frames, and of those alone too few waits are known."""
    day = Day().clock_slate().people(range(1, 80))
    for person in (80, 81):
        day.arrive(person)
        day.tie(1, person)
        day.now += 200
        day.slate(person, card(1))
        day.portraits(person)
    assert day.now > NINE
    store_day(shoot, day)
    assert {frame.person for frame in live_frames(shoot, 1, last=12)} <= {80, 81, None}
    named = [
        verdict.person for verdict in current_verdicts(shoot).values() if verdict.kind is FrameKind.NAMED
    ]
    assert {80, 81} <= set(named)
    assert {frame.person for frame in live_frames(shoot, 1, last=12)} == {80, 81}
