"""Candidate grids of a symbol, and their ranking by sampling.

Candidates come from three visible finder patterns, from two, or from one at any rotation.

Fitting a grid takes ten milliseconds, sampling it a few hundredths of one. So there may be many candidates,
and they are fitted in the order of their agreement with the modules that all slates share, not of how likely
it is that a slate is held that way.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, product

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFilter

from onsite.slates.qr_symbol import MODULES
from onsite.slates.reader.finder_patterns import FinderPattern
from onsite.slates.reader.module_grid import BENT, TILTED, Grid, grid_through, powers
from onsite.slates.slate_layout import COPY_STEP

_LOW, _HIGH = 3.5, MODULES - 3.5
_TOP_LEFT, _TOP_RIGHT, _BOTTOM_LEFT = (_LOW, _LOW), (_HIGH, _LOW), (_LOW, _HIGH)
_SIDE = _HIGH - _LOW
"""Modules between the centres of two finder patterns along a side."""

_TURNS = np.radians(np.arange(0, 360, 7.5))
_SIZES = (0.88, 1.0, 1.14)
"""Turns and sizes that a single finder pattern is tried at: less than two modules apart at the far corner."""

Step = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Guess:
    """A flat candidate grid; `oddness` is its deviation from a square seen square on, smaller is likelier."""

    grid: Grid
    oddness: float


def guesses(finders: Sequence[FinderPattern], most: int) -> list[Guess]:
    """Return the `most` likeliest candidates through three or two finder patterns, likeliest first."""
    found = [*_by_three(finders), *_by_two(finders)]
    return sorted(found, key=lambda guess: guess.oddness)[:most]


def _by_three(finders: Sequence[FinderPattern]) -> Iterator[Guess]:
    """Yield candidates through three finder patterns: each of them may be the top left one."""
    for trio in combinations(finders, 3):
        sizes = [finder.module for finder in trio]
        if max(sizes) > 2.2 * min(sizes):
            continue
        for first in range(3):
            corner, right, down = trio[first], trio[first - 2], trio[first - 1]
            along, deep = _clockwise(_vector(corner, right), _vector(corner, down))
            module = float(np.mean(sizes))
            far, low = np.hypot(*along) / module / _SIDE, np.hypot(*deep) / module / _SIDE
            if not (0.35 < far < 1.7 and 0.35 < low < 1.7):
                continue
            cosine = abs(float(along @ deep)) / (np.hypot(*along) * np.hypot(*deep))
            if cosine > 0.85:
                continue
            odd = 1.5 * cosine + abs(np.log(far)) + abs(np.log(low)) + 0.5 * abs(np.log(far / low))
            odd += np.log(max(sizes) / min(sizes))
            yield Guess(_through(np.array([corner.x, corner.y]), along, deep), float(odd))


def _by_two(finders: Sequence[FinderPattern]) -> Iterator[Guess]:
    """Yield candidates through two finder patterns: along the top, down the left, or along the diagonal."""
    for pair in combinations(finders, 2):
        module = float(np.sqrt(pair[0].module * pair[1].module))
        unlike = abs(np.log(pair[0].module / pair[1].module))
        if unlike > 0.7:
            continue
        apart = np.hypot(*_vector(*pair)) / module
        for first, other in (pair, pair[::-1]):
            step = _vector(first, other)
            side = np.array([-step[1], step[0]])  # a quarter turn clockwise, as y points down
            start = np.array([first.x, first.y])
            if 0.45 * _SIDE < apart < 1.5 * _SIDE:
                odd = 1.0 + unlike + abs(np.log(apart / _SIDE))
                yield Guess(_through(start, step, side), odd)  # along the top
                yield Guess(_through(start, -side, step), odd)  # down the left
            if 0.6 * _SIDE * 2**0.5 < apart < 1.3 * _SIDE * 2**0.5 and first is pair[0]:
                odd = 1.2 + unlike + abs(np.log(apart / (_SIDE * 2**0.5)))
                for way in (1, -1):
                    corner = start + step / 2 + way * side / 2
                    right, down = _clockwise(start - corner, start + step - corner)
                    yield Guess(_through(corner, right, down), odd)


def by_one(finder: FinderPattern) -> list[Grid]:
    """Return candidates around one finder pattern, seen about square on: turned and sized in any of several
    ways, and with it in any of three corners."""
    middle, found = np.array([finder.x, finder.y]), []
    for size, turn in product(_SIZES, _TURNS):
        right = np.array([np.cos(turn), np.sin(turn)]) * _SIDE * finder.module * size
        down = np.array([-right[1], right[0]])
        found += [_through(corner, right, down) for corner in (middle, middle - right, middle - down)]
    return found


def _through(corner: Step, right: Step, down: Step) -> Grid:
    """Return the flat grid with finder pattern centres at `corner`, `corner + right` and `corner + down`."""
    shape = np.zeros((BENT, 2))
    shape[0] = corner + (right + down) / 2
    shape[1], shape[2] = right * (MODULES / 2 / _SIDE), down * (MODULES / 2 / _SIDE)
    return Grid(shape)


def _vector(first: FinderPattern, other: FinderPattern) -> Step:
    """Return the step from one finder pattern to another, in pixels."""
    return np.array([other.x - first.x, other.y - first.y])


def _clockwise(first: Step, other: Step) -> tuple[Step, Step]:
    """Order two steps from a corner as right and down, for a symbol that is not mirrored."""
    return (first, other) if first[0] * other[1] - first[1] * other[0] > 0 else (other, first)


def copies_from(grid: Grid) -> list[Grid]:
    """Return candidates for the other copy on the same slate, to either side of a symbol.

    Only the low-order terms are extrapolated; the others diverge beyond the edge.
    """
    around = np.array([_TOP_LEFT, _TOP_RIGHT, _BOTTOM_LEFT, (_HIGH, _HIGH)])
    steady = Grid(np.where(np.arange(len(grid.shape))[:, None] < TILTED, grid.shape, 0.0))
    return [grid_through(around, steady.at(around + np.array([step, 0]))) for step in (COPY_STEP, -COPY_STEP)]


_MODULE = 3.0
"""Least pixels to a module in the reduced picture that is sampled, where the picture has as many."""

_REACH = 12  # pixels to each side of the local mean
_CLEAR = 0.25  # difference from the local mean, as a share of it, that counts as fully dark or light

Greys = NDArray[np.float32]


def at_a_glance(picture: Image.Image, grids: Sequence[Grid], template: NDArray[np.int8]) -> list[float]:
    """Return the agreement of each grid with the known modules of `template`, (21, 21), by sampling alone."""
    if not grids:
        return []
    places = np.argwhere(template != 0)[:, ::-1].astype(np.float64) + 0.5
    wanted = template[template != 0].astype(np.float32)
    terms = powers(places)
    points = [terms @ grid.shape for grid in grids]
    every = np.concatenate(points)
    low = np.maximum(every.min(axis=0) - _REACH, 0).astype(int)
    high = np.minimum(every.max(axis=0) + _REACH, picture.size).astype(int)
    if (high - low).min() < MODULES:
        return [0.0] * len(grids)
    part = picture.crop((*low.tolist(), *high.tolist()))
    levels: dict[int, Greys] = {}
    seen = []
    for grid, each in zip(grids, points, strict=True):
        reduced = max(int(grid.module / _MODULE), 1)
        if reduced not in levels:
            levels[reduced] = _darkness(part.reduce(reduced) if reduced > 1 else part)
        column, row = np.floor((each - low) / reduced).astype(np.intp).T
        height, width = levels[reduced].shape
        inside = (column >= 0) & (row >= 0) & (column < width) & (row < height)
        dark = levels[reduced][np.where(inside, row, 0), np.where(inside, column, 0)] * inside
        seen.append(float(dark @ wanted) / len(wanted))
    return seen


def _darkness(grey: Image.Image) -> Greys:
    """Return 1 for dark to -1 for light, compared with the local mean."""
    mean = np.asarray(grey.filter(ImageFilter.BoxBlur(_REACH)), np.float32)
    difference = mean - np.asarray(grey, np.float32)
    return np.asarray(np.clip(difference / (_CLEAR * mean + 1), -1, 1), np.float32)
