"""The appearance of an invented person: random, and the same every time for the same person."""

from __future__ import annotations

import random
from dataclasses import dataclass, replace
from enum import StrEnum

Colour = tuple[int, int, int]

SKINS: tuple[Colour, ...] = (
    (244, 214, 196),
    (236, 200, 176),
    (226, 184, 154),
    (212, 166, 132),
    (198, 150, 118),
    (176, 126, 94),
    (150, 104, 76),
    (128, 88, 66),
    (108, 75, 58),
    (92, 64, 52),
)
DARK_HAIR: tuple[Colour, ...] = ((30, 26, 26), (46, 34, 30), (66, 46, 36), (92, 64, 46))
LIGHT_HAIR: tuple[Colour, ...] = ((128, 92, 60), (168, 132, 86), (206, 176, 124), (150, 82, 48))
GREY_HAIR: tuple[Colour, ...] = ((138, 136, 134), (184, 182, 178), (214, 212, 208))
CLOTHES: tuple[Colour, ...] = (
    (36, 40, 50),
    (52, 66, 96),
    (86, 116, 146),
    (142, 170, 186),
    (62, 92, 84),
    (98, 124, 96),
    (152, 160, 118),
    (198, 186, 156),
    (222, 216, 204),
    (196, 150, 84),
    (178, 108, 76),
    (148, 66, 62),
    (112, 48, 66),
    (146, 104, 132),
    (92, 76, 108),
    (112, 98, 86),
    (204, 164, 160),
    (64, 118, 128),
)


class Hair(StrEnum):
    """How a person wears their hair."""

    CROPPED = "cropped"
    SHORT = "short"
    SIDE = "side"
    CURLS = "curls"
    BOB = "bob"
    LONG = "long"
    BUN = "bun"
    BALD = "bald"
    SCARF = "scarf"


class Garment(StrEnum):
    """The cut of a person's clothes."""

    ROUND = "round neck"
    DEEP = "deep neck"
    SHIRT = "shirt"
    JACKET = "jacket"
    ROLL = "roll neck"


class ClothPattern(StrEnum):
    """The pattern of the cloth."""

    PLAIN = "plain"
    STRIPES = "stripes"
    BARS = "bars"
    CHECKS = "checks"
    DOTS = "dots"


@dataclass(frozen=True, slots=True)
class Appearance:
    """Skin, hair, build and outfit of a person. `build` and `face` are widths; 1.0 is average."""

    skin: Colour
    hair: Colour
    worn: Hair
    beard: bool
    glasses: bool
    build: float
    face: float
    garment: Garment
    cloth: Colour
    accent: Colour
    under: Colour
    pattern: ClothPattern


def appearance_of(person: str, outfit: int, seed: int, dressed_as: str | None = None) -> Appearance:
    """The appearance of the person with this key; another `outfit` changes the clothes and nothing else.

    Two people `dressed_as` the same person wear the same.
    """
    body = random.Random(f"body/{seed}/{person}")
    dress = random.Random(f"dress/{seed}/{dressed_as or person}/{outfit}")
    tone = body.randrange(len(SKINS))
    colours = DARK_HAIR if tone > 4 or body.random() < 0.4 else LIGHT_HAIR
    hair = body.choice(GREY_HAIR if body.random() < 0.2 else colours)
    worn = body.choices(list(Hair), weights=(3, 4, 3, 3, 4, 5, 3, 1, 1))[0]
    beard = worn in (Hair.CROPPED, Hair.SHORT, Hair.BALD) and body.random() < 0.35
    cloth, accent = dress.sample(CLOTHES, 2)
    return Appearance(
        skin=SKINS[tone],
        hair=dress.choice(CLOTHES) if worn is Hair.SCARF else hair,
        worn=worn,
        beard=beard,
        glasses=body.random() < 0.25,
        build=body.uniform(0.92, 1.1),
        face=body.uniform(0.94, 1.07),
        garment=dress.choice(list(Garment)),
        cloth=cloth,
        accent=accent,
        under=dress.choice(((236, 234, 228), (206, 216, 226), (224, 212, 196), (58, 62, 70))),
        pattern=dress.choices(list(ClothPattern), weights=(6, 2, 2, 2, 2))[0],
    )


def without_jacket(look: Appearance) -> Appearance:
    """The same person with the jacket taken off, if they wear one."""
    if look.garment is not Garment.JACKET:
        return look
    return replace(look, garment=Garment.SHIRT, cloth=look.under, pattern=ClothPattern.PLAIN)


def mix_colours(first: Colour, other: Colour, part: float) -> Colour:
    """`first` mixed with the share `part` (0 to 1) of `other`."""
    r, g, b = (round(a + (c - a) * part) for a, c in zip(first, other, strict=True))
    return r, g, b


def darker(colour: Colour, part: float) -> Colour:
    """`colour` moved towards a warm black by the share `part`."""
    return mix_colours(colour, (24, 16, 14), part)


def lighter(colour: Colour, part: float) -> Colour:
    """`colour` moved towards a warm white by the share `part`."""
    return mix_colours(colour, (255, 250, 242), part)
