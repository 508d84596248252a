"""Bars of people, and the lines that hold them."""

from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len
from rich.style import Style

from onsite.status.person_status import Stage
from onsite.tui.widgets.people_bars import GroupCount, StageCount, bar, group_line, stage_line
from onsite.tui.widgets.person_lines import SHAPES
from onsite.tui.widgets.virtual_list import Ink

INK = Ink(Style(), Style(), Style(), Style())


def test_a_bar_is_the_share_of_the_whole() -> None:
    assert bar(1, 2, 8) == "████░░░░"
    assert bar(8, 8, 8) == "████████"
    assert bar(0, 8, 8) == "░░░░░░░░"


def test_one_among_many_is_seen_and_one_missing_too() -> None:
    assert bar(1, 999, 8) == "█░░░░░░░"
    assert bar(998, 999, 8) == "███████░"


def test_nobody_is_an_empty_bar() -> None:
    assert bar(0, 0, 4) == "░░░░"


@given(st.integers(0, 10_000), st.integers(0, 10_000), st.integers(0, 200))
def test_a_bar_fills_its_width(part: int, more: int, width: int) -> None:
    assert len(bar(part, part + more, width)) == width


@given(st.integers(24, 120), st.sampled_from(list(Stage)), st.integers(0, 99_999))
def test_lines_fit_and_name_the_stage_in_full(width: int, stage: Stage, people: int) -> None:
    line = stage_line(StageCount(stage, people, 99_999), width, INK).plain
    assert cell_len(line) == width
    assert stage.word in line
    assert cell_len(group_line(GroupCount("Year 10", people, 99_999), width, INK).plain) == width


def test_every_stage_has_a_shape_of_its_own() -> None:
    assert len(set(SHAPES.values())) == len(Stage)
