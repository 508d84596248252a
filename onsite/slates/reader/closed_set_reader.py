"""Slates that no decoder reads: the grid of each symbol fitted, its modules sampled, and what was seen
compared with every slate of the shoot."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from onsite.slates.qr_symbol import MODULES
from onsite.slates.reader.closed_set import ClosedSetMatch, KnownSlates
from onsite.slates.reader.finder_patterns import FinderPattern
from onsite.slates.reader.grid_candidates import at_a_glance, by_one, copies_from, guesses
from onsite.slates.reader.illumination import Levelled, levelled
from onsite.slates.reader.module_grid import (
    CORNERS,
    PLANE,
    POWERS,
    Grid,
    about_finder,
    agreement,
    closely,
    glare_over,
    grid_through,
    roughly,
    values,
)
from onsite.slates.reader.seen_symbol import ReadBy
from onsite.slates.slate_layout import COPIES

MODULE = 6.0
"""Pixels to a module in the pictures that grids are fitted in."""

_MOST_SUSPECTED = 3
_MOST_GUESSES = 300
_MOST_LOOKED = 8
_MOST_FITTED = 4
_MOST_ALONE = 2
"""Of symbols that the decoder saw; of guesses; of those that are followed, and fitted closely; of finder
patterns that are taken to be the only one in sight."""

_SHARE = 0.5
"""Of the best guess's agreement at a glance, that another has to have to be followed."""

_TURNS = np.radians([0.0, 22.5, 45.0, 67.5])
"""Of a finder pattern, from which its true one is found; a quarter turn looks the same."""

_ROUGH = 0.2
"""Agreement of the known modules on a rough grid from which it is followed up: chance gives about 0.1."""

_FAIR = 0.5
"""Agreement on a rough grid from which finder patterns are not looked at one by one."""

_ALIKE = 0.3
"""Agreement from which a symbol is one of the copies on a card."""

_SURE = 0.75
"""Agreement from which nothing else is looked for in the same place: turned wrongly, a symbol still agrees in
three of its corners."""

PLAIN = 0.36
"""Agreement, outside the finder patterns, from which a slate of this project is seen, whatever it says. Cloth
and walls come to 0.3, wallpaper of nested squares among them; a slate with a quarter hidden to 0.42."""

PLAIN_TO_BOTH = 0.56
"""Agreement of all known modules from which one is seen where the decoder saw a symbol too."""

_FINDER = 8  # modules on a side of a finder pattern with its separator

_MARGIN = 8  # modules of the picture around a symbol that is looked at with it
_ENLARGED = 4.0  # at most: beyond it nothing more is to be seen


@dataclass(frozen=True, eq=False)
class FittedGrid:
    """A symbol's grid in the picture, what is seen of its modules, and how well the known ones agree."""

    grid: Grid
    seen: NDArray[np.float64]
    agreement: float


@dataclass(frozen=True, eq=False)
class ClosedSetReading:
    """A symbol of the project's own: where, and what it was found to say, if anything."""

    grid: Grid
    match: ClosedSetMatch | None = None
    by: ReadBy | None = None


def read_closed_set(
    picture: Image.Image,
    finders: Sequence[FinderPattern],
    suspected: Sequence[NDArray[np.float64]],
    known: KnownSlates,
) -> list[ClosedSetReading]:
    """The slates in a grey picture: those whose code can be told, then all symbols plainly seen, also
    those that were told.

    They are looked for from the finder patterns in it, and where the decoder saw a symbol that it could not
    read: `suspected` are the corners, (4, 2), of such.
    """
    placed = _placed(picture, finders, suspected, known)
    grids = [[each] for each in placed] + list(_cards(placed))
    if not grids:
        return []
    seen = np.stack([sum(each.seen for each in grid) for grid in grids])
    readings: dict[str, ClosedSetReading] = {}
    for match in sorted(known.matches(seen.astype(np.float32)), key=lambda match: -match.score):
        if match.accepted and match.code not in readings:
            symbols = grids[match.grid]
            best = max(symbols, key=lambda each: each.agreement)
            by = ReadBy.KNOWN if len(symbols) == 1 else ReadBy.COPIES
            readings[str(match.code)] = ClosedSetReading(best.grid, match, by)
    return [
        *readings.values(),
        *(ClosedSetReading(each.grid) for each in placed if _is_plain(each, suspected, known)),
    ]


