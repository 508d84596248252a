"""Text cut and padded to cells of the terminal, shown as written."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rich.cells import cell_len, set_cell_size
from rich.style import Style
from rich.text import Text

from onsite.words import shown


@dataclass(frozen=True, slots=True)
class Ink:
    """The styles that a line may use, as the theme has them; on the chosen row all are the row's."""

    plain: Style
    quiet: Style
    strong: Style
    alert: Style


@dataclass(frozen=True, slots=True)
class Cell:
    """Text in a column: `width` cells, or what is left where it is 0 (one column of a line)."""

    text: str
    width: int = 0
    style: Style | None = None
    right: bool = False


def fit_cells(text: str, width: int, right: bool = False) -> str:
    """`text` in exactly `width` cells: cut with an ellipsis, or padded."""
    text = shown(text)
    if width <= 0:
        return ""
    if cell_len(text) > width:
        return set_cell_size(set_cell_size(text, width - 1).rstrip() + "…", width)
    padding = " " * (width - cell_len(text))
    return padding + text if right else text + padding


def cells_line(width: int, cells: Sequence[Cell], ink: Ink) -> Text:
    """Columns beside each other, a space between them, in `width` cells altogether."""
    fixed = sum(cell.width for cell in cells) + len(cells) - 1
    rest = max(width - fixed, 0)
    text = Text(no_wrap=True, end="")
    for number, cell in enumerate(cells):
        if number:
            text.append(" ", ink.plain)
        text.append(fit_cells(cell.text, cell.width or rest, cell.right), cell.style or ink.plain)
    return text
