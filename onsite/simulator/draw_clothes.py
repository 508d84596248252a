"""Clothes, hair and headscarves of a drawn person."""

from __future__ import annotations

from PIL import Image

from onsite.simulator.draw_shapes import Pencil, both
from onsite.simulator.invented_appearance import Appearance, ClothPattern, Garment, Hair, darker, lighter

BOTTOM = 1.25
"""A y coordinate below the edge of any frame."""


def _torso(look: Appearance) -> list[tuple[float, float]]:
    b = look.build
    return both(
        [
            (0, 0.49),
            (0.058, 0.474),
            (0.14 * b, 0.512),
            (0.205 * b, 0.546),
            (0.234 * b, 0.62),
            (0.25 * b, 0.8),
            (0.26 * b, BOTTOM),
            (0, BOTTOM + 0.05),
        ]
    )


def dress(body: Pencil, look: Appearance) -> None:
    """Draw the torso with its pattern and shading, and the neck of the garment."""
    inside = body.mask(_torso(look))
    cloth = Image.new("RGB", body.image.size, look.cloth)
    _weave(Pencil(cloth, body.left, body.top, body.unit, body.tilt), look)
    body.image.paste(cloth, (0, 0), inside)
    _shades(body, look, inside)
    _neck(body, look)


def _weave(cloth: Pencil, look: Appearance) -> None:
    accent = look.accent
    steps = [i * 0.045 for i in range(-8, 9)]
    if look.pattern in (ClothPattern.STRIPES, ClothPattern.CHECKS):
        for x in steps:
            cloth.line([(x, 0.44), (x, BOTTOM)], accent, 0.009)
    if look.pattern in (ClothPattern.BARS, ClothPattern.CHECKS):
        wide = 0.02 if look.pattern is ClothPattern.BARS else 0.009
        for i in range(17):
            y = 0.5 + i * 0.045
            cloth.line([(-0.36, y), (0.36, y)], accent, wide)
    if look.pattern is ClothPattern.DOTS:
        for i in range(17):
            for x in steps:
                cloth.dot(x + (i % 2) * 0.0225, 0.49 + i * 0.04, 0.007, 0.007, accent)


def _shades(body: Pencil, look: Appearance, inside: Image.Image) -> None:
    b, dark = look.build, darker(look.cloth, 0.7)
    body.glow(0.27 * b, 0.85, 0.16, 0.5, dark, 130, inside)
    body.glow(-0.15 * b, 0.62, 0.15, 0.16, lighter(look.cloth, 0.5), 60, inside)
    body.glow(0, 0.5, 0.12, 0.05, dark, 110, inside)
    for side in (-1, 1):
        arm = [(side * 0.178 * b, 0.7), (side * 0.186 * b, 0.85), (side * 0.18 * b, BOTTOM)]
        body.line(arm, darker(look.cloth, 0.35), 0.004)
        body.glow(side * 0.17 * b, 0.95, 0.03, 0.28, dark, 90, inside)


def _neck(body: Pencil, look: Appearance) -> None:
    skin = darker(look.skin, 0.06)
    edge = darker(look.cloth, 0.3)
    match look.garment:
        case Garment.ROUND:
            body.shape(both([(0.052, 0.465), (0.05, 0.5), (0, 0.522)]), skin)
            body.line(
                [(-0.056, 0.472), (-0.044, 0.507), (0, 0.525), (0.044, 0.507), (0.056, 0.472)], edge, 0.008
            )
        case Garment.DEEP:
            body.shape([(-0.055, 0.466), (0.055, 0.466), (0, 0.6)], skin, smooth=False)
            body.line([(-0.06, 0.468), (0, 0.603), (0.06, 0.468)], edge, 0.009)
        case Garment.ROLL:
            body.shape(
                both([(0, 0.432), (0.054, 0.44), (0.062, 0.492), (0, 0.508)]), lighter(look.cloth, 0.08)
            )
            body.line([(-0.058, 0.478), (0, 0.492), (0.058, 0.478)], edge, 0.005)
        case Garment.SHIRT:
            body.shape([(-0.04, 0.47), (0.04, 0.47), (0, 0.53)], skin, smooth=False)
            body.line([(0, 0.53), (0, BOTTOM)], edge, 0.004)
            for i in range(5):
                body.dot(0.006, 0.57 + i * 0.1, 0.005, 0.005, lighter(look.cloth, 0.6))
            _collar(body, lighter(look.cloth, 0.15), edge)
        case Garment.JACKET:
            body.shape([(-0.06, 0.47), (0.06, 0.47), (0.012, 0.86), (-0.012, 0.86)], look.under, smooth=False)
            body.shape([(-0.032, 0.468), (0.032, 0.468), (0, 0.515)], skin, smooth=False)
            _collar(body, lighter(look.under, 0.2), darker(look.under, 0.3))
            for side in (-1, 1):
                lapel = [
                    (side * 0.064, 0.468),
                    (side * 0.11, 0.58),
                    (side * 0.085, 0.6),
                    (side * 0.012, 0.86),
                ]
                body.shape(lapel, darker(look.cloth, 0.12), smooth=False)
                body.line([lapel[0], lapel[3]], edge, 0.004)
                body.line(lapel[:3], edge, 0.003)


def _collar(body: Pencil, colour: tuple[int, int, int], edge: tuple[int, int, int]) -> None:
    for side in (-1, 1):
        flap = [(side * 0.05, 0.45), (side * 0.072, 0.488), (side * 0.04, 0.545), (0, 0.515)]
        body.shape(flap, colour, smooth=False)
        body.line([flap[1], flap[2], flap[3]], edge, 0.003)