def _is_plain(symbol: FittedGrid, suspected: Sequence[NDArray[np.float64]], known: KnownSlates) -> bool:
    """Whether a symbol agrees so well, also between its finder patterns, that a slate is seen; or as a whole,
    where the decoder saw one too and no more than a card has: what lies between may be hidden."""
    between = known.template.copy()
    for rows, columns in ((0, 0), (0, MODULES - _FINDER), (MODULES - _FINDER, 0)):
        between[rows : rows + _FINDER, columns : columns + _FINDER] = 0
    middle = symbol.grid.corners.mean(axis=0)
    few = len(suspected) <= COPIES  # more of them are a pattern that repeats
    both = few and any(
        np.all((each.min(axis=0) < middle) & (middle < each.max(axis=0))) for each in suspected
    )
    return agreement(symbol.seen, between) >= PLAIN or (both and symbol.agreement >= PLAIN_TO_BOTH)


def _placed(
    picture: Image.Image,
    finders: Sequence[FinderPattern],
    suspected: Sequence[NDArray[np.float64]],
    known: KnownSlates,
) -> list[FittedGrid]:
    """Every symbol that may be in the picture, the clearest first, and the other copies on its card.

    Nothing here looks at a code: only at what all slates of the shoot have in common.
    """
    windows: list[_Window] = []
    placed: list[FittedGrid] = []
    starts = [grid_through(CORNERS, corners) for corners in suspected[:_MOST_SUSPECTED]]
    starts += [guess.grid for guess in guesses(finders, _MOST_GUESSES)]
    rough = _roughly_placed(placed, picture, _likeliest(picture, starts, known), known, windows)
    if not placed and max((agrees for agrees, _ in rough), default=0.0) < _FAIR:
        starts = [grid for each in finders[:_MOST_ALONE] for grid in _about(picture, each, windows)]
        rough += _roughly_placed(placed, picture, _likeliest(picture, starts, known), known, windows)
    for _, grid in sorted(rough, key=lambda each: -each[0])[:_MOST_FITTED]:
        if not _taken(grid, placed):
            _add(placed, picture, grid, known, windows)
    likely = [each for each in placed if each.agreement >= _ALIKE]
    starts = [start for each in likely for start in copies_from(each.grid)]
    for _, grid in _roughly_placed(placed, picture, starts, known, windows):
        _add(placed, picture, grid, known, windows)
    return sorted(placed, key=lambda each: -each.agreement)


def _likeliest(picture: Image.Image, starts: Sequence[Grid], known: KnownSlates) -> list[Grid]:
    """Those of the grids that agree best at a glance, each place once."""
    seen = at_a_glance(picture, starts, known.template)
    least = _SHARE * max(seen, default=0.0)
    chosen: list[Grid] = []
    for number in sorted(range(len(starts)), key=lambda number: -seen[number]):
        if len(chosen) == _MOST_LOOKED or seen[number] < least:
            break
        if not any(_same(starts[number], each, 3.0) for each in chosen):
            chosen.append(starts[number])
    return chosen


def _roughly_placed(
    placed: list[FittedGrid],
    picture: Image.Image,
    starts: Sequence[Grid],
    known: KnownSlates,
    windows: list[_Window],
) -> list[tuple[float, Grid]]:
    """Adds what is surely a symbol to those `placed`; other grids that may be one, with their agreement."""
    rough = []
    for start in starts:
        window = None if _taken(start, placed) else _window(picture, start, windows)
        if window is not None:
            grid, agrees = window.roughly(start, known)
            if agrees >= _SURE:
                _add(placed, picture, grid, known, windows)
            elif agrees >= _ROUGH:
                rough.append((agrees, grid))
    return rough


def _about(picture: Image.Image, finder: FinderPattern, windows: list[_Window]) -> list[Grid]:
    """Where a symbol may lie about one finder pattern, by how that is turned and tilted itself."""
    fitted = []
    for angle in _TURNS:
        right = np.array([np.cos(angle), np.sin(angle)]) * finder.module * MODULES / 2
        start = np.zeros((POWERS, 2))
        start[:PLANE] = (finder.x, finder.y), right, (-right[1], right[0])
        if (window := _window(picture, Grid(start), windows)) is not None:
            fitted.append(window.about_finder(Grid(start)))
    if not fitted:
        return []
    return [guess.grid for guess in by_one(max(fitted, key=lambda each: each[1])[0])]


def _taken(grid: Grid, placed: Sequence[FittedGrid]) -> bool:
    """Whether a symbol is plainly seen where this grid has its middle."""
    middle = grid.corners.mean(axis=0)
    return any(
        each.agreement >= _SURE
        and np.abs(each.grid.corners.mean(axis=0) - middle).max() < 0.5 * MODULES * each.grid.module
        for each in placed
    )


