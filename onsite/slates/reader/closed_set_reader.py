"""Closed-set reading of slates that the general decoder does not read.

A grid is fitted to each symbol, its modules are sampled, and the values are compared with every code of the
shoot.

Grids come from finder patterns (`grid_candidates`), are ranked by sampling, fitted flat, then fitted with
bends (`module_grid`), always against the modules that all slates of the shoot share. Nothing before the
comparison (`closed_set`) looks at a code, so trying many grids does not raise the probability of a wrong
code.
"""

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
"""Pixels to a module in the windows that grids are fitted in."""

_MOST_SUSPECTED = 3
_MOST_GUESSES = 300
_MOST_LOOKED = 8
_MOST_FITTED = 4
_MOST_ALONE = 2
"""Limits, in this order: unread symbols of the decoder used; grid candidates; candidates fitted roughly;
fitted closely; finder patterns tried as the only visible one."""

_SHARE = 0.5
"""Least agreement of a candidate before fitting, as a share of the best candidate's."""

_TURNS = np.radians([0.0, 22.5, 45.0, 67.5])
"""Initial rotations of a single finder pattern; a quarter turn looks the same."""

_ROUGH = 0.2
"""Least agreement of a rough grid with the shared modules for a close fit: chance gives about 0.1."""

_FAIR = 0.5
"""Agreement of a rough grid from which single finder patterns are not tried."""

_ALIKE = 0.3
"""Least agreement of a symbol to count as one of the copies on a slate."""

_SURE = 0.75
"""Agreement from which no other grid is tried in the same place: a symbol rotated wrongly still agrees in
three of its corners."""

PLAIN = 0.36
"""Least agreement outside the finder patterns for an unread slate. Cloth and walls reach 0.3, wallpaper of
nested squares among them; a slate with a quarter hidden reaches 0.42."""

PLAIN_TO_BOTH = 0.56
"""Least agreement of all shared modules for an unread slate where the decoder found a symbol too."""

_FINDER = 8  # modules on a side of a finder pattern with its separator

_MARGIN = 8  # modules around a symbol that its window includes
_ENLARGED = 4.0  # largest enlargement: beyond it there is no more detail


@dataclass(frozen=True, eq=False)
class FittedGrid:
    """A fitted grid, the values `seen` of its modules, (21, 21), and the agreement of the shared modules."""

    grid: Grid
    seen: NDArray[np.float64]
    agreement: float


@dataclass(frozen=True, eq=False)
class ClosedSetReading:
    """A slate symbol found by its grid, and the code it matched, if any."""

    grid: Grid
    match: ClosedSetMatch | None = None
    by: ReadBy | None = None


def read_closed_set(
    picture: Image.Image,
    finders: Sequence[FinderPattern],
    suspected: Sequence[NDArray[np.float64]],
    known: KnownSlates,
) -> list[ClosedSetReading]:
    """Read the slates in a grey picture: first those with an accepted code, then every symbol clearly seen.

    The second part repeats symbols of the first. The search starts from finder patterns and from symbols that
    the decoder found and could not read: `suspected` holds their corners, (4, 2) each.
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
    """Whether a symbol is clearly a slate, whatever its code.

    It agrees well outside its finder patterns; or as a whole, where the decoder found a symbol there too and
    no more symbols than a slate has: the part between the finder patterns may be hidden.
    """
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
    """Return the fitted grids of all possible symbols and of their copies on the same slate, clearest first.

    Nothing here looks at a code, only at the modules that all slates of the shoot share.
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
    """Return the candidates that agree best before fitting, one for each place."""
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
    """Fit candidates roughly: add certain symbols to `placed`; return (agreement, grid) of the plausible."""
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
    """Return candidates from a single finder pattern, by its own rotation and tilt."""
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
    """Whether a symbol was already placed with certainty at the centre of this grid."""
    middle = grid.corners.mean(axis=0)
    return any(
        each.agreement >= _SURE
        and np.abs(each.grid.corners.mean(axis=0) - middle).max() < 0.5 * MODULES * each.grid.module
        for each in placed
    )


