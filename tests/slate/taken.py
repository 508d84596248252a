"""Slates of one shoot, and frames of them taken in trouble."""

from __future__ import annotations

import random
from functools import lru_cache

import numpy as np
from PIL import Image

from onsite.slate.card import Card
from onsite.slate.code import new_code
from onsite.slate.known import KnownSlates, known_slates
from onsite.slate.png import card_image
from onsite.slate.reader import SymbolSeen, read_symbols
from onsite.slate.symbol import symbol, with_quiet_zone
from tests.bench.trouble.frame import frame
from tests.bench.trouble.kinds import trouble

SHOOT = "3479"
CODES = tuple(new_code(SHOOT, (), random.Random(seed)) for seed in range(300))
KNOWN = known_slates(SHOOT, CODES)
CODE = CODES[17]


@lru_cache(maxsize=16)
def taken(kind: str, strength: int, seed: int, code: str = CODE) -> Image.Image:
    """A frame of 6 megapixels of somebody who holds the card of `code`."""
    face = card_image(Card(code, "Bo Li", "Alto 2"), 1500).convert("L")
    return frame(face, trouble(kind, strength, seed), seed)


def read(
    picture: Image.Image, orientation: int = 1, known: KnownSlates | None = KNOWN
) -> tuple[SymbolSeen, ...]:
    """As frames are read: reduced first, and in full where something was seen."""
    return read_symbols(picture.reduce(2), lambda: picture, orientation, known)


def card(code: str = CODE, module: int = 8, ink: int = 20, paper: int = 235) -> Image.Image:
    """The bare symbol of a code with its quiet zone."""
    dark = with_quiet_zone(symbol(code)).repeat(module, 0).repeat(module, 1)
    return Image.fromarray(np.where(dark, ink, paper).astype(np.uint8))


def scene(*held: tuple[Image.Image, tuple[int, int]], size: tuple[int, int] = (1200, 800)) -> Image.Image:
    """Pictures before an even wall."""
    picture = Image.new("L", size, 150)
    for image, place in held:
        picture.paste(image, place)
    return picture