def lanyard(body: Pencil, hangs_at: float) -> None:
    """Draw the ribbon of a badge around the neck, down to `hangs_at`."""
    for side in (-1, 1):
        body.line([(side * 0.056, 0.474), (0, hangs_at)], (64, 78, 96), 0.007)


def hair_behind(head: Pencil, look: Appearance) -> None:
    """Draw the hair behind head and neck."""
    back = darker(look.hair, 0.28)
    match look.worn:
        case Hair.LONG:
            head.shape(
                both([(0, 0.14), (0.09, 0.17), (0.118, 0.28), (0.124, 0.44), (0.132, 0.56), (0.06, 0.6)]),
                back,
            )
        case Hair.BOB:
            head.shape(
                both([(0, 0.14), (0.09, 0.165), (0.12, 0.27), (0.124, 0.38), (0.1, 0.44), (0.03, 0.43)]), back
            )
        case Hair.CURLS:
            for x, y in ((0.075, 0.17), (0.105, 0.23), (0.112, 0.3), (0.1, 0.36), (0, 0.145), (0.04, 0.15)):
                for side in (-1, 1):
                    head.dot(side * x, y, 0.042, 0.042, back)
        case Hair.BUN:
            head.dot(0.01, 0.125, 0.046, 0.04, back)
        case _:
            pass


SCARF = both([(0, 0.135), (0.085, 0.16), (0.118, 0.26), (0.112, 0.38), (0.13, 0.47), (0.14, 0.53), (0, 0.57)])


def scarf(head: Pencil, look: Appearance) -> None:
    """Draw a headscarf; the head is drawn over its middle later."""
    head.shape(SCARF, look.hair)


CAPS: dict[Hair, list[tuple[float, float]]] = {
    Hair.CROPPED: [
        (0.088, 0.275),
        (0.074, 0.222),
        (0.03, 0.205),
        (-0.03, 0.205),
        (-0.074, 0.222),
        (-0.088, 0.275),
    ],
    Hair.SHORT: [(0.086, 0.3), (0.078, 0.245), (0.04, 0.222), (-0.02, 0.228), (-0.072, 0.24), (-0.086, 0.3)],
    Hair.SIDE: [(0.086, 0.3), (0.08, 0.26), (0.02, 0.243), (-0.035, 0.212), (-0.07, 0.235), (-0.086, 0.29)],
    Hair.CURLS: [(0.09, 0.3), (0.08, 0.245), (0.035, 0.232), (-0.025, 0.225), (-0.072, 0.24), (-0.09, 0.3)],
    Hair.BOB: [(0.084, 0.4), (0.078, 0.27), (0.04, 0.246), (-0.04, 0.246), (-0.078, 0.27), (-0.084, 0.4)],
    Hair.LONG: [(0.088, 0.44), (0.078, 0.28), (0.03, 0.215), (0.0, 0.2), (-0.066, 0.255), (-0.088, 0.44)],
    Hair.BUN: [(0.086, 0.27), (0.066, 0.22), (0.03, 0.204), (-0.03, 0.204), (-0.066, 0.22), (-0.086, 0.27)],
}
"""The outline where hair meets forehead and cheeks, from the right ear to the left."""


CURLS = ((-0.085, 0.215), (-0.06, 0.18), (-0.02, 0.165), (0.025, 0.165), (0.06, 0.18), (0.088, 0.215))


def hair_in_front(head: Pencil, look: Appearance) -> None:
    """Draw the hair, or the scarf, in front of the forehead."""
    if look.worn is Hair.SCARF:
        _scarf_in_front(head, look)
    if look.worn not in CAPS:
        return
    f, line = look.face, CAPS[look.worn]
    low = line[0][1]
    wide, high = (0.093, 0.155) if look.worn is Hair.CROPPED else (0.102, 0.138)
    left = [(-wide, low), (-wide, 0.235), (-0.068, high + 0.022), (0, high)]
    crown = [*left, *((-x, y) for x, y in reversed(left[:3]))]
    shape = [(x * f, y) for x, y in [*line, *crown]]
    head.shape(shape, look.hair)
    if look.worn is Hair.CURLS:
        for x, y in CURLS:
            head.dot(x, y, 0.03, 0.03, look.hair)
    inside = head.mask(shape)
    head.glow(-0.04, 0.18, 0.07, 0.05, lighter(look.hair, 0.35), 110, inside)
    head.glow(0.09, 0.25, 0.06, 0.16, darker(look.hair, 0.6), 120, inside)


def _scarf_in_front(head: Pencil, look: Appearance) -> None:
    edge = [(0.088, 0.4), (0.083, 0.25), (0.04, 0.212), (-0.04, 0.212), (-0.083, 0.25), (-0.088, 0.4)]
    rim = [(-0.108, 0.4), (-0.112, 0.23), (-0.07, 0.155), (0.07, 0.155), (0.112, 0.23), (0.108, 0.4)]
    head.shape([*edge, *rim], look.hair)
    chin = [(-0.09, 0.39), (-0.05, 0.425), (0, 0.436), (0.05, 0.425), (0.09, 0.39)]
    below = head.mask([*chin, (0.15, 0.53), (-0.15, 0.53)])
    head.glow(0, 0.42, 0.12, 0.08, darker(look.hair, 0.6), 110, below)
    head.line([(-0.1, 0.45), (-0.03, 0.495), (0.06, 0.53)], darker(look.hair, 0.2), 0.004)
