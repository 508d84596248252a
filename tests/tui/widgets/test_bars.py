"""Bars that are told by shape."""

from hypothesis import given
from hypothesis import strategies as st

from onsite.status.person_status import Stage
from onsite.tui.board.board_screen import shares, stage_bar
from onsite.tui.widgets.person_lines import SHAPES

A, P, E = Stage.ARRIVED, Stage.PHOTOGRAPHED, Stage.EXPECTED


def test_a_bar_shows_each_stage_in_its_shape_the_furthest_first() -> None:
    assert stage_bar({E: 2, A: 1, P: 1}, 8) == "▇▇▄▄▁▁▁▁"


def test_after_the_shoot_a_bar_is_told_by_other_shapes() -> None:
    assert stage_bar({E: 1, P: 1, Stage.PROOFED: 1, Stage.AT_RETOUCH: 1, Stage.DELIVERED: 2}, 6) == "●●◑○▇▁"
    assert len(set(SHAPES.values())) == len(Stage)


def test_one_person_among_many_is_still_seen() -> None:
    assert stage_bar({E: 999, A: 1, P: 0}, 10) == "▄▁▁▁▁▁▁▁▁▁"


def test_nobody_is_no_bar() -> None:
    assert stage_bar({E: 0}, 10) == ""


@given(
    st.dictionaries(st.sampled_from(list(Stage)), st.integers(0, 100_000)),
    st.integers(0, 200),
)
def test_the_parts_add_up_to_the_width(counts: dict[Stage, int], width: int) -> None:
    parts = shares(counts, width)
    total = sum(counts.values())
    assert sum(cells for _, cells in parts) == (width if total else 0)
    if width >= len(Stage):
        assert {stage for stage, _ in parts} == {stage for stage, count in counts.items() if count}
