"""What a drawn person wears from the shoulders down."""

from __future__ import annotations

from PIL import Image

from onsite.demo.look import Appearance, ClothPattern, Garment, darker, lighter
from onsite.demo.pencil import Pencil, both

BOTTOM = 1.25
"""Below the edge of any frame."""


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
    """Draws the torso, its pattern and shades, and the neck of the garment."""
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
    """The ribbon of a badge around the neck, down to `hangs_at`."""
    for side in (-1, 1):
        body.line([(side * 0.056, 0.474), (0, hangs_at)], (64, 78, 96), 0.007)
