from __future__ import annotations

from dataclasses import replace

from onsite.matching.evidence import NamedBy
from onsite.reconcile.camera_lanes import DayLanes, LaneNoteKind, RunKind, read_day_lanes
from onsite.reconcile.current_match import match_now
from onsite.reconcile.overrides import give_frames, join_runs, set_frames_aside, split_run
from onsite.store.shoot import Shoot
from tests.matching.days import NINE, Day, code
from tests.reconcile.stored import store_day


def lanes(shoot: Shoot) -> DayLanes:
    match_now(shoot)
    return read_day_lanes(shoot)


def test_the_runs_of_a_lane_in_shooting_order(shoot: Shoot) -> None:
    day = Day().people(range(1, 8)).person(8, "unread")
    store_day(shoot, day)
    (lane,) = lanes(shoot).lanes
    assert lane.label == "A"
    assert [run.person for run in lane.runs] == [*range(1, 8), None]
    assert [run.kind for run in lane.runs] == [RunKind.NAMED] * 7 + [RunKind.LOOSE]
    assert [list(run.frames) for run in lane.runs] == [day.ids(person) for person in range(1, 9)]
    assert [len(run.slates) for run in lane.runs] == [1] * 8
    last = lane.runs[-1]
    assert "does not read" in last.doubt
    assert last.suggestions
    assert last.pause == 40.0
    assert lane.runs[0].begins is not None
    assert lane.runs[0].begins.timestamp() == NINE + 40


def test_the_equation(shoot: Shoot) -> None:
    day = Day().people(range(1, 8)).person(8, "unread")
    store_day(shoot, day)
    set_frames_aside(shoot, day.ids(7)[:2])
    told = lanes(shoot)
    assert told.frame_counts_text == "48 frames in = 33 named + 8 slates + 5 loose + 2 set aside"
    assert told.frames == told.named + told.slates + told.loose + told.set_aside
    everything = [frame for lane in told.lanes for run in lane.runs for frame in run.everything]
    assert sorted(everything) == sorted(day.truth)


def test_before_the_first_match_frames_are_not_matched_yet(shoot: Shoot) -> None:
    store_day(shoot, Day().people(range(1, 3)))
    told = read_day_lanes(shoot)
    assert (told.unmatched, told.lanes[0].runs) == (12, ())
    assert told.frame_counts_text.endswith("+ 12 not matched yet")


def test_frames_given_by_hand_show_as_they_are(shoot: Shoot) -> None:
    day = Day().people(range(1, 8))
    store_day(shoot, day)
    mine = day.ids(4)
    give_frames(shoot, mine[1:3], 5)
    runs = [run for run in lanes(shoot).lanes[0].runs if set(run.frames) & set(mine)]
    assert [(list(run.frames), run.person, run.is_override) for run in runs] == [
        (mine[:1], 4, False),
        (mine[1:3], 5, True),
        (mine[3:], None, False),
    ]


def test_a_split_and_a_join_in_the_lanes(shoot: Shoot) -> None:
    day = Day().people(range(1, 8)).person(8, "unread").person(9, "unread")
    store_day(shoot, day)
    split_run(shoot, day.ids(4)[2])
    join_runs(shoot, day.ids(8)[0], day.ids(9)[0])
    told = lanes(shoot)
    assert [len(told.by_frame[frame].frames) for frame in (day.ids(4)[0], day.ids(4)[2])] == [2, 3]
    one, other = told.by_frame[day.ids(8)[0]], told.by_frame[day.ids(9)[0]]
    assert one.run == other.run == day.ids(8)[0]
    assert one.suggestions == other.suggestions != ()


def test_a_slate_without_frames_stands_alone(shoot: Shoot) -> None:
    day = Day().people(range(1, 8)).arrive(8)
    day.slate(8, code(8), after=40)
    day.person(9)
    store_day(shoot, day)
    run = lanes(shoot).lanes[0].runs[7]
    assert (run.kind, run.person, run.frames, len(run.slates)) == (RunKind.SLATE, 8, (), 1)


def test_a_tail_slate_closes_its_run(shoot: Shoot) -> None:
    day = Day().people(range(1, 8)).person(8, "tail").person(9)
    store_day(shoot, day)
    run = lanes(shoot).by_frame[day.ids(8)[0]]
    assert run.how is NamedBy.TAIL_SLATE
    assert run.tail_slates == (day.ids(8)[-1] + 1,)
    assert run.everything[-1] == run.tail_slates[0]


def test_a_gap_and_a_jump_of_the_clock_are_noted_where_they_are(shoot: Shoot) -> None:
    day = Day().people(range(1, 4))
    day.counter += 3
    day.people(range(4, 6))
    day.clock_off = -3600
    day.people(range(6, 8))
    store_day(shoot, day)
    told = lanes(shoot)
    gap, jump = (told.by_frame[day.ids(person)[0]].notes[0] for person in (4, 6))
    assert (gap.kind, gap.first, gap.last) == (LaneNoteKind.GAP, 1018, 1020)
    assert jump.kind is LaneNoteKind.JUMP
    assert jump.seconds == -3560
    assert sum(len(run.notes) for run in told.lanes[0].runs) == 2


def test_frames_without_a_place_have_a_lane_of_their_own(shoot: Shoot) -> None:
    day = Day().people(range(1, 7))
    lost = day.ids(3)[2]
    day.frames = [replace(f, taken=None, counter=None) if f.id == lost else f for f in day.frames]
    store_day(shoot, day)
    placed, apart = lanes(shoot).lanes
    assert (placed.placed, apart.placed) == (True, False)
    assert [run.frames for run in apart.runs] == [(lost,)]
    assert apart.runs[0].doubt


def test_the_runs_beside_a_run(shoot: Shoot) -> None:
    store_day(shoot, Day().people(range(1, 4)), Day(camera=2).people(range(11, 14)))
    told = lanes(shoot)
    first, second, third = told.lanes[0].runs
    assert told.neighbours(first) == (None, second)
    assert told.neighbours(second) == (first, third)
    assert told.neighbours(third) == (second, None)
    assert [run.person for run in told.lanes[1].runs] == [11, 12, 13]
