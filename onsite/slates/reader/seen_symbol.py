"""A QR symbol seen in a picture: what it says, how that was found out, and which way up it is held."""

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
"""How a step (x, y) in the stored picture goes when displayed, by EXIF orientation: a, b, c, d of
(ax + by, cx + dy), from the table of Orientation in EXIF 2.32 (CIPA DC-008-2019)."""

Point = tuple[float, float]

_COPY = COPY_STEP / MODULES
"""From the middle of one copy of a symbol to the next, in sides of the symbol."""

_OFF = 0.2
"""Of a side: how far off the middle of an unread symbol may be found."""


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


def symbol_seen_at(
    corners: Sequence[Point],
    size: tuple[int, int],
    orientation: int,
    text: str | None = None,
    by: ReadBy | None = None,
    margin: float | None = None,
) -> SymbolSeen:
    """A symbol with its `corners` in pixels of a picture of `size`, the symbol's top left first and clockwise
    as stored."""
    shares = tuple((x / size[0], y / size[1]) for x, y in corners)
    share = math.sqrt(area(corners)) / min(size)
    return SymbolSeen(text, _turned(corners, orientation), share, shares, by, margin)  # type: ignore[arg-type]


def area(corners: Sequence[Point]) -> float:
    """Of a quadrilateral, by the shoelace formula; 0 where its sides cross over to nothing."""
    return abs(sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in sides(corners))) / 2


def sides(corners: Sequence[Point]) -> list[tuple[Point, Point]]:
    """Both ends of each side."""
    return list(zip(corners, [*corners[1:], corners[0]], strict=True))


def overlap(first: SymbolSeen, other: SymbolSeen) -> bool:
    """Whether the middle of one lies in the box around the other."""
    x, y = _middle(first)
    xs, ys = zip(*other.corners, strict=True)
    return min(xs) <= x <= max(xs) and min(ys) <= y <= max(ys)


def same_card(first: SymbolSeen, other: SymbolSeen) -> bool:
    """Whether two symbols overlap so far that they cannot both be there, or the other lies where the copy on
    the same card does: counted along the sides of the first, so that a tilted card counts as well."""
    (x0, y0), (x1, y1), _, (x3, y3) = first.corners
    (ax, ay), (bx, by) = (x1 - x0, y1 - y0), (x3 - x0, y3 - y0)
    turned = ax * by - ay * bx
    if turned == 0:
        return False
    x, y = (here - there for here, there in zip(_middle(other), _middle(first), strict=True))
    along, down = abs(x * by - y * bx) / abs(turned), abs(ax * y - ay * x) / abs(turned)
    return max(along, down) < 1 - _OFF or (abs(along - _COPY) < _OFF and down < 0.5)


def _middle(symbol: SymbolSeen) -> Point:
    return sum(x for x, _ in symbol.corners) / 4, sum(y for _, y in symbol.corners) / 4


def _turned(corners: Sequence[Point], orientation: int) -> int:
    a, b, c, d = _DISPLAYED[orientation]

    def side(start: Point, end: Point) -> Point:
        x, y = end[0] - start[0], end[1] - start[1]
        return a * x + b * y, c * x + d * y

    # Corners go clockwise as stored, also around a symbol that is stored mirrored.
    mirrored = a * d - b * c < 0
    along = side(corners[0], corners[3 if mirrored else 1])
    return round(math.degrees(math.atan2(along[1], along[0]))) % 360
