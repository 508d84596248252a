"""Text drawn large out of half blocks, for words that must be read across a room."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator
from functools import lru_cache
from typing import TYPE_CHECKING

from rich.segment import Segment
from rich.text import Text
from textual.geometry import Size
from textual.strip import Strip
from textual.widget import Widget

from onsite.core.text import shown
from onsite.tui.widgets.virtual_list import fit_cells

if TYPE_CHECKING:
    from PIL.ImageFont import FreeTypeFont

_LEAST = 9
"""Size in dots below which letters cannot be told apart. Own choice, by looking."""
_MOST = 60
_FEWEST = 3
"""Rows that the smallest letters need."""
_DRAWN_BEFORE = 0x530
"""Latin, Greek and Cyrillic letters come before it (Unicode's blocks); letters of other scripts need finer
dots than a terminal has, and are written plainly."""
_INK = " ▀▄█"


@lru_cache(maxsize=64)
def block_lines(text: str, width: int, rows: int) -> tuple[str, ...]:
    """The text in one or two lines, as large as fits into `width` cells and `rows` rows; nothing where it
    would be too small to read. A cell holds two dots, one above the other."""
    text = text.strip()
    written = text.replace("’", "'")
    if not text or rows < _FEWEST or max(map(ord, written)) >= _DRAWN_BEFORE:
        return ()
    size, lines = max((_largest(lines, width, rows), lines) for lines in _broken(text))
    if size < _LEAST:
        return ()
    drawn = (row[:width].ljust(width) for line in lines for row in _drawn(line, size))
    return tuple(drawn)


def _largest(lines: list[str], width: int, rows: int) -> int:
    """The largest size in which all lines fit; 0 where none does."""

    def is_too_large(size: int) -> bool:
        drawn = [_font(size).getmask(line, mode="1").size for line in lines]  # its box may be smaller
        wide, high = max(wide for wide, _ in drawn), sum(-(-high // 2) for _, high in drawn)
        return bool(wide > width or high > rows)

    sizes = range(_LEAST, _MOST + 1)
    fitting = bisect_left(sizes, True, key=is_too_large)
    return sizes[fitting - 1] if fitting else 0


def _broken(text: str) -> list[list[str]]:
    """The text in one line, and in two, broken at the blank nearest its middle, but not beside a number."""
    blanks = [place for place, letter in enumerate(text) if letter == " " and text[place + 1].isalpha()]
    blanks = [place for place in blanks if not text[place - 1].isdigit()]
    if not blanks:
        return [[text]]
    at = min(blanks, key=lambda place: abs(2 * place - len(text)))
    return [[text], [text[:at], text[at + 1 :]]]


def _drawn(text: str, size: int) -> Iterator[str]:
    """The rows of cells that draw a line of text, each as wide as the others."""
    mask = _font(size).getmask(text, mode="1")
    width, height = mask.size
    dots = [dot > 0 for dot in mask] + [False] * (width * (height % 2))
    for upper in range(0, len(dots), 2 * width or 1):  # a mark alone has no width
        pairs = zip(dots[upper : upper + width], dots[upper + width : upper + 2 * width], strict=True)
        yield "".join(_INK[above + 2 * below] for above, below in pairs)


@lru_cache(maxsize=64)
def _font(size: int) -> FreeTypeFont:
    from PIL import ImageFont

    from onsite.slates.slate_fonts import bundled_typeface

    # these scripts need no shaping, which takes longer and refuses some characters
    return ImageFont.truetype(bundled_typeface(bold=True).path, size, layout_engine=ImageFont.Layout.BASIC)


class BlockText(Widget):
    """A line of text as large as its room and a share of the screen's height allow, else in bold letters, on
    as many lines as they need."""

    DEFAULT_CSS = """
    BlockText { width: 100%; height: auto; color: $ink; text-style: bold; }
    """

    def __init__(self, share: int, spare: int = 0, id: str | None = None, classes: str | None = None) -> None:
        """It may take one in `share` of the screen's rows, of those beyond `spare`."""
        super().__init__(id=id, classes=classes)
        self._share = share
        self._spare = spare
        self._text = ""

    @property
    def text(self) -> str:
        """The text shown."""
        return self._text

    def show(self, text: str) -> None:
        """Show the text; an empty one takes no room."""
        if text != self._text:
            self._text = text
            self.refresh(layout=True)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:  # noqa: ARG002
        return len(self._lines(width)) if self._text else 0

    def render_line(self, y: int) -> Strip:
        width = self.size.width
        lines = self._lines(width)
        text = lines[y] if y < len(lines) else ""
        return Strip([Segment(text, self.rich_style)]).adjust_cell_length(width, self.rich_style)

    def _lines(self, width: int) -> tuple[str, ...]:
        text = shown(self._text)
        rows = (self.app.size.height - self._spare) // self._share
        plain = Text(text).wrap(self.app.console, max(width, 1))
        return block_lines(text, width, rows) or tuple(fit_cells(line.plain, width) for line in plain)
