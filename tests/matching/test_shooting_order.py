from __future__ import annotations

from dataclasses import replace

import pytest

from onsite.matching.evidence import FrameEvidence
from onsite.matching.shooting_order import CounterGap, order_frames, shooting_lanes
from tests.matching.days import NINE, Day, assert_all_named, loose, names, verdicts, wrong


def frame(
    ident: int, taken: float | None, counter: int | None, source: str = "", sure: bool = True
) -> FrameEvidence:
    return FrameEvidence(ident, 1, f"F{ident}", taken, counter, source, sure)


def ids(frames: list[FrameEvidence]) -> list[int]:
    return [f.id for f in order_frames(frames)[0].frames]


@pytest.mark.parametrize("after_last", [0, 1])
def test_the_counter_rolls_over(after_last: int) -> None:
    """DCF numbers files 0001 to 9999 (JEITA CP-3461, from memory); some bodies write 0000 all the same."""
    day = Day(counter=9980, after_last=after_last).people(range(1, 9))
    found = verdicts(day.evidence())
    assert_all_named(day, found)
    lane, _ = order_frames(day.frames)
    assert lane.gaps == ()
    assert lane.jumps == ()
    assert [f.id for f in lane.frames] == [f.id for f in day.frames]


@pytest.mark.parametrize("counters", [(9998, 9999, 1, 2), (9998, 9999, 0, 1)])
def test_a_burst_across_the_roll_over_within_one_second(counters: tuple[int, ...]) -> None:
    frames = [frame(i, NINE, counter) for i, counter in enumerate(counters)]
    assert ids(frames[::-1]) == [0, 1, 2, 3]


def jump(day: Day, at: int, seconds: float) -> Day:
    day.frames = [
        replace(f, taken=(f.taken or 0.0) + seconds) if i >= at else f for i, f in enumerate(day.frames)
    ]
    return day


@pytest.mark.parametrize("seconds", [-NINE, -3600.0, -240.0], ids=["1970", "an hour", "four minutes"])
@pytest.mark.parametrize("looks", ["own", "alike"])
def test_a_clock_that_jumps_back_between_two_people(seconds: float, looks: str) -> None:
    day = jump(Day(looks=looks).people(range(1, 21)), 60, seconds)
    found = verdicts(day.evidence())
    assert_all_named(day, found)
    lane, _ = order_frames(day.frames)
    assert [round(j.seconds) for j in lane.jumps] == [round(seconds + 40)]
    assert [(p.start, p.stop) for p in lane.pieces] == [(0, 60), (60, 120)]


@pytest.mark.parametrize("deleted", [0, 8])
def test_a_jump_back_with_frames_deleted_around_it_mixes_nobody(deleted: int) -> None:
    day = Day().people(range(1, 21))
    jump(day, 60, -600.0)
    gone = {f.id for f in day.frames[60 - deleted // 2 : 60 + deleted // 2]}
    day.frames = [f for f in day.frames if f.id not in gone]
    day.truth = {f: who for f, who in day.truth.items() if f not in gone}
    found = verdicts(day.evidence())
    assert wrong(day, found) == []
    assert len(loose(day, found)) <= 5


def test_after_a_jump_a_frame_without_a_counter_has_no_place() -> None:
    day = jump(Day().people(range(1, 21)), 60, -600.0)
    day.frames[70] = replace(day.frames[70], counter=None)
    found = verdicts(day.evidence())
    assert wrong(day, found) == []
    assert loose(day, found) == [day.frames[70].id]


@pytest.mark.parametrize("first", [100, 1000, 61])
def test_a_counter_that_was_reset_at_noon(first: int) -> None:
    day = Day(counter=first).people(range(1, 11))
    day.counter = 1
    day.people(range(11, 40))
    found = verdicts(day.evidence())
    assert_all_named(day, found)
    assert [f.id for f in order_frames(day.frames)[0].frames] == [f.id for f in day.frames]


def test_a_counter_that_goes_all_the_way_round() -> None:
    frames = [frame(i, NINE + i * 3, i % 9999 + 1) for i in range(12_000)]
    lane, rest = order_frames(frames[::-1])
    assert [f.id for f in lane.frames] == list(range(12_000))
    assert (lane.jumps, lane.gaps, rest) == ((), (), [])


def test_a_gap_is_reported() -> None:
    lane, _ = order_frames([frame(1, NINE, 100), frame(2, NINE + 9, 104), frame(3, NINE + 12, 105)])
    assert lane.gaps == (CounterGap(1, 101, 103),)


def test_a_gap_across_the_roll_over_is_reported() -> None:
    lane, _ = order_frames([frame(1, NINE, 9998), frame(2, NINE + 9, 3)])
    assert lane.gaps == (CounterGap(1, 9999, 2),)


def test_frames_without_a_time_stand_where_their_counter_says() -> None:
    day = Day().people(range(1, 9))
    day.frames = [replace(f, taken=None) if 20 <= i < 24 else f for i, f in enumerate(day.frames)]
    assert_all_named(day, verdicts(day.evidence()))


def test_a_frame_without_a_time_whose_counter_another_has_is_not_placed() -> None:
    lane, rest = order_frames([frame(1, NINE, 7), frame(2, NINE + 4, 8), frame(3, None, 8)])
    assert [f.id for f in lane.frames] == [1, 2]
    assert [f.id for f in rest] == [3]


def test_counters_that_come_twice_without_times_place_nothing() -> None:
    """Two cards of a body that starts each card at 1: by counter alone two people would be mixed."""
    day = Day(timed=False, counter=1).people(range(1, 6))
    day.counter = 1
    day.people(range(6, 11))
    found = verdicts(day.evidence())
    assert names(found, day.truth) == ["loose"] * 60


def test_folders_of_an_unsure_body_are_one_lane_unless_their_times_overlap() -> None:
    one = [frame(i, NINE + i, i, "a", False) for i in range(1, 5)]
    later = [frame(i + 10, NINE + 100 + i, i + 4, "b", False) for i in range(1, 5)]
    meanwhile = [frame(i + 20, NINE + i + 0.5, i + 70, "c", False) for i in range(1, 5)]
    together, _ = shooting_lanes([*one, *later])
    assert [len(lane.frames) for lane in together] == [8]
    assert len(together[0].pieces) == 2  # a clock of its own for each, should they be two bodies after all
    apart, _ = shooting_lanes([*one, *meanwhile])
    assert [{f.source for f in lane.frames} for lane in apart] == [{"a"}, {"c"}]
