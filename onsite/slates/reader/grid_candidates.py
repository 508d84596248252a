"""Candidate grids of a symbol, and a quick look at how likely each is.

Candidates go through three visible finder patterns, through two, or through one at any rotation. There are
hundreds of them, and a fit takes ten milliseconds. So each is first sampled once a module in the reduced
picture: what shared modules, sharp and blurred, explain of the samples tells a symbol from everything else,
however it is held and however far it is out of focus. Nothing here looks at a code.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache
from itertools import combinations, permutations, product

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFilter

from onsite.slates.qr_symbol import MODULES
from onsite.slates.reader.finder_patterns import FinderPattern
from onsite.slates.reader.module_grid import BENT, PLANE, TILTED, Grid, grid_through, powers
from onsite.slates.slate_layout import COPY_STEP

_LOW, _HIGH = 3.5, MODULES - 3.5
_SIDE = _HIGH - _LOW
"""Modules between the centres of two finder patterns along a side."""

_NEAREST, _FARTHEST = 0.35, 1.7
"""Distances of two finder patterns over what their size asks for: perspective shortens a side, and the size
is read from templates some way apart."""
_TOGETHER = 6  # most finder patterns of neighbouring scales that are combined

_TURNS = np.radians(np.arange(0, 360, 7.5))
_SIZES = (0.88, 1.0, 1.14)
"""Turns and sizes that a single finder pattern is tried at: less than two modules apart at the far corner."""

Step = NDArray[np.float64]
Floats = NDArray[np.float64]


def candidates(finders: Sequence[Sequence[FinderPattern]]) -> list[Grid]:
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
    if all(_plausible(side, module) for side in (right, down)) and abs(right @ down) < 0.85 * np.sqrt(
        right @ right * (down @ down)
    ):
        yield _through(np.array([corner.x, corner.y]), right, down)


def _by_two(first: FinderPattern, other: FinderPattern) -> Iterator[Grid]:
    """Yield the grids through two finder patterns: along the top, down the left, and along the diagonal."""
    start, step = np.array([first.x, first.y]), _step(first, other)
    turned = np.array([-step[1], step[0]])  # a quarter turn clockwise
    module = (first.module * other.module) ** 0.5
    if _plausible(step, module):
        yield _through(start, step, turned)
        yield _through(start, -turned, step)
    if _plausible(step / 2**0.5, module):
        corner = start + (step + turned) / 2
        yield _through(corner, start - corner, start + step - corner)


def by_one(finder: FinderPattern) -> list[Grid]:
    """Return candidates around one finder pattern, seen about square on: turned and sized in any of several
    ways, and with it in any of three corners."""
    middle, found = np.array([finder.x, finder.y]), []
    for size, turn in product(_SIZES, _TURNS):
        right = np.array([np.cos(turn), np.sin(turn)]) * _SIDE * finder.module * size
        down = np.array([-right[1], right[0]])
        found += [_through(corner, right, down) for corner in (middle, middle - right, middle - down)]
    return found


def _plausible(side: Step, module: float) -> bool:
    return _NEAREST < float(np.hypot(*side)) / (_SIDE * module) < _FARTHEST


def _through(corner: Step, right: Step, down: Step) -> Grid:
    """Return the flat grid with finder pattern centres at `corner`, `corner + right` and `corner + down`."""
    shape = np.zeros((BENT, 2))
    shape[0] = corner + (right + down) / 2
    shape[1], shape[2] = right * (MODULES / 2 / _SIDE), down * (MODULES / 2 / _SIDE)
    return Grid(shape)


def _step(first: FinderPattern, other: FinderPattern) -> Step:
    """Return the step from one finder pattern to another, in pixels."""
    return np.array([other.x - first.x, other.y - first.y])


def copies_from(grid: Grid) -> list[Grid]:
    """Return candidates for the other copy on the same slate, to either side of a symbol.

    Only the low-order terms are extrapolated; the others diverge beyond the edge.
    """
    around = np.array([(_LOW, _LOW), (_HIGH, _LOW), (_LOW, _HIGH), (_HIGH, _HIGH)])
    steady = Grid(np.where(np.arange(len(grid.shape))[:, None] < TILTED, grid.shape, 0.0))
    return [grid_through(around, steady.at(around + np.array([step, 0]))) for step in (COPY_STEP, -COPY_STEP)]


_MODULE = 2.0
"""Least pixels to a module in the reduced picture that is sampled, where the picture has as many."""

_AROUND = 4  # modules to each side of the local mean
_RIM = 2  # modules of the quiet zone that are sampled too
_BLURS = (0.0, 0.9, 1.8)  # standard deviations in modules of the blurs tried
_CLEAR = 0.25  # difference from the local mean, as a share of it, that counts as fully dark or light
_FLAT = 0.0005  # variance that is no contrast at all

_ALONG = np.arange(-_RIM, MODULES + _RIM) + 0.5
_TERMS = powers(np.stack(np.meshgrid(_ALONG, _ALONG), axis=-1).reshape(-1, 2))[:, : PLANE + 1]

_MOVES = np.concatenate([np.eye(2 * BENT)[: 2 * (PLANE + 1)] * way for way in (1, -1)]).reshape(-1, BENT, 2)
"""Moves of a grid by a module in each of its flat terms: (16, 10, 2)."""
_FIRST, _LAST = 2.0, 0.25  # modules: steps of a climb
_ROUNDS = 12  # most steps

Singles = NDArray[np.float32]


class Glance:
    """A reduced picture in which candidates are sampled once a module."""

    def __init__(self, picture: Image.Image, template: NDArray[np.int8]) -> None:
        self._picture = picture
        self._basis, self._plain = _basis(template.tobytes())
        self._levels: dict[int, Singles] = {}

    def shares(self, grids: Sequence[Grid]) -> NDArray[np.float64]:
        """Return the share that shared modules explain of the samples of each grid, 0 to 1: (n,)."""
        shares = np.zeros(len(grids))
        scales = np.array([max(int(grid.module / _MODULE), 1) for grid in grids])
        for scale in np.unique(scales).tolist():
            some = np.flatnonzero(scales == scale)
            dark = self._sampled(scale, [grids[k].shape for k in some])
            parts = dark @ self._basis
            variance = (dark * dark).sum(axis=1) - parts[:, 0] ** 2 + _FLAT * len(self._plain)
            explained = (parts[:, 1:] ** 2).sum(axis=1) / variance
            shares[some] = np.where(dark @ self._plain > 0, explained, 0.0)
        return shares

    def climbed(self, grid: Grid) -> tuple[float, Grid]:
        """Move a grid step by step to where shared modules explain most: that share, and the grid there."""
        best, share, step = grid, 0.0, _FIRST
        for _ in range(_ROUNDS):
            tried = [best, *(Grid(best.shape + move * (step * best.module)) for move in _MOVES)]
            shares = self.shares(tried)
            first = int(shares.argmax())
            best, share, step = tried[first], float(shares[first]), step if first else step / 2
            if step < _LAST:
                break
        return share, best

    def _sampled(self, scale: int, shapes: Sequence[Floats]) -> Singles:
        """Return the darkness in the middle of each module of each grid: (n, 625), 0 beyond the edges."""
        if scale not in self._levels:
            self._levels[scale] = _darkness(self._picture.reduce(scale) if scale > 1 else self._picture)
        dark = self._levels[scale]
        points = _TERMS @ np.stack([shape[: PLANE + 1] for shape in shapes]) / scale
        column, row = np.floor(points).astype(np.int32).transpose(2, 0, 1)
        height, width = dark.shape
        inside = (column >= 0) & (row >= 0) & (column < width) & (row < height)
        return np.asarray(dark[np.where(inside, row, 0), np.where(inside, column, 0)] * inside)


@lru_cache(maxsize=4)
def _basis(template: bytes) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Return an orthonormal basis, (625, 7), and the shared modules at the middle blur, (625,).

    The basis is of a constant, of the shared modules at every blur, compared with the local mean as the
    samples are, and of their second derivatives at the middle one: a blur along one direction, as of motion.
    """
    modules = np.frombuffer(template, np.int8).reshape(MODULES, MODULES)
    room = 3 * _AROUND
    drawn = np.pad(modules.astype(np.float64), room, constant_values=-1)
    rate = np.fft.fftfreq(len(drawn))
    off = np.minimum(np.arange(len(drawn)), np.arange(len(drawn), 0, -1))
    box = np.fft.fft((off <= _AROUND) / (2 * _AROUND + 1)).real
    kept = slice(room - _RIM, _RIM - room)
    slope = 2j * np.pi * rate
    passed = []
    for blur in _BLURS:
        along = np.exp(-2 * (np.pi * blur * rate) ** 2)
        passed.append(np.outer(along, along) - np.outer(box, box))
    one = np.exp(-2 * (np.pi * _BLURS[1] * rate) ** 2)
    passed += [
        np.outer(one * slope**2, one),
        np.outer(one * slope, one * slope),
        np.outer(one, one * slope**2),
    ]
    seen = [np.fft.ifft2(np.fft.fft2(drawn) * each).real[kept, kept].ravel() for each in passed]
    basis = np.linalg.qr(np.stack([np.ones_like(seen[0]), *seen], axis=1))[0]
    return basis.astype(np.float32), seen[1].astype(np.float32)


def _darkness(grey: Image.Image) -> NDArray[np.float32]:
    """Return 1 for dark to -1 for light, compared with the local mean."""
    mean = np.asarray(grey.filter(ImageFilter.BoxBlur(_AROUND * _MODULE)), np.float32)
    difference = mean - np.asarray(grey, np.float32)
    return np.asarray(np.clip(difference / (_CLEAR * mean + 1), -1, 1), np.float32)
