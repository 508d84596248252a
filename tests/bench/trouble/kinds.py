"""Fourteen kinds of trouble that a held slate meets, each at five strengths, drawn at random by a seed.

What counts as how much trouble is our own choice, from "a little" (1) to "hardly a slate any more" (5).
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, field, replace

from tests.bench.trouble.paper import FACE, PIXELS, Bend, Held

STRENGTHS = (1, 2, 3, 4, 5)


@dataclass(frozen=True)
class Blob:
    """An ellipse on the face: middle and half axes in mm, turned by degrees, with edges `soft` mm wide."""

    x: float
    y: float
    wide: float
    high: float
    turned: float = 0.0
    soft: float = 2.0


@dataclass(frozen=True)
class Line:
    """A straight line over the face, at `angle` degrees and `offset` mm from the middle."""

    angle: float
    offset: float
    width: float


@dataclass(frozen=True)
class Trouble:
    """How one frame of a slate is taken. Pixels are the frame's; `stops` is exposure beyond the right one;
    `noise` is the standard deviation at white, as a share of it; `grid` the mm between a screen's pixels,
    `gap` how much of the light is missing between them."""

    held: Held
    shadow: Line | None = None
    shade: float = 1.0
    glare: tuple[Blob, ...] = ()
    fingers: tuple[Blob, ...] = ()
    worn: tuple[Line, ...] = ()
    stops: float = 0.0
    blur: float = 0.7
    shake: float = 0.0
    shake_angle: float = 0.0
    noise: float = 0.006
    grid: float = 0.0
    gap: float = 0.0
    light: float = field(default=0.6)


def trouble(kind: str, strength: int, seed: int) -> Trouble:
    """One frame's trouble; the same for the same three arguments."""
    rng = random.Random(f"{kind}/{strength}/{seed}")
    held = Held(
        tilt=rng.uniform(-8, 8),
        turn=rng.uniform(-8, 8),
        roll=rng.uniform(-6, 6),
        place=(rng.uniform(0.45, 0.55), rng.uniform(0.55, 0.68)),
    )
    everyday = Trouble(held, light=rng.uniform(0.5, 0.7), shake_angle=rng.uniform(0, 180))
    return _KINDS[kind](everyday, strength - 1, rng)


def _far(usual: Trouble, step: int, rng: random.Random) -> Trouble:
    farther = (1.4, 1.8, 2.3, 2.8, 3.3)[step] * rng.uniform(0.95, 1.05)
    return replace(usual, held=replace(usual.held, farther=farther))


def _defocus(usual: Trouble, step: int, rng: random.Random) -> Trouble:
    return replace(usual, blur=(2.0, 3.0, 4.0, 5.0, 6.0)[step] * rng.uniform(0.95, 1.05))


def _motion(usual: Trouble, step: int, rng: random.Random) -> Trouble:
    return replace(usual, shake=(5, 7, 9, 11, 13)[step] * rng.uniform(0.95, 1.05))


def _tilt(usual: Trouble, step: int, rng: random.Random) -> Trouble:
    angle = (25, 38, 48, 56, 63)[step] + rng.uniform(-2, 2)
    share = rng.uniform(-0.6, 0.6)
    sides = (angle, share * angle * 0.4) if rng.random() < 0.5 else (share * angle * 0.4, angle)
    tilt, turn = (side * rng.choice((-1, 1)) for side in sides)
    return replace(usual, held=replace(usual.held, tilt=tilt, turn=turn))


def _roll(usual: Trouble, step: int, rng: random.Random) -> Trouble:
    roll = (15, 45, 90, 135, 180)[step] + rng.uniform(-12, 12)
    farther = (1.0, 1.2, 1.4, 1.6, 1.8)[step]
    return replace(usual, held=replace(usual.held, roll=roll * rng.choice((-1, 1)), farther=farther))


def _dark(usual: Trouble, step: int, rng: random.Random) -> Trouble:
    return replace(usual, stops=-(3.5, 4.5, 5.5, 6.5, 7.5)[step] + rng.uniform(-0.2, 0.2))


def _overexposed(usual: Trouble, step: int, rng: random.Random) -> Trouble:
    return replace(usual, stops=(2.0, 3.0, 3.8, 4.4, 4.8)[step] + rng.uniform(-0.1, 0.1), light=0.6)


def _glare(usual: Trouble, step: int, rng: random.Random) -> Trouble:
    share = (0.012, 0.03, 0.055, 0.085, 0.12)[step]
    long = rng.uniform(1.0, 1.8)
    radius = (share * FACE[0] * FACE[1] / 3.14159) ** 0.5
    blob = Blob(
        rng.gauss(0, 18),
        rng.gauss(0, 18),
        radius * long**0.5,
        radius / long**0.5,
        rng.uniform(0, 180),
        rng.uniform(4, 14),
    )
    return replace(usual, glare=(blob,))


