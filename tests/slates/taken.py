"""Slates of one shoot, as pictures: bare, before a wall, bent in a hand, and in frames taken in trouble."""

from __future__ import annotations

import random
from collections.abc import Collection
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from onsite.core.codes import new_code
from onsite.slates.qr_symbol import MODULES, QUIET_ZONE, qr_modules, with_quiet_zone
from onsite.slates.reader.closed_set import KnownSlates, known_slates
from onsite.slates.reader.read_slates import read_symbols
from onsite.slates.reader.seen_symbol import SymbolSeen
from onsite.slates.slate_image import ticket_image
from onsite.slates.slate_layout import Ticket
from tests.bench.trouble.frame import frame
from tests.bench.trouble.kinds import trouble
from tests.bench.trouble.paper import Held, see

Floats = NDArray[np.float64]

SHOOT = "3479"
CODES = tuple(new_code(SHOOT, (), random.Random(seed)) for seed in range(300))
KNOWN = known_slates(SHOOT, CODES)
CODE, OTHER = CODES[17], CODES[18]

FINDER = 3.5
"""Modules from a symbol's corner to the middle of the finder pattern in it."""


def without(*codes: str) -> KnownSlates:
    """The slates of the shoot without these."""
    return known_slates(SHOOT, [code for code in CODES if code not in codes])


@lru_cache(maxsize=8)
def taken(kind: str, strength: int, seed: int) -> Image.Image:
    """A frame of 6 megapixels of somebody who holds the card of `CODE`."""
    face = ticket_image(Ticket(CODE, "Bo Li", "Alto 2"), 1500).convert("L")
    return frame(face, trouble(kind, strength, seed), seed)


def read(
    picture: Image.Image, orientation: int = 1, known: KnownSlates | None = KNOWN
) -> tuple[SymbolSeen, ...]:
    """As frames are read: reduced first, and in full where something was seen."""
    return read_symbols(picture.reduce(2), lambda: picture, orientation, known)


def texts(symbols: Collection[SymbolSeen]) -> list[str | None]:
    return [symbol.text for symbol in symbols]


def card(code: str = CODE, module: int = 8) -> Image.Image:
    """The bare symbol of a code with its quiet zone."""
    dark = with_quiet_zone(qr_modules(code)).repeat(module, 0).repeat(module, 1)
    return Image.fromarray(np.where(dark, 20, 235).astype(np.uint8))


def covered(code: str = CODE, module: int = 8) -> Image.Image:
    """A card with a thumb over its lower right: more than level Q can correct is gone."""
    spoilt = card(code, module)
    low, high = (QUIET_ZONE + 10) * module, (QUIET_ZONE + MODULES) * module - 1
    ImageDraw.Draw(spoilt).rectangle((low, low, high, high), fill=110)
    return spoilt


def scene(*held: tuple[Image.Image, tuple[int, int]], size: tuple[int, int] = (1200, 800)) -> Image.Image:
    """Pictures before an even wall."""
    picture = Image.new("L", size, 150)
    for image, place in held:
        picture.paste(image, place)
    return picture


def turned(code: str, module: float, angle: float, side: int = 270) -> tuple[Image.Image, Floats]:
    """A flat symbol turned clockwise by `angle` degrees in the middle of a square picture, and where places
    on it lie there: the matrix (2, 3) that takes (1, along, down), in modules, to pixels."""
    a, b = np.cos(np.radians(angle)) * module, np.sin(np.radians(angle)) * module
    to_pixels = np.array([[side / 2, a, -b], [side / 2, b, a]])
    to_pixels[:, 0] -= to_pixels[:, 1:].sum(axis=1) * MODULES / 2
    fine = 3
    y, x = (np.mgrid[0 : side * fine, 0 : side * fine] + 0.5) / fine
    u, v = np.linalg.solve(to_pixels[:, 1:], np.stack([x.ravel(), y.ravel()]) - to_pixels[:, :1]) + QUIET_ZONE
    ink = _looked_up(code, u, v).reshape(side, fine, side, fine).mean(axis=(1, 3))
    return Image.fromarray((230 - 200 * ink).astype(np.uint8)), to_pixels


def bent(code: str, held: Held, across: float = 60.0) -> tuple[Image.Image, Floats]:
    """A symbol `across` mm wide in the middle of a card held like that, and where in the picture the middles
    of its modules lie: (21, 21, 2)."""
    fine = 3
    seen = see(held, (600, 600), fine=fine)
    module = across / MODULES
    u, v = ((place + across / 2) / module for place in (seen.x, seen.y))
    ink = _looked_up(code, u + QUIET_ZONE, v + QUIET_ZONE)
    height, width = (length // fine for length in ink.shape)
    ink = ink.reshape(height, fine, width, fine).mean(axis=(1, 3))
    grey = Image.fromarray((230 - 200 * ink).astype(np.uint8))
    # The samples that see the middle fifth of each module both ways, and the mean of where they are.
    column, row = (np.floor(place * 5).astype(int) for place in (u, v))
    middle = (column % 5 == 2) & (row % 5 == 2) & (u > 0) & (v > 0) & (u < MODULES) & (v < MODULES)
    number = (row // 5 * MODULES + column // 5)[middle]
    y, x = np.nonzero(middle)
    seen_by = np.bincount(number, minlength=MODULES**2)
    at = [np.bincount(number, place + 0.5, MODULES**2) / seen_by / fine for place in (x, y)]
    return grey, np.stack(at, axis=1).reshape(MODULES, MODULES, 2)


def _looked_up(code: str, along: Floats, down: Floats) -> Floats:
    """Ink, 0 or 1, at places counted in modules from the corner of the quiet zone."""
    modules = with_quiet_zone(qr_modules(code))
    last = len(modules) - 1
    column, row = (np.clip(np.floor(place), 0, last).astype(int) for place in (along, down))
    return modules[row, column].astype(np.float64)


def is_pattern() -> NDArray[np.bool_]:
    """Which modules hold no codeword: (21, 21).

    The three corners with finder, separator and format information, and the two lines of the timing pattern:
    233 modules beside the 208 of the 26 codewords (ISO/IEC 18004, table 1).
    """
    pattern = np.zeros((MODULES, MODULES), bool)
    pattern[:9, :9] = pattern[:9, -8:] = pattern[-8:, :9] = True
    pattern[6] = pattern[:, 6] = True
    return pattern
