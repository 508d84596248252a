"""The run under the cursor in words."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from onsite.matching.evidence import NamedBy
from onsite.tui.reconcile.run_description import headline, selected_run, which_frames, wrapped
from tests.tui.reconcile.runs import aside, loose, named, slate


def who(person: int) -> str:
    return f"{person} Ana Horvat"


def test_the_headline_tells_whose_and_how_that_is_known() -> None:
    assert headline(named(12, 2, 3), who) == "12 Ana Horvat: 2 frames, by slate"
    assert headline(named(12, 2, how=NamedBy.TAIL_SLATE), who) == "12 Ana Horvat: 1 frame, by tail slate"
    assert headline(named(12, 2, how=NamedBy.OVERRIDE), who) == "12 Ana Horvat: 1 frame, by hand"
    assert headline(loose(4, 5, 6), who) == "loose: 3 frames"
    assert headline(aside(4), who) == "set aside: 1 frame"
    assert headline(slate(4, person=12), who) == "slate without frames, 12 Ana Horvat"


def test_which_frame_is_under_the_cursor() -> None:
    runs = (loose(4, 5, 6), slate(7))
    assert which_frames(selected_run(runs, 0, 5), "A:0105") == "frame 2 of 3, A:0105, 09:04"
    assert which_frames(selected_run(runs, 0, None), "A:0104") == "frame 1 of 3, A:0104, 09:04"
    assert which_frames(selected_run(runs, 1, 7), "A:0107") == "slate A:0107, 09:07"


def test_the_runs_beside_it() -> None:
    runs = (named(1, 2), loose(4), named(2, 6))
    assert (selected_run(runs, 1, 4).before, selected_run(runs, 1, 4).after) == (runs[0], runs[2])
    assert selected_run(runs, 0, 2).before is None
    assert selected_run(runs, 2, 6).after is None


@given(st.text(max_size=200), st.integers(8, 60))
def test_every_line_has_just_its_width(text: str, width: int) -> None:
    assert {cell_len(line) for line in wrapped(text, width, "    ")} == {width}
