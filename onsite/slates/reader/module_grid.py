"""The module grid of a symbol in a picture: a polynomial surface that bends as paper does, and its fit.

Positions on a symbol are in modules from its top left corner, 0 to 21; positions in a picture are in pixels,
x to the right and y down.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from onsite.slates.qr_symbol import MODULES
from onsite.slates.reader.illumination import BLOWN, Greys, Levelled

Floats = NDArray[np.float64]
Pixels = NDArray[np.float32]
Template = NDArray[np.int8]

CORNERS = np.array([[0, 0], [MODULES, 0], [MODULES, MODULES], [0, MODULES]], np.float64)
"""Corners of a symbol in modules, top left first and clockwise: (4, 2)."""

_POWERS = ((0, 0), (1, 0), (0, 1), (1, 1), (2, 0), (0, 2), (2, 1), (1, 2), (3, 0), (0, 3))
"""Exponents of the position along and down the symbol in the terms of the polynomial, lowest order first."""

POWERS = len(_POWERS)

PLANE, TILTED, BENT = 3, 6, 10
"""Numbers of terms for a slate seen square on, in perspective, and curled or creased."""

_STIFF = np.array([0, 0, 0, 0.01, 0.01, 0.01, 0.02, 0.02, 0.02, 0.02])
"""Regularisation: the cost of a bend of one module at the edge, where a sample wholly wrong costs 1."""

_AROUND = 1  # modules of the quiet zone that are fitted as light modules


class _Steps(NamedTuple):
    """Settings of one stage of a fit."""

    softness: float
    """Blur of the picture, in modules."""
    bends: int
    """Number of polynomial terms that are free."""
    most: int
    """Most Gauss-Newton steps."""
    side: int
    """Samples along a side of a module."""


_COARSE = (_Steps(1.0, PLANE, 5, 1), _Steps(0.7, TILTED, 4, 1))
_FINE = _Steps(0.5, BENT, 6, 2)
_ALONE = _Steps(0.7, PLANE, 5, 2)
_OWN = (_Steps(0.3, BENT, 3, 2),) * 2


@dataclass(frozen=True, eq=False)
class Grid:
    """A grid: `shape`, (10, 2), has for x and y the coefficient of each term of the position, -1 to 1."""

    shape: Floats

    def at(self, places: Floats) -> Floats:
        """Map places on the symbol, (n, 2) in modules, to the picture: (n, 2)."""
        return np.asarray(_powers(places) @ self.shape)

    @cached_property
    def corners(self) -> Floats:
        """The symbol's corners, top left first and clockwise: (4, 2)."""
        return self.at(CORNERS)

    @property
    def module(self) -> float:
        """Mean size of a module in pixels."""
        (a, b), (c, d) = self.shape[1], self.shape[2]
        return float(np.sqrt(abs(a * d - b * c)) * 2 / MODULES)

    def moved(self, origin: Floats, scale: Floats) -> Grid:
        """Return the grid in the picture cropped at `origin`, then enlarged by `scale`."""
        shape = self.shape.copy()
        shape[0] -= origin
        return Grid(shape * scale)


def grid_through(places: Floats, points: Floats) -> Grid:
    """Fit a flat grid by least squares: `places` on the symbol, (n, 2), n >= 3, to `points`, (n, 2)."""
    count = PLANE if len(places) < 4 else PLANE + 1
    shape = np.zeros((POWERS, 2))
    shape[:count] = np.linalg.lstsq(_powers(places)[:, :count], points, rcond=None)[0]
    return Grid(shape)


def _powers(places: Floats) -> Floats:
    """Return the polynomial terms of places in modules: (n, 10)."""
    s, t = (places / (MODULES / 2) - 1).T
    return np.stack([s**i * t**j for i, j in _POWERS], axis=1)


@lru_cache(maxsize=8)
def _samples(inner: float, around: int, side: int) -> Floats:
    """Return the polynomial terms of `side` x `side` samples in every module: (modules x samples, 10).

    Samples lie in the central share `inner` of a module; `around` modules of the quiet zone are included.
    """
    inside = (np.arange(side) + 0.5) / side * inner + (1 - inner) / 2
    modules = np.arange(-around, MODULES + around)
    corners = np.stack(np.meshgrid(modules, modules), -1).reshape(-1, 1, 2)
    places = (corners + np.stack(np.meshgrid(inside, inside), -1).reshape(-1, 2)).reshape(-1, 2)
    return _powers(places.astype(np.float64))


def roughly(light: Levelled, start: Grid, template: Template) -> Grid:
    """Fit a grid near `start`, flat or in perspective, to the known modules of `template`, (21, 21)."""
    return _by_steps(light, start, _on_paper(template), _COARSE)


