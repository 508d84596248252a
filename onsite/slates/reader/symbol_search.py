"""Where symbols are likeliest in a reduced picture, at a module a sample.

There are hundreds of candidate grids, and fitting one closely takes tens of milliseconds. So each is first
sampled once a module. What the modules that all slates of the shoot share explain of those samples, as they
are and blurred, tells a symbol from everything else, however it is held and however far it is out of focus.
The best candidates are then moved to where that share is greatest. Nothing here looks at a code.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from itertools import permutations

import numpy as np
from PIL import Image

from onsite.slates.qr_symbol import MODULES
from onsite.slates.reader.closed_set import GRIDS
from onsite.slates.reader.finder_patterns import FinderPattern, find_whole_symbols
from onsite.slates.reader.module_grid import (
    CORNERS,
    FLAT,
    TERMS,
    Floats,
    Greys,
    Grid,
    Singles,
    Template,
    darkness,
    first_apart,
    local_mean,
    powers,
)

_FAIR = 0.5
"""Share of the samples from which nothing else is tried. That reads no frame more or fewer, but a fifth to a
half more slates in trouble a second on two threads."""
_LEAST = 0.33
"""Share of the samples that a candidate has to explain once moved: blurred slates that read begin there."""
_MOST_CLIMBED, _MOST_KEPT = 3, GRIDS  # most candidates that are moved, and that are returned
_APART = 3.0  # modules between the corners of candidates that are different

_MODULE, _MODULE_WHOLE = 2.0, 1.5
"""Least pixels to a module in the picture that is sampled, where it has as many. Out of focus or in the dark,
fewer pixels with less noise tell more."""
_AROUND = 3  # modules to each side of the local mean
_CLEAR = 0.25  # difference from the local mean, as a share of it, that counts as fully dark or light
_FLAT = 0.0005  # variance that is no contrast at all
_BLURS = (0.0, 0.9, 1.8)  # standard deviations in modules of the blurs tried
_RIM = 2  # modules of the quiet zone that are sampled too

_LOW, _HIGH = 3.5, MODULES - 3.5
_SIDE = _HIGH - _LOW
"""Modules between the centres of two finder patterns along a side."""

_NEAREST, _FARTHEST = 0.35, 1.7
"""Distances of two finder patterns over what their size asks for: perspective shortens a side, and the size
is read from templates some way apart."""
_ACUTE = 0.85  # largest cosine of the angle between two sides
_TOGETHER = 8  # most finder patterns of neighbouring scales that are combined

_TURNS = np.radians(np.add.outer(np.arange(0, 360, 90), (-4, 4)).ravel())
_SIZES = np.array([0.95, 1.05])
"""Turns and sizes that a whole symbol is tried at: less than two modules apart at the corners."""

_ALONG = np.arange(-_RIM, MODULES + _RIM) + 0.5
_PLACED = powers(np.stack(np.meshgrid(_ALONG, _ALONG), axis=-1).reshape(-1, 2))[:, :FLAT].astype(np.float32)

_CHANGES = np.vstack([np.eye(FLAT), 2 * np.linalg.inv(powers(CORNERS)[:, :FLAT]).T])
_MOVES = np.zeros((4 * len(_CHANGES), TERMS, 2))
for _number, (_way, _axis) in enumerate(np.ndindex(2, 2)):
    _MOVES[_number::4, :FLAT, _axis] = (1 - 2 * _way) * _CHANGES
"""Moves of a grid, (32, 6, 2): each of its flat terms by a module, and each of its corners by two."""
_FIRST, _LAST = 1.0, 0.25  # modules: steps of a climb
_ROUNDS = 12  # most steps


def likeliest(picture: Image.Image, grids: Sequence[Grid], template: Template) -> list[Grid]:
    """Return the likeliest grids of symbols in a grey picture, best first; none in nearly every portrait.

    They are near some of `grids`, or where none of these is fair, on what looks like a whole symbol out of
    focus.
    """
    search = SymbolSearch(picture, template)
    found = search.best(grids, _MODULE)
    if not any(share >= _FAIR for share, _ in found):
        whole = [grid for each in find_whole_symbols(picture) for grid in around_whole(each)]
        found += search.best(whole, _MODULE_WHOLE)
    found.sort(key=lambda each: -each[0])
    return first_apart([grid for _, grid in found], _alike, _MOST_KEPT)


def _alike(one: Grid, other: Grid) -> bool:
    return one.near(other, _APART)


class SymbolSearch:
    """A picture in which grids are sampled, reduced until there are so many pixels to a module at least."""

    def __init__(self, picture: Image.Image, template: Template) -> None:
        self._picture = picture
        self._basis, self._plain = _basis(template.tobytes())
        self._levels: dict[int, tuple[Greys, Greys]] = {}

    def best(self, grids: Sequence[Grid], module: float) -> list[tuple[float, Grid]]:
        """Return the best of the grids that lie apart, each moved, and the share explained there, where that
        is enough."""
        if not grids:
            return []
        order = np.argsort(-self.shares(np.stack([grid.shape for grid in grids]), module), kind="stable")
        apart = first_apart((grids[k] for k in order), _alike, _MOST_CLIMBED)
        return [each for each in (self.climbed(grid, module) for grid in apart) if each[0] >= _LEAST]

    def climbed(self, grid: Grid, module: float) -> tuple[float, Grid]:
        """Move a grid step by step to where shared modules explain most: that share, and the grid there."""
        best, share, step = grid, 0.0, _FIRST
        for _ in range(_ROUNDS):
            tried = np.concatenate([best.shape[None], best.shape + _MOVES * (step * best.module)])
            shares = self.shares(tried, module)
            first = int(shares.argmax())
            best, share = Grid(tried[first]), float(shares[first])
            step = step if first else step / 2
            if step < _LAST:
                break
        return share, best

    def shares(self, shapes: Floats, module: float = _MODULE) -> Floats:
        """Return the share that shared modules explain of the samples of each grid, (n, 6, 2): (n,)."""
        shares = np.zeros(len(shapes))
        modules = np.sqrt(np.abs(np.linalg.det(shapes[:, 1:3]))) * 2 / MODULES
        scales = np.maximum(modules / module, 1).astype(int)
        for scale in np.unique(scales).tolist():
            dark = self._sampled(scale, shapes[scales == scale, :FLAT])
            parts = dark @ self._basis
            variance = (dark * dark).sum(axis=1) - parts[:, 0] ** 2 + _FLAT * len(self._plain)
            explained = (parts[:, 1:] ** 2).sum(axis=1) / variance
            shares[scales == scale] = np.where(dark @ self._plain > 0, explained, 0.0)
        return shares

    def _sampled(self, scale: int, shapes: Floats) -> Singles:
        """Return the darkness in the middle of each module of each grid: (n, 625)."""
        if scale not in self._levels:
            half = self._picture.reduce(2 * scale)  # the mean is smooth
            mean = local_mean(half, _AROUND * _MODULE / 2)
            self._levels[scale] = np.asarray(self._picture.reduce(scale)), np.asarray(mean)
        grey, around = self._levels[scale]
        columns, rows = (
            np.clip(_PLACED @ (shapes[..., axis].T / scale).astype(np.float32), 0, side - 1).astype(np.intp)
            for axis, side in enumerate(grey.shape[::-1])
        )
        at, there = rows * grey.shape[1] + columns, (rows >> 1) * around.shape[1] + (columns >> 1)
        return darkness(grey.take(at), around.take(there), _CLEAR).T


@lru_cache(maxsize=4)
def _basis(template: bytes) -> tuple[Singles, Singles]:
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
    soft = [np.exp(-2 * (np.pi * blur * rate) ** 2) for blur in _BLURS]
    passed = [np.outer(each, each) - np.outer(box, box) for each in soft]
    once, twice = soft[1] * 2j * np.pi * rate, soft[1] * (2j * np.pi * rate) ** 2
    passed += [np.outer(twice, soft[1]), np.outer(once, once), np.outer(soft[1], twice)]
    kept = slice(room - _RIM, _RIM - room)
    seen = [np.fft.ifft2(np.fft.fft2(drawn) * each).real[kept, kept].ravel() for each in passed]
    basis = np.linalg.qr(np.stack([np.ones_like(seen[0]), *seen], axis=1))[0]
    return basis.astype(np.float32), seen[1].astype(np.float32)


def through_finders(some: Sequence[FinderPattern], least: float = 0.0) -> list[Grid]:
    """Return the grids through any three finder patterns, and square ones through any two: along the top,
    down the left, along the diagonal. `some` are best first; `least` is their least mean likeness."""
    if sum(each.likeness for each in some[:2]) < 2 * least:
        return []
    seen = np.array([(each.x, each.y, each.module, each.likeness) for each in some[:_TOGETHER]], np.float64)
    seen = seen.reshape(-1, 4)
    trios, pairs = (
        seen[np.array(list(permutations(range(len(seen)), count)), int).reshape(-1, count)]
        for count in (3, 2)
    )
    (start, end), step = pairs[..., :2].swapaxes(0, 1), pairs[:, 1, :2] - pairs[:, 0, :2]
    turned = np.stack([-step[:, 1], step[:, 0]], axis=1)  # a quarter turn clockwise
    middle = start + (step + turned) / 2
    first, second, third = trios[..., :2].swapaxes(0, 1)
    corner = np.concatenate([first, start, start, middle])
    right = np.concatenate([second - first, step, -turned, start - middle])
    down = np.concatenate([third - first, turned, step, end - middle])
    ways = (trios, *[pairs] * 3)
    module = np.concatenate([each[..., 2].prod(axis=1) ** (1 / each.shape[1]) for each in ways])
    likeness = np.concatenate([each[..., 3].mean(axis=1) for each in ways])
    length, height = (np.hypot(*each.T) for each in (right, down))
    clockwise = right[:, 0] * down[:, 1] > right[:, 1] * down[:, 0]  # as y points down
    fit = clockwise & (np.abs((right * down).sum(axis=1)) < _ACUTE * length * height) & (likeness >= least)
    for side in (length, height):
        fit &= (side > _NEAREST * _SIDE * module) & (side < _FARTHEST * _SIDE * module)
    return [Grid(shape) for shape in _through(corner, right, down)[fit]]


def around_whole(symbol: FinderPattern) -> list[Grid]:
    """Return the grids on what looks like a whole symbol: with any of its corners at the top left."""
    size, turn = (each.ravel()[:, None] for each in np.meshgrid(_SIZES, np.radians(symbol.turn) + _TURNS))
    right = np.hstack([np.cos(turn), np.sin(turn)]) * (_SIDE * symbol.module * size)
    down = np.stack([-right[:, 1], right[:, 0]], axis=1)
    return [
        Grid(shape) for shape in _through(np.array([symbol.x, symbol.y]) - (right + down) / 2, right, down)
    ]


def _through(corner: Floats, right: Floats, down: Floats) -> Floats:
    """Return the shapes, (..., 6, 2), of flat grids with finder patterns at `corner`, `corner + right`
    and `corner + down`, (..., 2) each."""
    shape = np.zeros((*corner.shape[:-1], TERMS, 2))
    shape[..., 0, :] = corner + (right + down) / 2
    shape[..., 1, :], shape[..., 2, :] = right * (MODULES / 2 / _SIDE), down * (MODULES / 2 / _SIDE)
    return shape
