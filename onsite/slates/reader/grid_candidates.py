"""Candidate grids of a symbol: through three visible finder patterns, two, or one at any rotation.

There are hundreds of them; `symbol_search` ranks them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations, permutations

import numpy as np
from numpy.typing import NDArray

from onsite.slates.qr_symbol import MODULES
from onsite.slates.reader.finder_patterns import FinderPattern
from onsite.slates.reader.module_grid import BENT, TILTED, Grid, grid_through
from onsite.slates.slate_layout import COPY_STEP

_LOW, _HIGH = 3.5, MODULES - 3.5
_SIDE = _HIGH - _LOW
"""Modules between the centres of two finder patterns along a side."""

_NEAREST, _FARTHEST = 0.35, 1.7
"""Distances of two finder patterns over what their size asks for: perspective shortens a side, and the size
is read from templates some way apart."""
_ACUTE = 0.85  # largest cosine of the angle between two sides
_TOGETHER = 8  # most finder patterns of neighbouring scales that are combined

_TURNS = np.radians(np.arange(0, 360, 7.5))
_SIZES = np.array([0.88, 1.0, 1.14])
"""Turns and sizes that a single finder pattern is tried at: less than two modules apart at the far corner."""

Floats = NDArray[np.float64]


def through_several(finders: Sequence[Sequence[FinderPattern]]) -> list[Grid]:
    """Return the grids through two or three finder patterns of each list, each once."""
    found: dict[tuple[object, ...], Grid] = {}
    for some in finders:
        for pair in permutations(some[:_TOGETHER], 2):
            found |= {(pair, way): grid for way, grid in enumerate(_by_two(*pair))}
        for trio in combinations(some[:_TOGETHER], 3):
            found |= {(trio, first): grid for first in range(3) for grid in _by_three(trio, first)}
    return list(found.values())


def _by_three(trio: Sequence[FinderPattern], first: int) -> Iterator[Grid]:
    """Yield the grid through three finder patterns with one of them in the top left corner."""
    corner, one, other = trio[first], trio[first - 1], trio[first - 2]
    right, down = _step(corner, one), _step(corner, other)
    if right[0] * down[1] < right[1] * down[0]:  # as y points down: a symbol that is not mirrored
        right, down = down, right
    module = (corner.module * one.module * other.module) ** (1 / 3)
    acute = abs(right @ down) > _ACUTE * np.hypot(*right) * np.hypot(*down)
    if _plausible(right, module) and _plausible(down, module) and not acute:
        yield Grid(_through(np.array([corner.x, corner.y]), right, down))


def _by_two(first: FinderPattern, other: FinderPattern) -> Iterator[Grid]:
    """Yield the grids through two finder patterns: along the top, down the left, and along the diagonal."""
    start, step = np.array([first.x, first.y]), _step(first, other)
    turned = np.array([-step[1], step[0]])  # a quarter turn clockwise
    module = (first.module * other.module) ** 0.5
    if _plausible(step, module):
        yield Grid(_through(start, step, turned))
        yield Grid(_through(start, -turned, step))
    if _plausible(step / 2**0.5, module):
        corner = start + (step + turned) / 2
        yield Grid(_through(corner, start - corner, start + step - corner))


def around_one(finder: FinderPattern) -> list[Grid]:
    """Return grids around one finder pattern, seen about square on: turned and sized in any of several ways,
    and with it in any of three corners."""
    size, turn = (each.ravel()[:, None] for each in np.meshgrid(_SIZES, _TURNS))
    right = np.hstack([np.cos(turn), np.sin(turn)]) * (_SIDE * finder.module * size)
    down = np.stack([-right[:, 1], right[:, 0]], axis=1)
    middle = np.array([finder.x, finder.y])
    corners = (middle + 0 * right, middle - right, middle - down)
    return [Grid(shape) for corner in corners for shape in _through(corner, right, down)]


def _plausible(side: Floats, module: float) -> bool:
    return _NEAREST < float(np.hypot(*side)) / (_SIDE * module) < _FARTHEST


def _through(corner: Floats, right: Floats, down: Floats) -> Floats:
    """Return the shapes, (..., 10, 2), of flat grids with finder patterns at `corner`, `corner + right`
    and `corner + down`, (..., 2) each."""
    shape = np.zeros((*corner.shape[:-1], BENT, 2))
    shape[..., 0, :] = corner + (right + down) / 2
    shape[..., 1, :], shape[..., 2, :] = right * (MODULES / 2 / _SIDE), down * (MODULES / 2 / _SIDE)
    return shape


def _step(first: FinderPattern, other: FinderPattern) -> Floats:
    """Return the step from one finder pattern to another, in pixels."""
    return np.array([other.x - first.x, other.y - first.y])


def copies_from(grid: Grid) -> list[Grid]:
    """Return candidates for the other copy on the same slate, to either side of a symbol.

    Only the low-order terms are extrapolated; the others diverge beyond the edge.
    """
    around = np.array([(_LOW, _LOW), (_HIGH, _LOW), (_LOW, _HIGH), (_HIGH, _HIGH)])
    steady = Grid(np.where(np.arange(len(grid.shape))[:, None] < TILTED, grid.shape, 0.0))
    return [grid_through(around, steady.at(around + np.array([step, 0]))) for step in (COPY_STEP, -COPY_STEP)]
