"""The day of a camera across the width."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from onsite.reconcile.runs import LONG_PAUSE, RunKind
from onsite.tui.reconcile.camera_strips import lane_cells
from tests.tui.reconcile.runs import aside, loose, named


def test_a_strip_tells_by_shape() -> None:
    runs = (named(1, 2, 3, 4, slate=1), loose(5, 6), aside(7, 8), named(2, 10, slate=9))
    assert lane_cells(runs, 10).cells == "┿━━━▒▒··┿━"


def test_a_break_is_a_gap() -> None:
    runs = (named(1, *range(2, 11), slate=1), named(2, *range(12, 21), slate=11, pause=LONG_PAUSE))
    assert lane_cells(runs, 21).cells == "┿━━━━━━━━━ ┿━━━━━━━━━"


def test_where_frames_share_a_cell_a_loose_one_is_shown() -> None:
    runs = (named(1, *range(1, 500)), loose(500), named(2, *range(501, 1000)))
    assert lane_cells(runs, 20).cells.strip("━") in ("▒", "▒▒")


def test_few_frames_fill_the_width() -> None:
    assert lane_cells((named(1, 2, slate=1),), 8).cells == "┿━━━━━━━"


@given(st.lists(st.tuples(st.integers(1, 30), st.booleans(), st.booleans()), max_size=30), st.integers(0, 90))
def test_every_strip_has_its_width_and_hides_no_loose_run(
    sizes: list[tuple[int, bool, bool]], width: int
) -> None:
    runs, frame = [], 1
    for size, is_loose, late in sizes:
        frames = range(frame, frame + size)
        pause = LONG_PAUSE if late else 1.0
        runs.append(loose(*frames, pause=pause) if is_loose else named(1, *frames, pause=pause))
        frame += size
    laid = lane_cells(runs, width)
    assert len(laid.cells) == width
    for run, start in zip(runs, laid.starts, strict=True):
        if width and run.kind is RunKind.LOOSE:
            assert {laid.cells[laid.cell_of(start + place)] for place in range(len(run.frames))} == {"▒"}
