"""Hair and headscarves of a drawn person."""

from __future__ import annotations

from onsite.demo.look import Appearance, Hair, darker, lighter
from onsite.demo.pencil import Pencil, both


def hair_behind(head: Pencil, look: Appearance) -> None:
    """What of the hair is behind head and neck."""
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
    """A headscarf, of which the head then covers the middle."""
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
"""The line where hair meets forehead and cheeks, from the right ear to the left."""


CURLS = ((-0.085, 0.215), (-0.06, 0.18), (-0.02, 0.165), (0.025, 0.165), (0.06, 0.18), (0.088, 0.215))


def hair_in_front(head: Pencil, look: Appearance) -> None:
    """What of the hair, or of the scarf, is before the forehead."""
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
