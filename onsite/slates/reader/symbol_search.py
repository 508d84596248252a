"""Where symbols are likeliest in a reduced picture, at a module a sample.

There are hundreds of candidate grids, and fitting one closely takes tens of milliseconds. So each is first
sampled once a module. What the modules that all slates of the shoot share explain of those samples, as they
are and blurred, tells a symbol from everything else, however it is held and however far it is out of focus.
The best candidates are then moved to where that share is greatest. Nothing here looks at a code.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache
from itertools import combinations, permutations

import numpy as np
from PIL import Image

from onsite.slates.qr_symbol import MODULES
from onsite.slates.reader.finder_patterns import FinderPattern, find_finder_patterns
from onsite.slates.reader.module_grid import (
    BENT,
    CORNERS,
    PLANE,
    TILTED,
    Floats,
    Grid,
    Singles,
    Template,
    darkness,
    grid_through,
    powers,
)
from onsite.slates.slate_layout import COPY_STEP

_LEAST = 0.33  # share of the samples that a candidate has to explain: portraits hardly ever reach it
_FAIR = 0.45  # share from which nothing else is tried
_POSSIBLE = 0.15  # share from which something else is tried
_STRONG = 0.7  # correlation of a finder pattern from which something else is tried, too
_MOST_CLIMBED, _MOST_KEPT, _MOST_ALONE = 8, 3, 6
"""Most candidates that are moved, that are returned, and finder patterns tried as the only visible one."""
_APART = 3.0  # modules between the corners of candidates that are different

_MODULE = 2.0  # least pixels to a module in the picture that is sampled, where it has as many
_AROUND = 4  # modules to each side of the local mean
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

_TURNS = np.radians(np.arange(0, 360, 7.5))
_SIZES = np.array([0.88, 1.0, 1.14])
"""Turns and sizes that a single finder pattern is tried at: less than two modules apart at the far corner."""

_ALONG = np.arange(-_RIM, MODULES + _RIM) + 0.5
_TERMS = powers(np.stack(np.meshgrid(_ALONG, _ALONG), axis=-1).reshape(-1, 2))[:, : PLANE + 1].astype(
    np.float32
)

_CHANGES = np.vstack([np.eye(PLANE + 1), 2 * np.linalg.inv(powers(CORNERS)[:, : PLANE + 1]).T])
_MOVES = np.zeros((4 * len(_CHANGES), BENT, 2))
for _number, (_way, _axis) in enumerate(np.ndindex(2, 2)):
    _MOVES[_number::4, : PLANE + 1, _axis] = (1 - 2 * _way) * _CHANGES
"""Moves of a grid, (32, 10, 2): each of its flat terms by a module, and each of its corners by two."""
_FIRST, _LAST = 1.0, 0.25  # modules: steps of a climb
_ROUNDS = 12  # most steps


def likeliest(
    picture: Image.Image,
    grids: Sequence[Grid],
    finders: Sequence[Sequence[FinderPattern]],
    template: Template,
) -> list[Grid]:
    """Return the likeliest grids of symbols in a grey picture, best first; none in nearly every portrait.

    They are among `grids`; where none of these is fair, through finder patterns that motion may have smeared,
    or around a single one. `finders` are those found without that.
    """
    search = SymbolSearch(picture, template)
    found = search.best(grids)
    possible = _best(found) > _POSSIBLE or any(each.likeness > _STRONG for some in finders for each in some)
    if possible and _best(found) < _FAIR:
        finders = find_finder_patterns(picture, smeared=True)
        found += search.best(through_several(finders))
    if possible and _best(found) < _FAIR:
        alone = sorted({each for some in finders for each in some}, key=lambda each: -each.likeness)
        found += search.best([grid for each in alone[:_MOST_ALONE] for grid in around_one(each)])
    found = sorted((each for each in found if each[0] >= _LEAST), key=lambda each: -each[0])
    return _apart([grid for _, grid in found], _MOST_KEPT)


def _best(found: Sequence[tuple[float, Grid]]) -> float:
    return max((share for share, _ in found), default=0.0)


def _apart(grids: Sequence[Grid], most: int) -> list[Grid]:
    """Return the first of the grids that lie apart."""
    kept: list[Grid] = []
    for grid in grids:
        if len(kept) == most:
            break
        if not any(grid.near(each, _APART) for each in kept):
            kept.append(grid)
    return kept


class SymbolSearch:
    """A picture in which grids are sampled."""

    def __init__(self, picture: Image.Image, template: Template) -> None:
        self._picture = picture
        self._basis, self._plain = _basis(template.tobytes())
        self._levels: dict[int, Singles] = {}

    def best(self, grids: Sequence[Grid]) -> list[tuple[float, Grid]]:
        """Return the best of the grids that lie apart, each moved, and the share explained there."""
        if not grids:
            return []
        shares = self.shares(np.stack([grid.shape for grid in grids]))
        order = [grids[k] for k in np.argsort(-shares, kind="stable") if shares[k] > 0]
        return [self.climbed(grid) for grid in _apart(order, _MOST_CLIMBED)]

    def climbed(self, grid: Grid) -> tuple[float, Grid]:
        """Move a grid step by step to where shared modules explain most: that share, and the grid there."""
        best, share, step = grid, 0.0, _FIRST
        for _ in range(_ROUNDS):
            tried = np.concatenate([best.shape[None], best.shape + _MOVES * (step * best.module)])
            shares = self.shares(tried)
            first = int(shares.argmax())
            best, share = Grid(tried[first]), float(shares[first])
            step = step if first else step / 2
            if step < _LAST:
                break
        return share, best

    def shares(self, shapes: Floats) -> Floats:
        """Return the share that shared modules explain of the samples of each grid, (n, 10, 2): (n,)."""
        shares = np.zeros(len(shapes))
        modules = np.sqrt(np.abs(np.linalg.det(shapes[:, 1:3]))) * 2 / MODULES
        scales = np.maximum(modules / _MODULE, 1).astype(int)
        for scale in np.unique(scales).tolist():
            dark = self._sampled(scale, shapes[scales == scale, : PLANE + 1])
            parts = dark @ self._basis
            variance = (dark * dark).sum(axis=1) - parts[:, 0] ** 2 + _FLAT * len(self._plain)
            explained = (parts[:, 1:] ** 2).sum(axis=1) / variance
            shares[scales == scale] = np.where(dark @ self._plain > 0, explained, 0.0)
        return shares

    def _sampled(self, scale: int, shapes: Floats) -> Singles:
        """Return the darkness in the middle of each module of each grid: (n, 625), 0 beyond the edges."""
        if scale not in self._levels:
            grey = self._picture.reduce(scale) if scale > 1 else self._picture
            self._levels[scale] = np.pad(darkness(np.asarray(grey), _AROUND * _MODULE, _CLEAR), 1)
        dark = self._levels[scale]
        shapes = (shapes / scale).astype(np.float32)
        shapes[:, 0] += 1  # the rim of zeros
        columns, rows = (_TERMS @ shapes[..., axis].T for axis in (0, 1))
        height, width = dark.shape
        at = np.clip(rows, 0, height - 1).astype(np.int32) * width
        at += np.clip(columns, 0, width - 1).astype(np.int32)
        return np.asarray(dark.ravel()[at].T)


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
