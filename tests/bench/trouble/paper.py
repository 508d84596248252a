"""A card as a bent sheet in front of a pinhole camera: which point of its face every pixel sees.

The sheet is bent along one direction only, as paper bends: a profile, drawn out along straight lines.
Lengths are in mm, pictures in pixels; the camera looks along z.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

FACE = (150.0, 100.0)
"""Width and height of the card: about a quarter of a sheet of A4."""

DISTANCE = 2500.0

PIXELS = 2000 / 900
"""Pixels to a mm: a frame 2000 pixels high shows 900 mm, head to waist (common practice, no source)."""

FOCAL = PIXELS * DISTANCE

_STEPS = 1200

Floats = NDArray[np.floating]


@dataclass(frozen=True)
class Bend:
    """The slope of the sheet, in radians, along a line across its face at `angle` (degrees from its width).

    `turn` gives the slope at each of the places `at` (mm from the middle, rising); between them it is linear.
    """

    angle: float = 0.0
    at: tuple[float, ...] = (0.0,)
    turn: tuple[float, ...] = (0.0,)


@dataclass(frozen=True)
class Held:
    """How a card is held: degrees about the frame's x and y axes and in the picture, how many times farther
    off than the sitter, and where its middle is, as shares of the frame."""

    tilt: float = 0.0
    turn: float = 0.0
    roll: float = 0.0
    farther: float = 1.0
    place: tuple[float, float] = (0.5, 0.62)
    bend: Bend = field(default_factory=Bend)


@dataclass(frozen=True)
class Seen:
    """For a window of the picture, whose top left pixel is `corner`: the place on the face (mm, from its
    middle) and the upward unit normal that each pixel sees, and whether it sees the card at all."""

    corner: tuple[int, int]
    x: Floats
    y: Floats
    normal: Floats
    on_card: NDArray[np.bool_]


def see(held: Held, size: tuple[int, int], margin: int = 60, fine: int = 2) -> Seen:
    """What a frame of `size` pixels sees of the card, `fine` samples to a pixel's side."""
    turn = _turned(held)
    middle = _middle(held, size)
    window = _window(held, turn, middle, size, margin)
    left, top, right, bottom = window
    columns = (np.arange((right - left) * fine) + 0.5) / fine + left - size[0] / 2
    rows = (np.arange((bottom - top) * fine) + 0.5) / fine + top - size[1] / 2
    rays = np.stack(np.broadcast_arrays(columns[None, :] / FOCAL, rows[:, None] / FOCAL, 1.0), axis=-1)
    rays = rays @ turn  # into the card's own directions
    eye = -middle @ turn
    along, slope, across = _meet(held.bend, rays, eye)
    spin = np.radians(held.bend.angle)
    x = along * np.cos(spin) - across * np.sin(spin)
    y = along * np.sin(spin) + across * np.cos(spin)
    lean = np.sin(slope)
    normal = np.stack([lean * np.cos(spin), lean * np.sin(spin), -np.cos(slope)], axis=-1)
    on_card = (np.abs(x) <= FACE[0] / 2) & (np.abs(y) <= FACE[1] / 2)
    return Seen((left, top), x, y, normal @ turn.T, on_card)


def _turned(held: Held) -> Floats:
    """The card's directions as columns, in the camera's."""
    a, b, c = np.radians([held.tilt, held.turn, held.roll])
    about_x = np.array([[1, 0, 0], [0, np.cos(a), -np.sin(a)], [0, np.sin(a), np.cos(a)]])
    about_y = np.array([[np.cos(b), 0, np.sin(b)], [0, 1, 0], [-np.sin(b), 0, np.cos(b)]])
    about_z = np.array([[np.cos(c), -np.sin(c), 0], [np.sin(c), np.cos(c), 0], [0, 0, 1]])
    return np.asarray(about_z @ about_x @ about_y)


def _middle(held: Held, size: tuple[int, int]) -> Floats:
    depth = DISTANCE * held.farther
    x, y = ((share - 0.5) * length for share, length in zip(held.place, size, strict=True))
    return np.array([x / FOCAL * depth, y / FOCAL * depth, depth])


def _window(
    held: Held, turn: Floats, middle: Floats, size: tuple[int, int], margin: int
) -> tuple[int, int, int, int]:
    reach = np.hypot(*FACE) / 2 + 4
    flat = max(abs(np.degrees(t)) for t in held.bend.turn) < 1
    corners = np.array([[sx * FACE[0] / 2, sy * FACE[1] / 2, 0] for sx in (-1, 1) for sy in (-1, 1)])
    points = corners @ turn.T + middle
    if not flat:
        beyond = np.array([reach, reach, 0])
        points = np.vstack([points, middle - beyond, middle + beyond])
    seen = points[:, :2] / points[:, 2:] * FOCAL + np.array(size) / 2
    low, high = np.floor(seen.min(axis=0) - margin), np.ceil(seen.max(axis=0) + margin)
    left, top = np.maximum(low, 0).astype(int)
    right, bottom = np.minimum(high, size).astype(int)
    return int(left), int(top), int(right), int(bottom)


def _meet(bend: Bend, rays: Floats, eye: Floats) -> tuple[Floats, Floats, Floats]:
    """Where rays from `eye` meet the sheet: mm along the bent profile, its slope there, mm along the lines.

    Seen along the lines that the sheet is drawn out by, it is a curve, and a ray meets it where the curve's
    own angle from the eye is the ray's.
    """
    reach = np.hypot(*FACE) / 2 + 40
    along = np.linspace(-reach, reach, _STEPS)
    slope = np.interp(along, bend.at, bend.turn)
    step = along[1] - along[0]
    x, z = np.cumsum(np.cos(slope)) * step, np.cumsum(np.sin(slope)) * step
    at_middle = np.abs(along).argmin()
    x, z = x - x[at_middle], z - z[at_middle]
    spin = np.radians(bend.angle)

    def spun(vector: Floats) -> tuple[Floats, Floats, Floats]:
        first, second = vector[..., 0], vector[..., 1]
        return (
            first * np.cos(spin) + second * np.sin(spin),
            second * np.cos(spin) - first * np.sin(spin),
            vector[..., 2],
        )

    eye_x, eye_y, eye_z = spun(eye)
    ray_x, ray_y, ray_z = spun(rays)
    curve = np.arctan2(x - eye_x, z - eye_z)
    rising = np.maximum.accumulate(curve)
    angles = np.arctan2(ray_x, ray_z)
    place = np.interp(angles, rising, along)
    depth = np.interp(place, along, z) - eye_z
    return place, np.interp(place, along, slope), eye_y + ray_y / ray_z * depth
