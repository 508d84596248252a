"""Numbers drawn large."""

import pytest

from onsite.tui.widgets.person_panel import dots


def test_a_digit_in_half_blocks() -> None:
    assert dots("7", 1) == ["▀▀▀▀█", "  ▄▀ ", "  █  ", "  ▀  "]


@pytest.mark.parametrize("scale", [1, 2, 3, 4])
def test_every_number_keeps_its_shape_at_every_size(scale: int) -> None:
    for number in ("0", "10", "9876543210"):
        lines = dots(number, scale)
        assert len(lines) == -(-7 * scale // 2)
        assert {len(line) for line in lines} == {(6 * len(number) - 1) * scale}


def test_no_two_digits_look_alike() -> None:
    assert len({tuple(dots(digit, 1)) for digit in "0123456789"}) == 10