def _thumb(usual: Trouble, step: int, rng: random.Random) -> Trouble:
    """Fingers of two hands that reach in from the card's edges, one of them over a corner of its middle."""
    reach = (14, 21, 28, 35, 42)[step]
    side, end = rng.choice((-1, 1)), rng.choice((-1, 1))
    thumb = Blob(
        side * (FACE[0] / 2 - reach / 2 - 8),
        end * rng.uniform(22, 40),
        reach * 0.8,
        12,
        rng.uniform(-25, 25),
        0.5,
    )
    other = Blob(-side * (FACE[0] / 2 - 4), rng.uniform(-30, 30), 18, 10, rng.uniform(-20, 20), 0.5)
    return replace(usual, fingers=(thumb, other))


def _noise(usual: Trouble, step: int, rng: random.Random) -> Trouble:
    return replace(usual, noise=(0.08, 0.16, 0.26, 0.38, 0.52)[step] * rng.uniform(0.95, 1.05))


def _curl(usual: Trouble, step: int, rng: random.Random) -> Trouble:
    """A card bent in the hand: as part of a cylinder, about a line that is more upright than not."""
    whole = (60, 90, 115, 140, 160)[step] * rng.uniform(0.95, 1.05) * rng.choice((-1, 1))
    half, reach = whole / 2 * 3.14159 / 180, FACE[0] / 2
    lean = rng.uniform(-0.3, 0.3) * half
    bend = Bend(rng.gauss(0, 25), (-reach, reach), (-half + lean, half + lean))
    return replace(usual, held=replace(usual.held, bend=bend))


def _shadow(usual: Trouble, step: int, rng: random.Random) -> Trouble:
    """A hard shadow over about half of the card: what is left of the light under it."""
    shade = (0.30, 0.16, 0.09, 0.05, 0.03)[step] * rng.uniform(0.95, 1.05)
    line = Line(rng.uniform(0, 360), rng.uniform(-15, 15), rng.uniform(0.5, 2.5))
    return replace(usual, shadow=line, shade=shade)


def _crease(usual: Trouble, step: int, rng: random.Random) -> Trouble:
    """A card that was folded and opened again: kinks along parallel folds, where the ink has cracked off."""
    folds = (1, 2, 2, 3, 3)[step]
    kink = (15, 22, 30, 38, 46)[step] * 3.14159 / 180
    angle = rng.uniform(0, 180)
    offsets = sorted(rng.uniform(-38, 38) for _ in range(folds))
    at, turn, slope = [-200.0], [0.0], 0.0
    sign = rng.choice((-1, 1))
    for offset in offsets:
        at += [max(offset - 1.5, at[-1] + 0.01), max(offset + 1.5, at[-1] + 0.02)]
        new = sign * kink / 2 if slope == 0 else -slope
        turn += [slope, new]
        slope = new
    bend = Bend(angle, (*at, 200.0), (*turn, slope))
    worn = [Line(angle, offset, (0.6, 1.2, 1.8, 2.4, 3.0)[step]) for offset in offsets]
    worn += [
        Line(rng.uniform(0, 180), rng.uniform(-30, 30), (0.5, 0.9, 1.4, 1.9, 2.4)[step]) for _ in offsets
    ]
    return replace(usual, held=replace(usual.held, bend=bend), worn=tuple(worn))


def _screen(usual: Trouble, step: int, rng: random.Random) -> Trouble:
    """A slate on a telephone or tablet: its pixels beat against the sensor's."""
    farther = 1.0 + 0.25 * step
    grid = rng.uniform(0.75, 1.6) / PIXELS * farther
    gap = (0.4, 0.6, 0.8, 0.9, 1.0)[step]
    held = replace(usual.held, farther=farther)
    return replace(usual, held=held, grid=grid, gap=gap, noise=0.01)


_KINDS: dict[str, Callable[[Trouble, int, random.Random], Trouble]] = {
    "far": _far,
    "defocus": _defocus,
    "motion": _motion,
    "tilt": _tilt,
    "roll": _roll,
    "dark": _dark,
    "overexposed": _overexposed,
    "glare": _glare,
    "thumb": _thumb,
    "noise": _noise,
    "curl": _curl,
    "shadow": _shadow,
    "crease": _crease,
    "screen": _screen,
}

KINDS = tuple(_KINDS)
