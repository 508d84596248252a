"""Reading slates in a picture: cheap stages first, the next stage only where the one before saw something.

1. The general QR decoder on the reduced picture: a clean slate is read here.
2. Finder patterns in the same picture, and the likeliest grids through them: a portrait ends here.
3. Where something like a slate was seen: the general decoder on that part of the full picture.
4. What still does not read is fitted (`symbol_fit`) and compared with the codes of this shoot (`closed_set`).

The general decoder, zxing-cpp, reads QR symbols of any kind by their own error correction.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from onsite.slates.reader.closed_set import GRIDS
from onsite.slates.reader.finder_patterns import find_finder_patterns
from onsite.slates.reader.module_grid import CORNERS, Grid, first_apart, grid_through
from onsite.slates.reader.seen_symbol import (
    Point,
    ReadBy,
    SymbolSeen,
    area,
    same_card,
    symbol_seen_at,
)
from onsite.slates.reader.symbol_search import likeliest, through_finders

if TYPE_CHECKING:
    from PIL import Image

    from onsite.slates.reader.closed_set import KnownSlates


_STRONG = 0.62
"""Mean correlation of the finder patterns of a grid from which something like a slate is in sight. All of 287
slates that the general decoder does not read at first have such a grid, and 3 of 24 portraits: eyes do not
lie as finder patterns of their size do. With 0.63 two of these slates are lost."""

_PLAIN = 0.28
"""Agreement of a slate that is seen whatever its code. Cloth, walls and print reach 0.25 (gingham, of 360
frames in six families, of which one of squares reaches 0.39); slates with glare over the middle of their
symbols 0.36 (of 27), a bare symbol 0.29."""

Box = tuple[int, int, int, int]


def read_symbols(
    small: Image.Image,
    full: Callable[[], Image.Image] | None = None,
    orientation: int = 1,
    known: KnownSlates | None = None,
) -> tuple[SymbolSeen, ...]:
    """Return every QR symbol in a grey picture.

    `small` is the picture, reduced where `full` can supply it at full size; `full` is called only where
    something like a slate was seen. `orientation` is the EXIF value. `known` is the closed set of the shoot's
    slates: without it only the general decoder reads, in `small` alone.
    """
    seen = decode_symbols(small, orientation, light_on_dark=full is None)
    if known is None or any(symbol.text is not None for symbol in seen):
        return seen
    return _told_once(_searched(small, full, orientation, known, seen))


def _told_once(symbols: Iterable[SymbolSeen]) -> tuple[SymbolSeen, ...]:
    """Keep the first result of each code, then the first of each slate whose code is not told."""

    def told(symbol: SymbolSeen, other: SymbolSeen) -> bool:
        return same_card(other, symbol) if symbol.text is None else symbol.text == other.text

    return tuple(first_apart(sorted(symbols, key=lambda symbol: symbol.text is None), told))


def _searched(
    small: Image.Image,
    full: Callable[[], Image.Image] | None,
    orientation: int,
    known: KnownSlates,
    unread: Sequence[SymbolSeen],
) -> Sequence[SymbolSeen]:
    """Run the further stages in order, from the symbols that the general decoder saw and did not read."""
    finders = find_finder_patterns(small)
    if not (unread or any(through_finders(some, _STRONG) for some in finders)):
        return ()
    grids = [grid_through(CORNERS, np.array(symbol.corners) * small.size) for symbol in unread]
    through = [grid for some in finders for grid in through_finders(some)]
    likely = likeliest(small, [*grids, *through], known.template)
    if not (grids or likely):
        return ()
    picture = full() if full else small
    larger = np.full(2, picture.width / small.width)
    grids, likely = ([grid.moved(np.zeros(2), larger) for grid in each] for each in (grids, likely))
    box = _around(picture.size, likely or grids)
    part = picture.crop(box)
    for reduced in (1, 2):
        again = decode_symbols(part.reduce(reduced), orientation, box[:2], reduced, picture.size)
        if any(symbol.text is not None for symbol in again):
            return again
    return _compared(picture, likely, orientation, known)


def _compared(
    picture: Image.Image, starts: Sequence[Grid], orientation: int, known: KnownSlates
) -> list[SymbolSeen]:
    """Return the symbols near `starts` with an accepted code, and all that are clearly seen."""
    from onsite.slates.reader.symbol_fit import fitted_symbol

    read: list[Grid] = []
    seen = []
    for start in starts[:GRIDS]:
        if any(start.over(grid) for grid in read):
            continue
        if fit := fitted_symbol(picture, start, known.template):
            corners, match = fit.grid.corners.tolist(), known.match(fit.free)
            if match.accepted:
                told = match.code, ReadBy.KNOWN, round(match.margin, 1)
                seen.append(symbol_seen_at(corners, picture.size, orientation, *told))
                read.append(fit.grid)
            elif fit.agreement >= _PLAIN:
                seen.append(symbol_seen_at(corners, picture.size, orientation))
    return seen


def _around(size: tuple[int, int], grids: Sequence[Grid]) -> Box:
    """Return the box around all grids, with a symbol's width of margin, so that the other copy is in it."""
    corners = np.stack([grid.corners for grid in grids])
    margin = np.ptp(corners, axis=1).max(axis=1)[:, None]
    low = np.maximum((corners.min(axis=1) - margin).min(axis=0), 0)
    high = np.minimum((corners.max(axis=1) + margin).max(axis=0), size)
    return int(low[0]), int(low[1]), int(high[0]), int(high[1])


