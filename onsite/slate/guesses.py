"""Where a symbol may lie, from the finder patterns in sight: all three of them, two, or one with its turn."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from onsite.slate.card import COPY_STEP
from onsite.slate.finders import FinderPattern
from onsite.slate.grid import POWERS, TILTED, Grid, grid_through
from onsite.slate.symbol import MODULES

_LOW, _HIGH = 3.5, MODULES - 3.5
_TOP_LEFT, _TOP_RIGHT, _BOTTOM_LEFT = (_LOW, _LOW), (_HIGH, _LOW), (_LOW, _HIGH)
_SIDE = _HIGH - _LOW
"""Modules between the middles of two finder patterns along a side."""

Step = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Guess:
    """A flat grid to start from, and how unlike a square card it would be: smaller is likelier."""

    grid: Grid
    oddness: float


def guesses(finders: Sequence[FinderPattern], most: int) -> list[Guess]:
    """The likeliest grids through these finder patterns, likeliest first, at most `most`."""
    found = [*_by_three(finders), *_by_two(finders)]
    return sorted(found, key=lambda guess: guess.oddness)[:most]


def _by_three(finders: Sequence[FinderPattern]) -> Iterator[Guess]:
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


def by_one(finder: Grid) -> list[Guess]:
    """The twelve ways in which a symbol may lie about one finder pattern, which is in the middle of the flat
    grid `finder`: each of its sides may be the upper one, and it may be in any of three corners."""
    middle, across, along = finder.shape[0], *(finder.shape[1:3] * (_SIDE / (MODULES / 2)))
    found = []
    for right, down in ((across, along), (along, -across), (-across, -along), (-along, across)):
        for corner in (middle, middle - right, middle - down):
            found.append(Guess(_through(corner, right, down), 2.0))
    return found


def _through(corner: Step, right: Step, down: Step) -> Grid:
    """The flat grid with the middles of its finder patterns at a corner and so far right and down of it."""
    shape = np.zeros((POWERS, 2))
    shape[0] = corner + (right + down) / 2
    shape[1], shape[2] = right * (MODULES / 2 / _SIDE), down * (MODULES / 2 / _SIDE)
    return Grid(shape)


def _vector(first: FinderPattern, other: FinderPattern) -> Step:
    return np.array([other.x - first.x, other.y - first.y])


def _clockwise(first: Step, other: Step) -> tuple[Step, Step]:
    """Two steps from a corner in the order in which they run right and down."""
    return (first, other) if first[0] * other[1] - first[1] * other[0] > 0 else (other, first)


def copies_from(grid: Grid) -> list[Grid]:
    """Where the other copy of a symbol on the same card may lie: beyond it to either side. Only the plainer
    ways of bending are followed beyond its edge; the others run away there."""
    around = np.array([_TOP_LEFT, _TOP_RIGHT, _BOTTOM_LEFT, (_HIGH, _HIGH)])
    steady = Grid(np.where(np.arange(len(grid.shape))[:, None] < TILTED, grid.shape, 0.0))
    return [grid_through(around, steady.at(around + np.array([step, 0]))) for step in (COPY_STEP, -COPY_STEP)]
