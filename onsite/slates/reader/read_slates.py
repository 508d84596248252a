"""Reading slates in a picture: cheap stages first, the next stage only where the one before saw something.

1. The general QR decoder on the reduced picture: a clean slate is read here.
2. Finder patterns in the same picture, by scan lines and by correlation: a portrait ends here.
3. Where something like a slate was seen: the general decoder on that part of the full picture.
4. What still does not read is compared with the codes of this shoot (`closed_set_reader`).

The general decoder, zxing-cpp, reads QR symbols of any kind by their own error correction.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from onsite.slates.reader.finder_correlation import find_whole
from onsite.slates.reader.finder_patterns import FinderPattern, find_finder_patterns, merged
from onsite.slates.reader.seen_symbol import (
    Point,
    ReadBy,
    SymbolSeen,
    area,
    overlap,
    same_card,
    sides,
    symbol_seen_at,
)

if TYPE_CHECKING:
    from PIL import Image

    from onsite.slates.reader.closed_set import KnownSlates


_FEWEST, _PLAIN = 2, 4
"""A slate is suspected from this many finder patterns, or one that this many rows cross: texture that looks
like a finder pattern is small and isolated."""

_MOST = 9
"""Most finder patterns that are combined with each other."""

_AROUND = 30
"""Modules around a finder pattern that may belong to the same slate."""

_SHARP = 3000
"""Pixels on the long side of the picture that is searched for the smallest finder patterns."""

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
    slates: without it only the general decoder reads.
    """
    return _one_a_card(_read(small, full, orientation, known))


def _one_a_card(symbols: Sequence[SymbolSeen]) -> tuple[SymbolSeen, ...]:
    """Keep one result per slate: its code, else one unread symbol."""
    kept: list[SymbolSeen] = []
    for symbol in sorted(symbols, key=lambda symbol: symbol.text is None):
        if symbol.text is not None or not any(same_card(each, symbol) for each in kept):
            kept.append(symbol)
    return tuple(kept)


def _read(
    small: Image.Image,
    full: Callable[[], Image.Image] | None,
    orientation: int,
    known: KnownSlates | None,
) -> Sequence[SymbolSeen]:
    """Run the stages in order: all symbols seen, several per slate."""
    seen = decode_symbols(small, orientation)
    if any(symbol.text is not None for symbol in seen):
        return seen
    finders = merged([*find_finder_patterns(small, damaged=True), *find_whole(small)])
    if not seen and len(finders) < _FEWEST and not any(finder.lines >= _PLAIN for finder in finders):
        return ()
    return _closer(full() if full else small, small.size, seen, finders, orientation, known)


