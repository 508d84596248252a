"""Reading slates: the QR symbols in a picture, what they say and which way up they are held."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from PIL import Image

    from onsite.slate.known import KnownSlates

SMALLEST_SHARE = 0.025
"""Side of a symbol over the short side of the picture, below which an unread one is not believed: at that
size a version 1 symbol has two pixels a module in the picture looked at."""

_DISPLAYED = {
    1: (1, 0, 0, 1),
    2: (-1, 0, 0, 1),
    3: (-1, 0, 0, -1),
    4: (1, 0, 0, -1),
    5: (0, 1, 1, 0),
    6: (0, -1, 1, 0),
    7: (0, -1, -1, 0),
    8: (0, 1, -1, 0),
}
"""How a step (x, y) in the stored picture goes when displayed, by EXIF orientation: a, b, c, d of
(ax + by, cx + dy), from the table of Orientation in EXIF 2.32 (CIPA DC-008-2019)."""

SLIMMEST = 2.5
"""Longest over shortest side above which an unread symbol is not believed: a card turned 66 degrees."""

Point = tuple[float, float]


class ReadBy(StrEnum):
    """How a symbol was read."""

    DECODER = "decoder"
    """By its own error correction."""
    KNOWN = "known codes"
    """Compared with all codes of this shoot."""
    COPIES = "several copies"
    """The copies on a card taken together."""


@dataclass(frozen=True, slots=True)
class SymbolSeen:
    """A QR symbol in a picture. `text` is None where it was seen and does not read. `turned` is the angle of
    its upright, in degrees clockwise as displayed, 0 to 359; `share` its side over the picture's short side;
    `corners` the stored picture's, top left first and clockwise, as shares of width and height. `by` is how
    it was read; `margin`, where it was compared with known codes or copies were taken together, how far it
    was ahead of the next best code, in standard deviations."""

    text: str | None
    turned: int
    share: float
    corners: tuple[Point, Point, Point, Point]
    by: ReadBy | None = None
    margin: float | None = None


def read_symbols(
    small: Image.Image,
    full: Callable[[], Image.Image] | None = None,
    orientation: int = 1,
    known: KnownSlates | None = None,  # noqa: ARG001
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
        grey,
        formats=zxingcpp.BarcodeFormats(zxingcpp.BarcodeFormat.QRCode),
        try_invert=False,
        text_mode=zxingcpp.TextMode.Plain,
        return_errors=True,
    )
    corners = [_corners(barcode) for barcode in found]
    symbols = [
        _symbol(barcode, at, grey.size, orientation) for barcode, at in zip(found, corners, strict=True)
    ]
    read = {symbol.text: symbol for symbol in symbols if symbol.text is not None}
    doubtful = [
        symbol
        for symbol, at in zip(symbols, corners, strict=True)
        if symbol.text is None and symbol.share >= SMALLEST_SHARE and _is_a_card(at)
    ]
    unread: list[SymbolSeen] = []
    for symbol in sorted(doubtful, key=lambda symbol: symbol.share, reverse=True):
        if not any(_overlap(symbol, other) for other in (*read.values(), *unread)):
            unread.append(symbol)
    return (*read.values(), *unread)


def _corners(barcode: Any) -> list[Point]:
    at = barcode.position
    return [(corner.x, corner.y) for corner in (at.top_left, at.top_right, at.bottom_right, at.bottom_left)]


def _symbol(barcode: Any, corners: list[Point], size: tuple[int, int], orientation: int) -> SymbolSeen:
    text = barcode.text if barcode.valid and barcode.error is None else None
    return SymbolSeen(
        text,
        _turned(corners, orientation),
        math.sqrt(_area(corners)) / min(size),
        tuple((x / size[0], y / size[1]) for x, y in corners),  # type: ignore[arg-type]
        None if text is None else ReadBy.DECODER,
    )


def _turned(corners: list[Point], orientation: int) -> int:
    a, b, c, d = _DISPLAYED[orientation]

    def side(start: Point, end: Point) -> Point:
        x, y = end[0] - start[0], end[1] - start[1]
        return a * x + b * y, c * x + d * y

    # The decoder names the corners clockwise as stored, also of a symbol that is stored mirrored.
    mirrored = a * d - b * c < 0
    along = side(corners[0], corners[3 if mirrored else 1])
    return round(math.degrees(math.atan2(along[1], along[0]))) % 360


def _area(corners: list[Point]) -> float:
    """Of a quadrilateral, by the shoelace formula; 0 where its sides cross over to nothing."""
    around = zip(corners, corners[1:] + corners[:1], strict=True)
    return abs(sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in around)) / 2


def _is_a_card(corners: list[Point]) -> bool:
    """Whether an unread symbol has a shape that a held slate can have: texture has not."""
    xs, ys = zip(*corners, strict=True)
    box = (max(xs) - min(xs)) * (max(ys) - min(ys))
    sides = [math.dist(*pair) for pair in zip(corners, corners[1:] + corners[:1], strict=True)]
    return box > 0 and _area(corners) > 0.4 * box and max(sides) <= SLIMMEST * min(sides)


def _overlap(one: SymbolSeen, other: SymbolSeen) -> bool:
    """Whether the middle of one lies in the box around the other."""
    x = sum(corner[0] for corner in one.corners) / 4
    y = sum(corner[1] for corner in one.corners) / 4
    xs, ys = zip(*other.corners, strict=True)
    return min(xs) <= x <= max(xs) and min(ys) <= y <= max(ys)
