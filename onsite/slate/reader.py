"""Reading slates: the QR symbols in a picture, what they say and which way up they are held."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from PIL import Image

SMALLEST_SHARE = 0.025
"""Side of a symbol over the short side of the picture, below which an unread one is not believed: at that
size a version 1 symbol has two pixels a module in the picture looked at."""

_TURNED_CLOCKWISE = {1: 0, 2: 0, 3: 180, 4: 180, 5: 90, 6: 90, 7: 270, 8: 270}
"""How far EXIF orientation turns the stored picture clockwise for display (mirrored ones: as if not mirrored)."""

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class SymbolSeen:
    """A QR symbol in a picture. `text` is None where it was seen and does not read. `turned` is the angle of
    its upright, in degrees clockwise as displayed, 0 to 359; `share` its side over the picture's short side;
    `corners` the stored picture's, top left first and clockwise, as shares of width and height."""

    text: str | None
    turned: int
    share: float
    corners: tuple[Point, Point, Point, Point]


def read_symbols(
    small: Image.Image, full: Callable[[], Image.Image] | None = None, orientation: int = 1
) -> tuple[SymbolSeen, ...]:
    """Every QR symbol in a grey picture.

    Where a symbol is seen in `small` and does not read, the picture at `full` size is tried.
    """
    seen = _read(small, orientation)
    if full is not None and seen and all(symbol.text is None for symbol in seen):
        again = _read(full(), orientation)
        if any(symbol.text is not None for symbol in again):
            return again
    return seen


def _read(grey: Image.Image, orientation: int) -> tuple[SymbolSeen, ...]:
    import zxingcpp

    found = zxingcpp.read_barcodes(
        grey, formats=zxingcpp.BarcodeFormat.QRCode, try_invert=False, return_errors=True
    )
    symbols = [_symbol(barcode, grey.size, orientation) for barcode in found]
    read = {symbol.text: symbol for symbol in symbols if symbol.text is not None}
    unread = [
        symbol
        for symbol in symbols
        if symbol.text is None and _is_believable(symbol) and not any(_overlap(symbol, other) for other in read.values())
    ]
    return (*read.values(), *unread)


def _symbol(barcode: Any, size: tuple[int, int], orientation: int) -> SymbolSeen:
    at = barcode.position
    corners = [(corner.x, corner.y) for corner in (at.top_left, at.top_right, at.bottom_right, at.bottom_left)]
    (left, top), (right, bottom) = corners[0], corners[1]
    angle = math.degrees(math.atan2(bottom - top, right - left))
    side = math.sqrt(_area(corners))
    return SymbolSeen(
        barcode.text if barcode.valid and barcode.error is None else None,
        round(angle + _TURNED_CLOCKWISE[orientation]) % 360,
        side / min(size),
        tuple((x / size[0], y / size[1]) for x, y in corners),  # type: ignore[arg-type]
    )


def _area(corners: list[Point]) -> float:
    """Of a quadrilateral, by the shoelace formula; 0 where its sides cross over to nothing."""
    around = zip(corners, corners[1:] + corners[:1], strict=True)
    return abs(sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in around)) / 2


def _is_believable(symbol: SymbolSeen) -> bool:
    """Whether an unread symbol is of a size and shape that a held slate can have: texture is not."""
    xs, ys = zip(*symbol.corners, strict=True)
    box = (max(xs) - min(xs)) * (max(ys) - min(ys))
    return symbol.share >= SMALLEST_SHARE and box > 0 and _area(list(symbol.corners)) > 0.4 * box


def _overlap(one: SymbolSeen, other: SymbolSeen) -> bool:
    """Whether the middle of one lies in the box around the other."""
    x = sum(corner[0] for corner in one.corners) / 4
    y = sum(corner[1] for corner in one.corners) / 4
    xs, ys = zip(*other.corners, strict=True)
    return min(xs) <= x <= max(xs) and min(ys) <= y <= max(ys)
