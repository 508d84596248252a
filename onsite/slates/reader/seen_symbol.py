"""A QR symbol seen in a picture: its text, how it was read, its place and orientation."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from onsite.slates.qr_symbol import MODULES
from onsite.slates.slate_layout import COPY_STEP

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
"""The linear map from stored to displayed directions by EXIF orientation: a, b, c, d of (ax + by, cx + dy),
from the table of Orientation in EXIF 2.32 (CIPA DC-008-2019)."""

Point = tuple[float, float]

_COPY = COPY_STEP / MODULES
"""Distance between the centres of neighbouring copies of a symbol, in sides of the symbol."""

_OFF = 0.2
"""Largest error of an unread symbol's centre, as a share of its side."""


class ReadBy(StrEnum):
    """How a symbol was read."""

    DECODER = "decoder"
    """By the symbol's own error correction."""
    KNOWN = "known codes"
    """By comparison with all codes of this shoot."""
    COPIES = "several copies"
    """By comparison with all codes, the copies on a slate summed: by earlier versions of the reader."""


@dataclass(frozen=True, slots=True)
class SymbolSeen:
    """A QR symbol in a picture."""

    text: str | None
    """None where the symbol was seen and does not read."""
    turned: int
    """Rotation in degrees clockwise as displayed, 0 to 359; 0 is upright."""
    share: float
    """Side of the symbol over the short side of the picture."""
    corners: tuple[Point, Point, Point, Point]
    """In the stored picture, top left first and clockwise, as shares of its width and height."""
    by: ReadBy | None = None
    margin: float | None = None
    """Lead over the next best code in standard deviations, where codes were compared."""


def symbol_seen_at(
    corners: Sequence[Point],
    size: tuple[int, int],
    orientation: int,
    text: str | None = None,
    by: ReadBy | None = None,
    margin: float | None = None,
) -> SymbolSeen:
    """Make a symbol from `corners` in pixels, top left first and clockwise, in a stored picture of `size`."""
    shares = tuple((x / size[0], y / size[1]) for x, y in corners)
    share = math.sqrt(area(corners)) / min(size)
    return SymbolSeen(text, _turned(corners, orientation), share, shares, by, margin)  # type: ignore[arg-type]


def area(corners: Sequence[Point]) -> float:
    """Return the area of a polygon by the shoelace formula."""
    following = [*corners[1:], corners[0]]
    return abs(sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in zip(corners, following, strict=True))) / 2


def same_card(first: SymbolSeen, other: SymbolSeen) -> bool:
    """Whether two symbols are on the same slate: one and the same, or side by side as its copies are.

    Distances are measured along the sides of `first`, so that perspective is allowed for.
    """
    (x0, y0), (x1, y1), _, (x3, y3) = first.corners
    (ax, ay), (bx, by) = (x1 - x0, y1 - y0), (x3 - x0, y3 - y0)
    turned = abs(ax * by - ay * bx)
    x, y = (here - there for here, there in zip(_middle(other), _middle(first), strict=True))
    along, down = abs(x * by - y * bx), abs(ax * y - ay * x)
    return along < (_COPY + _OFF) * turned and down < (1 - _OFF) * turned


def _middle(symbol: SymbolSeen) -> Point:
    return sum(x for x, _ in symbol.corners) / 4, sum(y for _, y in symbol.corners) / 4


def _turned(corners: Sequence[Point], orientation: int) -> int:
    """Return the rotation of a symbol as displayed, in degrees clockwise."""
    a, b, c, d = _DISPLAYED[orientation]
    # Corners run clockwise in the stored picture, even where that is mirrored.
    (x0, y0), (x1, y1) = corners[0], corners[1 if a * d > b * c else 3]
    x, y = x1 - x0, y1 - y0
    return round(math.degrees(math.atan2(c * x + d * y, a * x + b * y))) % 360
