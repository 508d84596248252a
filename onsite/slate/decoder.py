"""The general decoder: QR symbols of any kind, by their own error correction."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from onsite.slate.seen import Point, ReadBy, SymbolSeen, area, overlap, sides, symbol_seen_at

if TYPE_CHECKING:
    from PIL import Image

SMALLEST = 0.025
"""Side of a symbol over the short side of the whole picture, below which an unread one is not believed: at
that size a version 1 symbol has hardly more than a pixel to a module in the smallest picture looked at."""

SLIMMEST = 2.5
"""Longest over shortest side above which an unread symbol is not believed: a card turned 66 degrees."""


def decode_symbols(
    grey: Image.Image,
    orientation: int,
    corner: tuple[float, float] = (0, 0),
    scale: float = 1,
    whole: tuple[int, int] | None = None,
) -> tuple[SymbolSeen, ...]:
    """The QR symbols in a grey picture, those that read first, the others largest first.

    The picture may be part of one of size `whole`: from `corner` on, with its pixels `scale` wide there.
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
    at = barcode.position
    return [(corner.x, corner.y) for corner in (at.top_left, at.top_right, at.bottom_right, at.bottom_left)]


def _is_a_card(corners: Sequence[Point]) -> bool:
    """Whether an unread symbol has a shape that a held slate can have: texture has not."""
    xs, ys = zip(*corners, strict=True)
    box = (max(xs) - min(xs)) * (max(ys) - min(ys))
    lengths = [math.dist(*side) for side in sides(corners)]
    return box > 0 and area(corners) > 0.4 * box and max(lengths) <= SLIMMEST * min(lengths)
