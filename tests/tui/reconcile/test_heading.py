"""The lines above the runs."""

from __future__ import annotations

from onsite.reconcile.lanes import DayLanes
from onsite.tui.reconcile.camera_strips import frame_counts_line, lane_heading, nothing_text
from onsite.tui.reconcile.day_with_overrides import DayWithOverrides
from tests.tui.reconcile.runs import aside, lanes, loose, named


def shown(day: DayLanes) -> DayWithOverrides:
    made = DayWithOverrides()
    made.show(day)
    return made


def test_the_equation_is_the_key_to_the_shapes_where_there_is_room() -> None:
    day = shown(lanes((named(1, 2, 3, slate=1), loose(4), aside(5))))
    assert frame_counts_line(day, 100) == "5 frames in = ━ 2 named + ┿ 1 slates + ▒ 1 loose + · 1 set aside"
    assert frame_counts_line(day, 60) == "5 frames in = 2 named + 1 slates + 1 loose + 1 set aside"


def test_frames_that_no_match_knows_are_counted() -> None:
    day = shown(DayLanes((), 3, {}, unmatched=3))
    assert frame_counts_line(day, 100).endswith("+ · 0 set aside + 3 not matched")
    assert nothing_text(day) == "matching …"


def test_without_frames_and_before_the_day_is_read() -> None:
    assert nothing_text(shown(DayLanes((), 0, {}))) == "no frames yet"
    assert (
        frame_counts_line(DayWithOverrides(), 100) == nothing_text(DayWithOverrides()) == "reading the day …"
    )


def test_a_lane_tells_its_runs_and_whether_it_is_being_matched() -> None:
    day = lanes((named(1, 2), loose(3)), *[(named(1, n),) for n in range(10, 14)])
    assert lane_heading(day.lanes[:1], 0, True) == "A: 2 runs, 1 loose   matching …"
    assert lane_heading(day.lanes[:1], 0, True, cannot_match=True) == "A: 2 runs, 1 loose   not matched yet"
    assert lane_heading(day.lanes, 1, False) == "B, camera 2 of 5: 1 run, 0 loose"