def _closer(
    picture: Image.Image,
    size: tuple[int, int],
    seen: Sequence[SymbolSeen],
    finders: Sequence[FinderPattern],
    orientation: int,
    known: KnownSlates | None,
) -> tuple[SymbolSeen, ...]:
    """Read again at full size where something was seen in the picture reduced to `size`."""
    larger = picture.width / size[0]
    finders = [finder.scaled(larger) for finder in finders]
    box = _around(picture.size, seen, finders)
    part = picture.crop(box)
    for reduced in (1, 2):
        again = decode_symbols(part.reduce(reduced), orientation, box[:2], reduced, picture.size)
        if any(symbol.text is not None for symbol in again):
            return again
    if known is None:
        return tuple(seen or again)
    sharp = max(picture.width // _SHARP, 1)
    more = [
        _in_whole(finder.scaled(sharp * reduced), box)
        for reduced in (1, 2, 4)
        for damaged in (False, True)
        for finder in find_finder_patterns(part.reduce(sharp * reduced), damaged=damaged)
    ]
    suspected = [*seen, *(symbol for symbol in again if not any(overlap(symbol, other) for other in seen))]
    from onsite.slates.reader.closed_set_reader import read_closed_set

    corners = [_corners(symbol, picture.size) for symbol in suspected]
    return read_closed_set(picture, merged([*finders, *more])[:_MOST], corners, orientation, known)


def _corners(symbol: SymbolSeen, size: tuple[int, int]) -> NDArray[np.float64]:
    """Return the corners in pixels of a picture of `size`: (4, 2)."""
    return np.array(symbol.corners) * size


def _around(size: tuple[int, int], seen: Sequence[SymbolSeen], finders: Sequence[FinderPattern]) -> Box:
    """Return the box around all symbols and finder patterns, with a slate's width of margin."""
    boxes = []
    for symbol in seen:
        corners = _corners(symbol, size)
        half = np.ptp(corners, axis=0).max()
        boxes.append((corners.min(axis=0) - half, corners.max(axis=0) + half))
    for finder in finders:
        middle, half = np.array([finder.x, finder.y]), _AROUND * finder.module
        boxes.append((middle - half, middle + half))
    low = np.maximum(np.min([box[0] for box in boxes], axis=0), 0)
    high = np.minimum(np.max([box[1] for box in boxes], axis=0), size)
    return int(low[0]), int(low[1]), int(high[0]), int(high[1])


def _in_whole(finder: FinderPattern, box: Box) -> FinderPattern:
    """Return a finder pattern of the crop `box` in the coordinates of the whole picture."""
    return FinderPattern(finder.x + box[0], finder.y + box[1], finder.module, finder.lines)


SMALLEST = 0.025
"""Least side of an unread symbol, as a share of the picture's short side: below it a version 1 symbol has
hardly more than a pixel to a module in the smallest picture used."""

SLIMMEST = 2.5
"""Largest ratio of longest to shortest side of an unread symbol: that of a slate tilted by 66 degrees."""


def decode_symbols(
    grey: Image.Image,
    orientation: int,
    corner: tuple[float, float] = (0, 0),
    scale: float = 1,
    whole: tuple[int, int] | None = None,
) -> tuple[SymbolSeen, ...]:
    """Return the QR symbols that the general decoder finds: first those it reads, then the others by size.

    `grey` may be a crop of a picture of size `whole`: it starts at `corner`, and its pixels are `scale` wide
    there.
    """
    import zxingcpp

    found = zxingcpp.read_barcodes(
        grey,
        formats=zxingcpp.BarcodeFormats(zxingcpp.BarcodeFormat.QRCode),
        try_invert=False,
        text_mode=zxingcpp.TextMode.Plain,
        return_errors=True,
    )
    size = whole or grey.size
    read: dict[str, SymbolSeen] = {}
    doubtful: list[SymbolSeen] = []
    for barcode in found:
        corners = [(corner[0] + x * scale, corner[1] + y * scale) for x, y in _barcode_corners(barcode)]
        if barcode.valid and barcode.error is None:
            read[barcode.text] = symbol_seen_at(corners, size, orientation, barcode.text, ReadBy.DECODER)
        elif _is_a_card(corners):
            doubtful.append(symbol_seen_at(corners, size, orientation))
    unread: list[SymbolSeen] = []
    for symbol in sorted(doubtful, key=lambda symbol: symbol.share, reverse=True):
        if symbol.share >= SMALLEST and not any(
            overlap(symbol, other) for other in (*read.values(), *unread)
        ):
            unread.append(symbol)
    return (*read.values(), *unread)


def _barcode_corners(barcode: Any) -> list[Point]:
    """Return the corners of a zxing-cpp result, top left first and clockwise."""
    at = barcode.position
    return [(corner.x, corner.y) for corner in (at.top_left, at.top_right, at.bottom_right, at.bottom_left)]


def _is_a_card(corners: Sequence[Point]) -> bool:
    """Whether an unread symbol has the shape of a slate seen in perspective, which texture seldom has."""
    xs, ys = zip(*corners, strict=True)
    box = (max(xs) - min(xs)) * (max(ys) - min(ys))
    lengths = [math.dist(*side) for side in sides(corners)]
    return box > 0 and area(corners) > 0.4 * box and max(lengths) <= SLIMMEST * min(lengths)
