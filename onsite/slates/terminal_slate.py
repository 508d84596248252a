"""A slate in the terminal: half blocks, black on white in every theme."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from onsite.core.codes import spaced_code
from onsite.core.errors import Problem
from onsite.core.text import shown
from onsite.slates.qr_symbol import qr_modules, with_quiet_zone

if TYPE_CHECKING:
    from rich.text import Text

STYLE = "#000000 on #ffffff"

_INK = " ▀▄█"
"""Characters by the dark halves of a cell: none, upper, lower, both."""

_BLACK_ON_WHITE = "\x1b[0;38;2;0;0;0;48;2;255;255;255m"
_RESET = "\x1b[0m"


def slate_lines(code: str, scale: int = 1, version: int = 1) -> list[str]:
    """Return a code's symbol with its quiet zone, as `symbol_lines` does."""
    return symbol_lines(with_quiet_zone(qr_modules(code, version)), scale)


def symbol_lines(modules: NDArray[np.bool_], scale: int = 1) -> list[str]:
    """Return a symbol as lines of equal length, to be shown dark on light.

    A module is `scale` cells wide and `scale` half cells high.
    """
    modules = np.kron(modules, np.ones((scale, scale), dtype=bool))
    upper, lower = modules[0::2], modules[1::2]
    lower = np.pad(lower, ((0, len(upper) - len(lower)), (0, 0)))  # an odd last row is light below
    return ["".join(_INK[cell] for cell in row) for row in upper + 2 * lower]


def slate_block(code: str, name: str = "", columns: int = 80, rows: int = 24) -> list[str]:
    """Return the slate with name and code below it, as large as fits into `columns` by `rows` cells.

    The lines are plain text of equal length. Raises Problem where not even the smallest size fits.
    """
    side, words = len(slate_lines(code)[0]), [text for text in (shown(name), spaced_code(code)) if text]
    under = len(words) + 1  # an empty line ends the block
    scale = min(columns // side, 2 * (rows - under) // (side + 1))
    if scale < 1:
        needed = f"{side} columns by {(side + 1) // 2 + under} rows"
        raise Problem(
            f"The terminal is too small for a slate: {columns} columns by {rows} rows, {needed} are needed",
            "Make the window larger or the type smaller.",
        )
    return [*slate_lines(code, scale), *(_centred(text, side * scale) for text in words), " " * side * scale]


def _centred(text: str, width: int) -> str:
    """Centre `text` in `width` cells, cut with an ellipsis where it is wider."""
    from rich.cells import cell_len, set_cell_size

    room = width - 2
    if cell_len(text) > room:
        text = set_cell_size(text, room - 1).rstrip() + "…"
    left = (width - cell_len(text)) // 2
    return set_cell_size(" " * left + text, width)


def slate_ansi(code: str, name: str = "", columns: int = 80, rows: int = 24) -> str:
    """Return `slate_block` with escape codes for black on white, for a terminal with 24-bit colour.

    The colours make the slate readable, so they are set under NO_COLOR too.
    """
    return symbol_ansi(slate_block(code, name, columns, rows))


def symbol_ansi(lines: Iterable[str]) -> str:
    """Return lines of a symbol with escape codes for black on white."""
    return "\n".join(f"{_BLACK_ON_WHITE}{line}{_RESET}" for line in lines)


def slate_text(code: str, name: str = "", columns: int = 80, rows: int = 24) -> Text:
    """Return `slate_block` as Rich text, every cell in `STYLE`.

    A Rich console removes colour under NO_COLOR: print `slate_ansi` there instead.
    """
    from rich.text import Text

    return Text("\n".join(slate_block(code, name, columns, rows)), style=STYLE, no_wrap=True, end="")
