"""The lines above the runs."""

from __future__ import annotations

from onsite.reconcile.camera_lanes import DayLanes
from onsite.tui.reconcile.camera_strips import (
    frame_counts_line,
    lane_heading,
    next_text,
    nothing_text,
    progress_line,
)
from onsite.tui.reconcile.day_with_overrides import DayWithOverrides
from tests.tui.reconcile.runs import aside, lanes, loose, named


def shown(day: DayLanes) -> DayWithOverrides:
    made = DayWithOverrides()
    made.show(day)
    return made


def test_the_equation_is_the_key_to_the_shapes_where_there_is_room() -> None:
    day = shown(lanes((named(1, 2, 3, slate=1), loose(4), aside(5))))
    assert frame_counts_line(day, 100) == "5 frames in = ━ 2 named + ┿ 1 slate + ▒ 1 loose + · 1 set aside"
    assert frame_counts_line(day, 60) == "5 frames in = 2 named + 1 slate + 1 loose + 1 set aside"


def test_frames_that_no_match_knows_are_counted() -> None:
    day = shown(DayLanes((), 3, {}, unmatched=3))
    assert frame_counts_line(day, 100).endswith("+ · 0 set aside + 3 not matched")
    assert nothing_text(day) == "matching …"


def test_without_frames_and_before_the_day_is_read() -> None:
    assert nothing_text(shown(DayLanes((), 0, {}))) == "no frames yet"
    assert (
        frame_counts_line(DayWithOverrides(), 100) == nothing_text(DayWithOverrides()) == "reading the day …"
    )


def test_a_camera_tells_how_many_frames_are_loose_and_whether_it_is_being_matched() -> None:
    day = lanes((named(1, 2), loose(3, 4)), *[(named(1, n),) for n in range(10, 14)])
    assert lane_heading(day.lanes[:1], 0, True) == "Camera A: 2 loose, matching …"
    assert lane_heading(day.lanes[:1], 0, True, cannot_match=True) == "Camera A: 2 loose, not matched yet"
    assert lane_heading(day.lanes, 1, False) == "[ ] Camera B (2 of 5): 0 loose"


def test_what_is_left_is_counted_in_frames_and_the_bar_is_never_full_before() -> None:
    day = shown(lanes((named(1, 2, 3, slate=1), loose(4, 5))))
    line = progress_line(day, 60)
    assert line.endswith(" 3 of 5 settled, 2 to go")
    assert line.count("█") == 0.6 * (60 - len(" 3 of 5 settled, 2 to go")) // 1
    assert len(line) == 60
    assert next_text(day) == ""


def test_a_finished_day_and_one_without_frames_say_what_is_next() -> None:
    assert next_text(shown(lanes((named(1, 2, slate=1), aside(4))))).startswith("nothing is loose. Press L")
    assert "Press F2" in next_text(shown(DayLanes((), 0, {})))
    assert progress_line(shown(DayLanes((), 0, {})), 60) == ""