def _add(
    placed: list[FittedGrid], picture: Image.Image, grid: Grid, known: KnownSlates, windows: list[_Window]
) -> None:
    window = _window(picture, grid, windows)
    if window is not None:
        fitted = window.closely(grid, known)
        if not any(_same(fitted.grid, each.grid) for each in placed):
            placed.append(fitted)


def _cards(placed: Sequence[FittedGrid]) -> Iterator[list[FittedGrid]]:
    """Symbols that lie as the copies on one card do, together."""
    for number, index in enumerate(placed):
        together = [index]
        for start in copies_from(index.grid):
            near = [each for each in placed[number + 1 :] if _same(start, each.grid, 4.0)]
            together += [each for each in near if each.agreement >= _ALIKE][:1]
        if len(together) > 1:
            yield together


def _same(first: Grid, other: Grid, modules: float = 2.0) -> bool:
    """Whether two grids lie on the same symbol the same way up."""
    apart = np.abs(first.corners - other.corners).max()
    return bool(apart < modules * max(first.module, other.module))


@dataclass(frozen=True, eq=False)
class _Window:
    """Part of the picture, from `origin` on, with `scale` times as many pixels: modules are of one size."""

    origin: NDArray[np.float64]
    end: NDArray[np.float64]
    scale: NDArray[np.float64]
    grey: NDArray[np.uint8]
    lights: dict[int | None, Levelled]

    def holds(self, grid: Grid) -> bool:
        corners = grid.corners
        inside = np.all(corners.min(axis=0) >= self.origin) and np.all(corners.max(axis=0) <= self.end)
        return bool(inside) and 0.75 < grid.module * self.scale[0] / MODULE < 1.35

    def roughly(self, start: Grid, known: KnownSlates) -> tuple[Grid, float]:
        """The grid near `start`, and how well the known modules agree on it."""
        local = start.moved(self.origin, self.scale)
        light = self._light(local, known)
        both = (local, roughly(light, local, known.template))  # the steps can lead away where much is hidden
        agrees = [agreement(values(light, grid), known.template) for grid in both]
        best = agrees.index(max(agrees))
        return self._back(both[best]), agrees[best]

    def about_finder(self, start: Grid) -> tuple[Grid, float]:
        """The grid near `start` with a finder pattern in its middle, and how well that agrees."""
        local = start.moved(self.origin, self.scale)
        if None not in self.lights:
            self.lights[None] = levelled(self.grey, local.module)
        grid, agrees = about_finder(self.lights[None], local)
        return self._back(grid), agrees

    def closely(self, start: Grid, known: KnownSlates) -> FittedGrid:
        """The grid near `start`, bent as the card is, with what is seen on it."""
        local = start.moved(self.origin, self.scale)
        grid = closely(self._light(local, known), local, known.template)
        seen = values(self._light(grid, known), grid)
        return FittedGrid(self._back(grid), seen, agreement(seen, known.template))

    def _light(self, grid: Grid, known: KnownSlates) -> Levelled:
        """The window levelled, without the glare that lies on this grid."""
        paper = glare_over(self.grey, grid, known.template)
        step = None if paper is None else round(paper / 8) * 8
        if step not in self.lights:
            self.lights[step] = levelled(self.grey, grid.module, step)
        return self.lights[step]

    def _back(self, grid: Grid) -> Grid:
        return grid.moved(-self.origin * self.scale, 1 / self.scale)


def _window(picture: Image.Image, grid: Grid, windows: list[_Window]) -> _Window | None:
    """The part of the picture that shows a grid: one of `windows`, else one more; None beyond its edges."""
    for window in windows:
        if window.holds(grid):
            return window
    corners, around = grid.corners, _MARGIN * grid.module
    low = np.maximum(np.floor(corners.min(axis=0) - around), 0)
    high = np.minimum(np.ceil(corners.max(axis=0) + around), picture.size)
    if (high - low).min() < 2 * around:
        return None
    factor = min(MODULE / max(grid.module, 0.1), _ENLARGED)
    size = np.maximum((high - low) * factor, 8).astype(int)
    method = Image.Resampling.BOX if factor < 1 else Image.Resampling.BICUBIC
    part = picture.resize(tuple(size), method, box=(*low, *high))
    windows.append(_Window(low, high, size / (high - low), np.asarray(part), {}))
    return windows[-1]
