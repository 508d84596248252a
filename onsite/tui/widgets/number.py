"""A number so large that it is read from across a table."""

from __future__ import annotations

from rich.segment import Segment
from textual.geometry import Size
from textual.reactive import reactive
from textual.strip import Strip
from textual.widget import Widget

_DIGITS = {
    "0": ("01110", "10001", "10001", "10001", "10001", "10001", "01110"),
    "1": ("00100", "01100", "00100", "00100", "00100", "00100", "01110"),
    "2": ("01110", "10001", "00001", "00110", "01000", "10000", "11111"),
    "3": ("11110", "00001", "00001", "01110", "00001", "00001", "11110"),
    "4": ("00010", "00110", "01010", "10010", "11111", "00010", "00010"),
    "5": ("11111", "10000", "11110", "00001", "00001", "10001", "01110"),
    "6": ("01110", "10000", "10000", "11110", "10001", "10001", "01110"),
    "7": ("11111", "00001", "00010", "00100", "00100", "00100", "00100"),
    "8": ("01110", "10001", "10001", "01110", "10001", "10001", "01110"),
    "9": ("01110", "10001", "10001", "01111", "00001", "00001", "01110"),
}
"""Seven rows of five dots for each digit."""

_WIDE, _HIGH = 6, 7  # dots of a digit with the gap beside it
_SHARE = 4  # of the screen's rows, one in so many may be the number's
_INK = " ▀▄█"


def dots(number: str, scale: int) -> list[str]:
    """The digits in cells, two rows of dots to a cell, each dot `scale` times as wide and as high."""
    rows = [" ".join(_DIGITS[digit][row] for digit in number).replace(" ", "0") for row in range(_HIGH)]
    large = ["".join(dot * scale for dot in row) for row in rows for _ in range(scale)]
    if len(large) % 2:
        large.append("0" * len(large[0]))
    return [
        "".join(_INK[int(upper) + 2 * int(lower)] for upper, lower in zip(*pair, strict=True))
        for pair in zip(large[::2], large[1::2], strict=True)
    ]


class LargeNumber(Widget):
    """A whole number, as large as its room and a quarter of the screen's height allow."""

    DEFAULT_CSS = """
    LargeNumber { width: 100%; height: auto; color: $ink; }
    """

    value: reactive[str] = reactive("", layout=True)
    """The digits, or empty."""

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:  # noqa: ARG002
        return len(self._lines(width)) if self.value else 0

    def render_line(self, y: int) -> Strip:
        lines = self._lines(self.size.width)
        text = lines[y] if y < len(lines) else ""
        return Strip([Segment(text, self.rich_style)]).adjust_cell_length(self.size.width, self.rich_style)

    def _lines(self, width: int) -> list[str]:
        if not self.value.isdecimal() or not self.value.isascii():
            return []
        rows = max(self.app.size.height // _SHARE, 4)
        scale = min(width // (_WIDE * len(self.value)), 2 * rows // _HIGH)
        return dots(self.value, max(scale, 1))