def about_finder(light: Levelled, start: Grid) -> tuple[Grid, float]:
    """Fit a flat grid near `start` with a finder pattern in its centre; return it with its agreement."""
    grid = _by_steps(light, start, _finder_alone(), (_ALONE,))
    return grid, agreement(values(light, grid), _finder_alone()[_AROUND:-_AROUND, _AROUND:-_AROUND])


@lru_cache(maxsize=1)
def _finder_alone() -> Floats:
    """Return a template of one finder pattern with its rim, other modules unknown, padded as `_on_paper`."""
    off = np.abs(np.arange(MODULES + 2 * _AROUND) - MODULES // 2 - _AROUND)
    ring = np.maximum(off[:, None], off)
    return np.select([ring <= 1, ring == 2, ring == 3, ring == 4], [1.0, -1.0, 1.0, -1.0], 0.0)


def closely(light: Levelled, start: Grid, template: Template) -> Grid:
    """Fit a grid near `start` with all bends.

    The last stages also fit the unknown modules, each to the colour it seems to have: on the right grid every
    module has a single colour.
    """
    grid = _by_steps(light, start, _on_paper(template), (_FINE,))
    for steps in _OWN:
        seen = values(light, grid)
        guess = np.where(template != 0, template, np.clip(seen * 1.5, -1, 1))
        grid = _by_steps(light, grid, _on_paper(guess), (steps,))
    return grid


def _on_paper(wanted: Template | Floats) -> Floats:
    """Pad the target values of the modules, (21, 21), with `_AROUND` light modules of the quiet zone."""
    return np.pad(wanted.astype(np.float64), _AROUND, constant_values=-1.0)


def _by_steps(light: Levelled, grid: Grid, wanted: Floats, several: Sequence[_Steps]) -> Grid:
    """Run several stages of a fit to the target values `wanted`, 0 where unknown."""
    module = max(grid.module, 1.0)
    for steps in several:
        goal = np.repeat(wanted.ravel(), steps.side * steps.side)
        known = goal != 0
        powers = _samples(0.8, _AROUND, steps.side)[known]
        grid = _moved(light.slopes(module * steps.softness), grid, powers, goal[known], steps)
    return grid


def _moved(planes: Pixels, grid: Grid, powers: Floats, goal: Floats, steps: _Steps) -> Grid:
    """Run Gauss-Newton steps on the squared difference between samples and target values.

    Outliers are down-weighted (Cauchy weights) and bends regularised.
    """
    module, bends = grid.module, steps.bends
    shape = grid.shape.copy()
    stiff = np.tile(_STIFF[:bends], 2) * len(goal) / module**2
    free = powers[:, :bends]
    for _ in range(steps.most):
        seen, by_x, by_y, trust = _read(planes, powers @ shape).T
        scale = np.sum(trust * seen * goal) / max(float(np.sum(trust * seen * seen)), 1e-9)
        miss = goal - np.clip(scale, 0.7, 2.5) * seen
        ease = (trust + 0.02) / (1 + (miss / 0.8) ** 2)
        slopes = np.hstack([free * by_x[:, None], free * by_y[:, None]])
        # Not by `@`: the BLAS library would start threads that compete with those of other workers.
        normal = np.einsum("ni,nj->ij", slopes, slopes * ease[:, None])
        normal[np.diag_indices(2 * bends)] += stiff + 1e-4 * len(goal) / module**2
        pull = slopes.T @ (ease * miss) - stiff * shape[:bends].T.ravel()
        step = np.linalg.solve(normal, pull).reshape(2, bends).T
        longest = float(np.abs(step).max())
        shape[:bends] += step * min(1.0, 1.5 * module / max(longest, 1e-9))
        if longest < 0.02 * module:
            break
    return Grid(shape)


def values(light: Levelled, grid: Grid) -> Floats:
    """Return the mean trusted darkness in the centre of each module: (21, 21)."""
    return _means(light.trusted, grid)


def glare_over(grey: Greys, grid: Grid, template: Template) -> float | None:
    """Return the grey value of the paper where part of a symbol, but not most of it, is blown out."""
    raw = _means(grey, grid)
    white = raw[template < 0]
    if np.all(raw < BLOWN) or np.mean(white >= BLOWN) > 0.6:
        return None
    return float(np.percentile(white[white < BLOWN], 80))


def _means(picture: Pixels | Greys, grid: Grid) -> Floats:
    """Return the mean of a picture in the centre of each module: (21, 21)."""
    seen = _read(picture[..., None], _samples(0.5, 0, 2) @ grid.shape)
    return np.asarray(seen.reshape(MODULES, MODULES, -1).mean(axis=2))


def agreement(seen: Floats, template: Template | Floats) -> float:
    """Return the mean product of values and known modules: 1 for full agreement, about 0 by chance."""
    known = template != 0
    return float(np.mean(seen[known] * template[known]))


def _read(planes: Pixels | Greys, points: Floats) -> Floats:
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
