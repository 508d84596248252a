"""Text drawn large out of half blocks."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from onsite.tui.widgets.block_text import block_lines


def test_a_name_is_as_large_as_its_room() -> None:
    small, large = block_lines("Bo Lind", 60, 6), block_lines("Bo Lind", 120, 12)
    assert 0 < len(small) <= 6 < len(large) <= 12
    assert {len(line) for line in small} == {60}


def test_letters_that_blocks_cannot_draw_and_too_little_room_leave_it_to_plain_letters() -> None:
    assert block_lines("周 晓蔚", 200, 20) == ()
    assert block_lines("Zoë Ó Súilleabháin", 40, 5) == ()
    assert block_lines("", 80, 10) == ()
    assert block_lines("0 ", 6, 4) == block_lines("0", 6, 4)


def test_accents_are_drawn() -> None:
    assert block_lines("Zoë", 60, 8) != block_lines("Zoe", 60, 8)


@given(
    st.text(st.characters(min_codepoint=32, max_codepoint=0x52F), max_size=30),
    st.integers(1, 120),
    st.integers(0, 20),
)
def test_it_never_exceeds_its_room(text: str, width: int, rows: int) -> None:
    lines = block_lines(text, width, rows)
    assert len(lines) <= rows
    assert all(len(line) == width for line in lines)


def test_a_count_stays_in_one_line() -> None:
    """Broken, "13 of" would be larger, and say nothing."""
    one_line = block_lines("13 of 17", 80, 13)
    assert len(one_line) < len(block_lines("so of us", 80, 13))
