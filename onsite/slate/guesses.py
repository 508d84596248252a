"""Where a symbol may lie, from the finder patterns in sight: all three of them, or two."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from onsite.slate.card import COPY_STEP
from onsite.slate.finders import Finder
from onsite.slate.grid import TILTED, Grid, grid_through
from onsite.slate.symbol import MODULES

_LOW, _HIGH = 3.5, MODULES - 3.5
_TOP_LEFT, _TOP_RIGHT, _BOTTOM_LEFT = (_LOW, _LOW), (_HIGH, _LOW), (_LOW, _HIGH)
_SIDE = _HIGH - _LOW
"""Modules between the middles of two finder patterns along a side."""


COPIES = ((COPY_STEP, 0), (-COPY_STEP, 0))
"""Modules from a symbol to the other copy on its card."""

STEADY = TILTED
"""Ways of bending that are followed beyond a symbol's edge; the others run away there."""


@dataclass(frozen=True, eq=False)
class Guess:
    """A flat grid to start from, and how unlike a square card it would be: smaller is likelier."""

    grid: Grid
    oddness: float
    finders: int


def guesses(finders: Sequence[Finder], most: int) -> list[Guess]:
    """The likeliest grids through these finder patterns, likeliest first, at most `most`."""
    found = [*_by_three(finders), *_by_two(finders)]
    return sorted(found, key=lambda guess: guess.oddness)[:most]


def _by_three(finders: Sequence[Finder]) -> Iterator[Guess]:
    for trio in combinations(finders, 3):
        sizes = [finder.module for finder in trio]
        if max(sizes) > 2.2 * min(sizes):
            continue
        for first in range(3):
            corner, right, down = trio[first], trio[first - 2], trio[first - 1]
            if _turn(corner, right, down) < 0:
                right, down = down, right
            along, deep = _vector(corner, right), _vector(corner, down)
            module = float(np.mean(sizes))
            far, low = np.hypot(*along) / module / _SIDE, np.hypot(*deep) / module / _SIDE
            if not (0.35 < far < 1.7 and 0.35 < low < 1.7):
                continue
            cosine = abs(float(along @ deep)) / (np.hypot(*along) * np.hypot(*deep))
            if cosine > 0.85:
                continue
            odd = 1.5 * cosine + abs(np.log(far)) + abs(np.log(low)) + 0.5 * abs(np.log(far / low))
            odd += np.log(max(sizes) / min(sizes))
            yield Guess(_grid((corner, right, down), (_TOP_LEFT, _TOP_RIGHT, _BOTTOM_LEFT)), float(odd), 3)


def _by_two(finders: Sequence[Finder]) -> Iterator[Guess]:
    for pair in combinations(finders, 2):
        module = float(np.sqrt(pair[0].module * pair[1].module))
        unlike = abs(np.log(pair[0].module / pair[1].module))
        if unlike > 0.7:
            continue
        apart = np.hypot(*_vector(*pair)) / module
        for one, other in (pair, pair[::-1]):
            step = _vector(one, other)
            side = np.array([-step[1], step[0]])  # a quarter turn clockwise, as y points down
            start = np.array([one.x, one.y])
            if 0.45 * _SIDE < apart < 1.5 * _SIDE:
                odd = 1.0 + unlike + abs(np.log(apart / _SIDE))
                yield Guess(_through(start, step, side), odd, 2)  # along the top
                yield Guess(_through(start, -side, step), odd, 2)  # down the left
            if 0.6 * _SIDE * 2**0.5 < apart < 1.3 * _SIDE * 2**0.5 and one is pair[0]:
                odd = 1.2 + unlike + abs(np.log(apart / (_SIDE * 2**0.5)))
                for way in (1, -1):
                    corner = start + step / 2 + way * side / 2
                    a, b = start - corner, start + step - corner
                    right, down = (a, b) if a[0] * b[1] - a[1] * b[0] > 0 else (b, a)
                    yield Guess(_through(corner, right, down), odd, 2)


def _through(corner: np.ndarray, right: np.ndarray, down: np.ndarray) -> Grid:
    points = np.stack([corner, corner + right, corner + down])
    return grid_through(np.array([_TOP_LEFT, _TOP_RIGHT, _BOTTOM_LEFT]), points)


def _grid(finders: Sequence[Finder], places: Sequence[tuple[float, float]]) -> Grid:
    return grid_through(np.array(places), np.array([(finder.x, finder.y) for finder in finders]))


def _vector(one: Finder, other: Finder) -> np.ndarray:
    return np.array([other.x - one.x, other.y - one.y])


def _turn(corner: Finder, right: Finder, down: Finder) -> float:
    a, b = _vector(corner, right), _vector(corner, down)
    return float(a[0] * b[1] - a[1] * b[0])


def copies_from(grid: Grid) -> list[Grid]:
    """Where the other copies of a symbol on the same card may lie: beyond it to either side."""
    around = np.array([_TOP_LEFT, _TOP_RIGHT, _BOTTOM_LEFT, (_HIGH, _HIGH)])
    steady = Grid(np.where(np.arange(len(grid.shape))[:, None] < STEADY, grid.shape, 0.0))
    return [grid_through(around, steady.at(around + step)) for step in COPIES]
