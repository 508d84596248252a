"""Draws what a musician holds in a portrait, and the hands that hold it."""

from __future__ import annotations

from onsite.simulator.draw_shapes import Pencil
from onsite.simulator.invented_appearance import Appearance, Colour, darker, lighter
from onsite.simulator.invented_exposure import Prop

WOOD: Colour = (142, 78, 38)
SILVER: Colour = (196, 200, 206)
BRASS: Colour = (206, 164, 72)
LEATHER: Colour = (30, 30, 34)


def draw_prop(body: Pencil, prop: Prop, look: Appearance) -> None:
    """Draw an instrument, or a folder of music, before the chest."""
    match prop:
        case Prop.VIOLIN:
            _violin(body)
        case Prop.FLUTE:
            body.line([(-0.3, 0.66), (0.24, 0.56)], SILVER, 0.022)
            body.line([(-0.3, 0.655), (0.24, 0.555)], lighter(SILVER, 0.5), 0.006)
        case Prop.TRUMPET:
            _trumpet(body)
        case Prop.FOLDER:
            body.shape([(-0.17, 0.63), (0.17, 0.63), (0.18, 0.98), (-0.18, 0.98)], LEATHER, smooth=False)
            body.line([(0.0, 0.63), (0.0, 0.98)], lighter(LEATHER, 0.2), 0.006)
    for side in (-1, 1):
        body.dot(side * 0.15, 0.72, 0.036, 0.04, darker(look.skin, 0.12))


def _violin(body: Pencil) -> None:
    for x, y, rx, ry in ((-0.05, 0.78, 0.095, 0.085), (0.04, 0.68, 0.075, 0.07)):
        body.dot(x, y, rx, ry, WOOD)
    body.glow(0.0, 0.72, 0.07, 0.08, lighter(WOOD, 0.5), 90)
    body.line([(-0.02, 0.75), (0.2, 0.5)], darker(WOOD, 0.7), 0.022)


def _trumpet(body: Pencil) -> None:
    body.line([(-0.22, 0.7), (0.2, 0.64)], BRASS, 0.026)
    body.line([(-0.1, 0.74), (0.08, 0.71)], BRASS, 0.022)
    body.shape([(0.16, 0.6), (0.16, 0.69), (0.29, 0.72), (0.29, 0.55)], BRASS, smooth=False)
    body.glow(0.24, 0.62, 0.05, 0.07, lighter(BRASS, 0.6), 120)
    for x in (-0.06, -0.01, 0.04):
        body.line([(x, 0.63), (x, 0.73)], darker(BRASS, 0.25), 0.016)
