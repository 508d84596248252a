"""The content of a ticket and the layout of its face.

The layout is arithmetic on the size of the face, in any unit, so that pictures and printed tickets share it.
The symbol is as large as the face allows, because it is read from a frame that shows a person from head to
waist. It is printed twice, side by side: a thumb, a crease, a patch of glare or the edge of a shadow seldom
hides the same modules of both copies, and the reader sums what it sees of both
(`onsite.slates.reader`). The text for people is below the symbols.
`tests/bench/bench_slates.py` compares one, two and four copies.
"""

from __future__ import annotations

from dataclasses import dataclass

from onsite.slates.qr_symbol import MODULES, QUIET_ZONE

SYMBOL_SIDE = MODULES + 2 * QUIET_ZONE
"""Modules on a side of a symbol including its quiet zone."""

COPIES = 2
"""Symbols on a ticket, all of the same code."""

COPY_STEP = MODULES + QUIET_ZONE
"""Modules from one copy of the symbol to the next: neighbours share the quiet zone between them."""

NEUTRAL_GREY = (119, 119, 119)
"""sRGB of CIE L* 50, a reflectance of 18.4 %, by the formulas of CIE 15 and IEC 61966-2-1 (from memory);
exactly 18 % would be 118. It is neutral on a calibrated screen. Office printers are not calibrated: a printed
patch serves to compare frames of the same ticket, not to set exposure or white balance."""

_EDGE = 0.02  # of the face's height: margin for a careless cut
_STRIP = 0.19  # of the face's height, at least: the strip of text below the symbols
_ACROSS = COPIES * COPY_STEP + QUIET_ZONE
"""Modules across all copies, with the quiet zones between and beside them."""


@dataclass(frozen=True, slots=True)
class Ticket:
    """The texts of a ticket or deck card.

    `number` is a deck card's number; `group`, `number` and `shoot` may be empty.

    Texts are kept as given; the drawing code makes them safe to draw.
    """

    code: str
    name: str
    group: str = ""
    number: str = ""
    shoot: str = ""


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle measured from the top left corner of the face, in the unit of the face."""

    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        return self.x + self.width

    @property
    def bottom(self) -> float:
        return self.y + self.height


@dataclass(frozen=True, slots=True)
class TicketLayout:
    """The boxes of everything on a face.

    Each of `symbols` is a square of `SYMBOL_SIDE` modules that includes the quiet zone and overlaps only the
    quiet zone of the copy beside it. The other boxes overlap neither the symbols nor each other.
    """

    symbols: tuple[Box, ...]
    code: Box
    shoot: Box
    name: Box
    group: Box
    patch: Box


def ticket_layout(width: float, height: float) -> TicketLayout:
    """Return the layout of a landscape face. Raises ValueError for a face that is not wider than high."""
    if not 0 < height < width:
        raise ValueError(f"a face of {width} by {height} is not landscape")
    edge = _EDGE * height
    module = min((width - 2 * edge) / _ACROSS, (1 - _STRIP) * height / SYMBOL_SIDE)
    side = SYMBOL_SIDE * module
    left = (width - _ACROSS * module) / 2
    symbols = tuple(Box(left + copy * COPY_STEP * module, 0.0, side, side) for copy in range(COPIES))

    # The text spans the printed modules of the symbols, without the outer quiet zones.
    x, right = left + QUIET_ZONE * module, left + (_ACROSS - QUIET_ZONE) * module
    strip, bottom = height - edge - side, height - edge

    def under(start: float, end: float, top: float, share: float) -> Box:
        """Return a box in the text strip: `start`, `end` by its width, `top`, `share` by its height."""
        across = right - x
        return Box(x + start * across, bottom - (1 - top) * strip, (end - start) * across, share * strip)

    return TicketLayout(
        symbols=symbols,
        name=under(0.0, 0.60, 0.0, 0.62),
        group=under(0.0, 0.60, 0.68, 0.32),
        code=under(0.63, 0.88, 0.0, 0.40),
        shoot=under(0.63, 0.88, 0.52, 0.40),
        patch=under(0.90, 1.0, 0.0, 1.0),
    )
