"""A slate card: what stands on it, and where.

The layout is arithmetic on the size of a card's face, in whatever unit that comes in, so that a picture and
a printed ticket share it. The symbol takes all the room the face can give, because it is read from a frame
that shows somebody from head to waist. It stands there twice, side by side: a thumb, a crease, a patch of
glare or the edge of a shadow seldom spoils both in the same modules, and what is seen of both is put
together (`onsite.slates.reader.closed_set_reader`). What people read stands under them. How one, two and four
copies compare was measured (DEVELOPERS.md, Slates in trouble).
"""

from __future__ import annotations

from dataclasses import dataclass

from onsite.slates.qr_symbol import MODULES, QUIET_ZONE

SYMBOL_SIDE = MODULES + 2 * QUIET_ZONE
"""Modules on a side of a symbol with its quiet zone."""

COPIES = 2
"""Symbols on a card, all of the same code."""

COPY_STEP = MODULES + QUIET_ZONE
"""Modules from one copy of the symbol to the next: they share the quiet zone between them."""

NEUTRAL_GREY = (119, 119, 119)
"""sRGB of CIE L* 50, a reflectance of 18.4 %, by the formulas of CIE 15 and IEC 61966-2-1 (from memory);
exactly 18 % would be 118. It is neutral on a calibrated screen. A printer is not calibrated: a printed patch
serves to compare frames of the same card, not to set an exposure or a white balance by."""

_EDGE = 0.02  # of the face's height: what a careless cut may take
_STRIP = 0.19  # of the face's height, at least: the type under the symbols
_ACROSS = COPIES * COPY_STEP + QUIET_ZONE
"""Modules across all copies and the quiet zones between and beside them."""


@dataclass(frozen=True, slots=True)
class Ticket:
    """What one card says. `number` is a deck card's number; `group`, `number` and `shoot` may be empty.

    Texts are kept as they came; whatever draws them makes them safe to draw.
    """

    code: str
    name: str
    group: str = ""
    number: str = ""
    shoot: str = ""


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle, from the top left corner of the face, in the unit of the face."""

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
    """Where everything on a face stands.

    Each of `symbols` is a square of `SYMBOL_SIDE` modules: the quiet zone lies inside it, and nothing else
    does but the quiet zone of the copy beside it. The other boxes are free of them and of each other.
    """

    symbols: tuple[Box, ...]
    code: Box
    shoot: Box
    name: Box
    group: Box
    patch: Box


def ticket_layout(width: float, height: float) -> TicketLayout:
    """The layout of a landscape face of this size. Raises ValueError for one that is not wider than high."""
    if not 0 < height < width:
        raise ValueError(f"a face of {width} by {height} is not landscape")
    edge = _EDGE * height
    module = min((width - 2 * edge) / _ACROSS, (1 - _STRIP) * height / SYMBOL_SIDE)
    side = SYMBOL_SIDE * module
    left = (width - _ACROSS * module) / 2
    symbols = tuple(Box(left + copy * COPY_STEP * module, 0.0, side, side) for copy in range(COPIES))

    # The type stands under the symbols' ink, from its left end to its right.
    x, right = left + QUIET_ZONE * module, left + (_ACROSS - QUIET_ZONE) * module
    strip, bottom = height - edge - side, height - edge

    def under(start: float, end: float, top: float, share: float) -> Box:
        """A box in the strip of type: `start` and `end` are parts of its width, the others of its height."""
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
