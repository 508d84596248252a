"""The module grid of a symbol in a picture: a polynomial, which follows perspective and a curled sheet.

Positions on a symbol are in modules from its top left corner, 0 to 21; positions in a picture are in pixels,
x to the right and y down.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFilter

from onsite.slates.qr_symbol import MODULES

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Greys = NDArray[np.uint8]
Template = NDArray[np.int8]
T = TypeVar("T")

CORNERS = np.array([[0, 0], [MODULES, 0], [MODULES, MODULES], [0, MODULES]], np.float64)
"""Corners of a symbol in modules, top left first and clockwise: (4, 2)."""

FLAT, TERMS = 4, 6
"""Numbers of terms of the polynomial: of a grid through four corners, and of any grid."""


@dataclass(frozen=True, eq=False)
class Grid:
    """A grid: `shape`, (6, 2), has for x and y the coefficient of each term of the position, -1 to 1."""

    shape: Floats

    def at(self, places: Floats) -> Floats:
        """Map places on the symbol, (n, 2) in modules, to the picture: (n, 2)."""
        return np.asarray(powers(places) @ self.shape)

    @cached_property
    def corners(self) -> Floats:
        """The symbol's corners, top left first and clockwise: (4, 2)."""
        return self.at(CORNERS)

    @property
    def module(self) -> float:
        """Mean size of a module in pixels."""
        (a, b), (c, d) = self.shape[1], self.shape[2]
        return float(np.sqrt(abs(a * d - b * c)) * 2 / MODULES)

    def near(self, other: Grid, modules: float = 2.0) -> bool:
        """Whether another grid lies on the same symbol with the same rotation."""
        apart = np.abs(self.corners - other.corners).max()
        return bool(apart < modules * max(self.module, other.module))

    def over(self, other: Grid) -> bool:
        """Whether the middle of the symbol lies on another one, however both are turned."""
        return bool(np.hypot(*(self.shape[0] - other.shape[0])) < other.module * MODULES / 2)

    def moved(self, origin: Floats, scale: Floats) -> Grid:
        """Return the grid in the picture cropped at `origin`, then enlarged by `scale`."""
        shape = self.shape.copy()
        shape[0] -= origin
        return Grid(shape * scale)


def grid_through(places: Floats, points: Floats) -> Grid:
    """Fit a grid by least squares: `places` on the symbol, (n, 2), to `points`, (n, 2), n at least 3.

    It has as many terms as there are places, at most TERMS.
    """
    count = min(len(places), TERMS)
    shape = np.zeros((TERMS, 2))
    shape[:count] = np.linalg.lstsq(powers(places)[:, :count], points, rcond=None)[0]
    return Grid(shape)


def powers(places: Floats) -> Floats:
    """Return the polynomial terms of places in modules, lowest order first: (n, 6)."""
    s, t = (places / (MODULES / 2) - 1).T
    return np.stack([np.ones_like(s), s, t, s * t, s * s, t * t], axis=1)


def local_mean(grey: Image.Image, reach: float) -> Image.Image:
    """Return the mean of the pixels up to `reach` to each side of each pixel."""
    return grey.filter(ImageFilter.BoxBlur(reach))


def darkness(grey: NDArray[np.integer], mean: NDArray[np.integer], full: float) -> Singles:
    """Return how dark greys are compared with their local mean: 1 for black ink to -1 for white paper.

    So shadow and uneven light matter little. A difference of `full`, as a share of the mean, is fully dark or
    light.
    """
    light = np.asarray(mean, np.float32)
    return np.clip((light - grey) / (np.float32(full) * np.maximum(light, 1)), -1, 1)


def sampled(planes: NDArray[np.float32] | Greys, points: Floats) -> Floats:
    """Sample planes (height, width, k) at points (n, 2) bilinearly: (n, k); 0 beyond the edges."""
    height, width, _ = planes.shape
    x, y = points[:, 0] - 0.5, points[:, 1] - 0.5
    inside = (x >= 0) & (y >= 0) & (x < width - 1) & (y < height - 1)
    x, y = np.where(inside, x, 0), np.where(inside, y, 0)
    left, top = x.astype(np.intp), y.astype(np.intp)
    right, below = (x - left)[:, None], (y - top)[:, None]
    flat = planes.reshape(height * width, -1)
    at = top * width + left
    upper = flat[at] * (1 - right) + flat[at + 1] * right
    lower = flat[at + width] * (1 - right) + flat[at + width + 1] * right
    return np.asarray((upper * (1 - below) + lower * below) * inside[:, None])


def first_apart(several: Iterable[T], same: Callable[[T, T], bool], most: int | None = None) -> list[T]:
    """Return the first of several, at most so many, of which none is the same as one before."""
    kept: list[T] = []
    for each in several:
        if len(kept) == most:
            break
        if not any(same(each, other) for other in kept):
            kept.append(each)
    return kept