def _add(
    placed: list[FittedGrid], picture: Image.Image, grid: Grid, known: KnownSlates, windows: list[_Window]
) -> None:
    """Fit a grid closely and add it to `placed`, unless that symbol is there already."""
    window = _window(picture, grid, windows)
    if window is not None:
        fitted = window.closely(grid, known)
        if not any(_same(fitted.grid, each.grid) for each in placed):
            placed.append(fitted)


def _cards(placed: Sequence[FittedGrid]) -> Iterator[list[FittedGrid]]:
    """Yield groups of symbols that lie as the copies on one slate do."""
    for number, index in enumerate(placed):
        together = [index]
        for start in copies_from(index.grid):
            near = [each for each in placed[number + 1 :] if _same(start, each.grid, 4.0)]
            together += [each for each in near if each.agreement >= _ALIKE][:1]
        if len(together) > 1:
            yield together


def _same(first: Grid, other: Grid, modules: float = 2.0) -> bool:
    """Whether two grids lie on the same symbol with the same rotation."""
    apart = np.abs(first.corners - other.corners).max()
    return bool(apart < modules * max(first.module, other.module))


@dataclass(frozen=True, eq=False)
class _Window:
    """A crop of the picture from `origin` to `end`, scaled so that modules are about `MODULE` pixels."""

    origin: NDArray[np.float64]
    end: NDArray[np.float64]
    scale: NDArray[np.float64]
    grey: NDArray[np.uint8]
    lights: dict[int | None, Levelled]

    def holds(self, grid: Grid) -> bool:
        """Whether a grid lies inside the window and has about the right module size."""
        corners = grid.corners
        inside = np.all(corners.min(axis=0) >= self.origin) and np.all(corners.max(axis=0) <= self.end)
        return bool(inside) and 0.75 < grid.module * self.scale[0] / MODULE < 1.35

    def roughly(self, start: Grid, known: KnownSlates) -> tuple[Grid, float]:
        """Fit the grid near `start` without bends; return it with its agreement."""
        local = start.moved(self.origin, self.scale)
        light = self._light(local, known)
        both = (local, roughly(light, local, known.template))  # the fit can diverge where much is hidden
        agrees = [agreement(values(light, grid), known.template) for grid in both]
        best = agrees.index(max(agrees))
        return self._back(both[best]), agrees[best]

    def about_finder(self, start: Grid) -> tuple[Grid, float]:
        """Fit a flat grid centred on a finder pattern near `start`; return it with its agreement."""
        local = start.moved(self.origin, self.scale)
        if None not in self.lights:
            self.lights[None] = levelled(self.grey, local.module)
        grid, agrees = about_finder(self.lights[None], local)
        return self._back(grid), agrees

    def closely(self, start: Grid, known: KnownSlates) -> FittedGrid:
        """Fit the grid near `start` with bends, and sample its modules."""
        local = start.moved(self.origin, self.scale)
        grid = closely(self._light(local, known), local, known.template)
        seen = values(self._light(grid, known), grid)
        return FittedGrid(self._back(grid), seen, agreement(seen, known.template))

    def _light(self, grid: Grid, known: KnownSlates) -> Levelled:
        """Return the window corrected for illumination, glare on this grid masked."""
        paper = glare_over(self.grey, grid, known.template)
        step = None if paper is None else round(paper / 8) * 8
        if step not in self.lights:
            self.lights[step] = levelled(self.grey, grid.module, step)
        return self.lights[step]

    def _back(self, grid: Grid) -> Grid:
        """Return a grid of the window in the coordinates of the picture."""
        return grid.moved(-self.origin * self.scale, 1 / self.scale)


def _window(picture: Image.Image, grid: Grid, windows: list[_Window]) -> _Window | None:
    """Return the window for a grid: from `windows`, else a new one added there; None beyond the edges."""
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
