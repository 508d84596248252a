"""A slate card: what stands on it, and where.

The layout is arithmetic on the size of a card's face, in whatever unit that comes in, so that a picture and
a printed ticket share it. The symbol takes all the room the face can give, because it is read from a frame
that shows somebody from head to waist; what people read stands beside it.
"""

from __future__ import annotations

from dataclasses import dataclass

from onsite.slate.symbol import MODULES, QUIET_ZONE

SYMBOL_SIDE = MODULES + 2 * QUIET_ZONE
"""Modules on a side of a symbol with its quiet zone."""

COPY_STEP = MODULES + QUIET_ZONE
"""Modules from one copy of the symbol to the next: they share the quiet zone between them."""

NEUTRAL_GREY = (119, 119, 119)
"""sRGB of CIE L* 50, a reflectance of 18.4 %, by the formulas of CIE 15 and IEC 61966-2-1 (from memory);
exactly 18 % would be 118. It is neutral on a calibrated screen. A printer is not calibrated: a printed patch
serves to compare frames of the same card, not to set an exposure or a white balance by."""

_EDGE = 0.02  # of the face's height: what a careless cut may take
_CODE_HEIGHT = 0.075  # of the face's height
_SYMBOL_WIDTH = 0.585  # of the face's width: beyond it, a name beside the symbol becomes too small to read
_RIGHT_MARGIN = 0.045  # of the face's height


@dataclass(frozen=True, slots=True)
class Card:
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
class Layout:
    """Where everything on a face stands.

    Each of `symbols` is a square of `SYMBOL_SIDE` modules: the quiet zone lies inside it and nothing else
    does. The other boxes are free of them and of each other.
    """

    symbols: tuple[Box, ...]
    code: Box
    shoot: Box
    name: Box
    group: Box
    patch: Box


def layout(width: float, height: float) -> Layout:
    """The layout of a landscape face of this size. Raises ValueError for one that is not wider than high."""
    if not 0 < height < width:
        raise ValueError(f"a face of {width} by {height} is not landscape")
    code_height = _CODE_HEIGHT * height
    edge = _EDGE * height
    side = min(height - 2 * edge - code_height, _SYMBOL_WIDTH * width)
    module = side / SYMBOL_SIDE
    top = (height - side - code_height) / 2
    symbol = Box(edge, top, side, side)
    ink_top, ink_height = top + QUIET_ZONE * module, MODULES * module

    def beside(start: float, share: float) -> Box:
        """A box right of the symbol; `start` and `share` are parts of the height of the symbol's ink."""
        x = symbol.right
        right = width - _RIGHT_MARGIN * height
        return Box(x, ink_top + start * ink_height, right - x, share * ink_height)

    return Layout(
        symbols=(symbol,),
        code=Box(edge + QUIET_ZONE * module, symbol.bottom, ink_height, code_height),
        shoot=beside(0.0, 0.075),
        name=beside(0.13, 0.42),
        group=beside(0.57, 0.15),
        patch=beside(0.78, 0.22),
    )
