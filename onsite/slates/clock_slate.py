"""The clock slate in the terminal: the door's time as a symbol, and in large digits beside it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from onsite.core.codes import clock_code
from onsite.core.errors import Problem
from onsite.slates.qr_symbol import CLOCK_VERSION
from onsite.slates.terminal_slate import STYLE, slate_lines, symbol_ansi

if TYPE_CHECKING:
    from rich.text import Text

_DIGITS = {
    "0": "███ █ █ █ █ █ █ ███",
    "1": " █  ██   █   █  ███",
    "2": "███   █ ███ █   ███",
    "3": "███   █ ███   █ ███",
    "4": "█ █ █ █ ███   █   █",
    "5": "███ █   ███   █ ███",
    "6": "███ █   ███ █ █ ███",
    "7": "███   █   █   █   █",
    "8": "███ █ █ ███ █ █ ███",
    "9": "███ █ █ ███   █ ███",
    ":": "     █       █     ",
}
"""Each digit as five rows of three cells, a space between the rows."""
_HIGH, _WIDE = 5, 31
"""Rows and columns of a time of day in digits one cell thick: eight of three columns, seven spaces."""
_GAP = 2  # columns between symbol and time
_WORDS = "One frame of this, every camera"


@dataclass(frozen=True, slots=True)
class ClockSlate:
    """The door's time at a moment, in the shoot's zone."""

    shoot: str
    """The shoot's mark."""
    moment: datetime

    @property
    def code(self) -> str:
        """The clock code in the symbol."""
        return clock_code(self.shoot, int(self.moment.timestamp()))

    def symbol(self, scale: int = 1) -> list[str]:
        """The symbol alone, as lines of equal length."""
        return slate_lines(self.code, scale, CLOCK_VERSION)

    def lines(self, columns: int, rows: int) -> list[str]:
        """The slate as lines of equal length, as large as fits, to be shown dark on light.

        The time is beside the symbol, or below it where that leaves the symbol larger. Beside the smallest
        symbol its digits would be as narrow as modules, and decoders take them for some: there it is below,
        or in plain characters. Raises Problem where not even the smallest symbol fits.
        """
        side = len(self.symbol()[0])
        beside = min((columns - _GAP - _WIDE) // side, 2 * rows // (side + 1))
        below = min(columns // side, 2 * (rows - _HIGH - 1) // (side + 1))
        if beside >= max(below, 2):
            symbol = self.symbol(beside)
            thick = min((columns - _GAP - len(symbol[0])) // _WIDE, len(symbol) // (2 * _HIGH))
            return _beside(symbol, _digits(self._time, max(thick, 1)))
        if below >= 1:
            symbol, time = self.symbol(below), _digits(self._time, 1)
        elif columns >= side and 2 * (rows - 2) // (side + 1) >= 1:
            symbol, time = self.symbol(), [self._time]
        else:
            needed = f"{side} columns by {(side + 1) // 2 + 2} rows"
            raise Problem(
                f"The terminal is too small for a clock slate: {columns} columns by {rows} rows,"
                f" {needed} are needed",
                "Make the window larger or the type smaller.",
            )
        return [line.center(len(symbol[0])) for line in (*symbol, *time, "")]

    @property
    def _time(self) -> str:
        return f"{self.moment:%H:%M:%S}"

    def ansi(self, columns: int, rows: int) -> str:
        """`lines` with escape codes for black on white."""
        return symbol_ansi(self.lines(columns, rows))

    def text(self, columns: int, rows: int) -> Text:
        """`lines` as Rich text, every cell black on white."""
        from rich.text import Text

        return Text("\n".join(self.lines(columns, rows)), style=STYLE, no_wrap=True, end="")


def _digits(time: str, thick: int) -> list[str]:
    """The time in digits `thick` cells wide and high."""
    rows = (" ".join(_DIGITS[character][row * 4 : row * 4 + 3] for character in time) for row in range(_HIGH))
    return [line for row in rows for line in ["".join(cell * thick for cell in row)] * thick]


def _beside(symbol: Sequence[str], time: Sequence[str]) -> list[str]:
    """The time right of the symbol, with the words below it, in the middle of its height."""
    width = len(time[0])
    block = [*time, " " * width, _WORDS[:width].ljust(width)]
    above = (len(symbol) - len(block)) // 2
    column = [" " * width] * above + block
    column += [" " * width] * (len(symbol) - len(column))
    return [left + " " * _GAP + right for left, right in zip(symbol, column, strict=True)]
