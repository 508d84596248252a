"""Counts that go on on the next line."""

from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from onsite.tui.board.board_screen import flowed


def test_what_flows_is_never_broken_inside() -> None:
    parts = ["1 expected", "2 at retouch", "3 delivered"]
    assert flowed(parts, 80) == ["1 expected   2 at retouch   3 delivered"]
    assert flowed(parts, 25) == ["1 expected   2 at retouch", "3 delivered"]
    assert flowed(parts, 5) == parts


@given(st.lists(st.text("ab ◑森", min_size=1, max_size=12)), st.integers(1, 60))
def test_every_part_is_there_once_and_lines_fit_where_parts_do(parts: list[str], width: int) -> None:
    lines = flowed(parts, width, gap="|")
    assert "|".join(lines).split("|") == parts if parts else lines == []
    for line in lines:
        assert cell_len(line) <= width or line in parts