SMALLEST = 0.025
"""Least side of an unread symbol, as a share of the picture's short side: below it a version 1 symbol has
hardly more than a pixel to a module in the smallest picture used."""

SLIMMEST = 2.5
"""Largest ratio of longest to shortest side of an unread symbol: that of a slate tilted by 66 degrees."""


def decode_symbols(
    grey: Image.Image,
    orientation: int,
    corner: tuple[int, int] = (0, 0),
    scale: int = 1,
    whole: tuple[int, int] | None = None,
    light_on_dark: bool = False,
) -> tuple[SymbolSeen, ...]:
    """Return the QR symbols that the general decoder finds: first those it reads, then the others by size.

    `grey` may be a crop of a picture of size `whole`: it starts at `corner`, and its pixels are `scale` wide
    there. With `light_on_dark` symbols whose colours are reversed are looked for too.
    """
    import zxingcpp

    kind = zxingcpp.BarcodeFormat
    found = zxingcpp.read_barcodes(
        grey,
        formats=zxingcpp.BarcodeFormats([kind.QRCodeModel1, kind.QRCodeModel2]),
        try_invert=light_on_dark,
        try_downscale=False,
        text_mode=zxingcpp.TextMode.Plain,
        return_errors=True,
    )
    size = whole or grey.size
    symbols = []
    for barcode in found:
        at = barcode.position
        corners = [
            (corner[0] + place.x * scale, corner[1] + place.y * scale)
            for place in (at.top_left, at.top_right, at.bottom_right, at.bottom_left)
        ]
        if barcode.valid and barcode.error is None:
            symbols.append(symbol_seen_at(corners, size, orientation, barcode.text, ReadBy.DECODER))
        elif _is_a_card(corners, SMALLEST * min(size)):
            symbols.append(symbol_seen_at(corners, size, orientation))
    return _told_once(sorted(symbols, key=lambda symbol: -symbol.share))


def _is_a_card(corners: Sequence[Point], smallest: float) -> bool:
    """Whether an unread symbol has size and shape of a slate in perspective, which texture seldom has."""
    lengths = [math.dist(*side) for side in zip(corners, [*corners[1:], corners[0]], strict=True)]
    side = math.sqrt(area(corners))
    return side > max(smallest, 0.4 * max(lengths)) and max(lengths) <= SLIMMEST * min(lengths)
