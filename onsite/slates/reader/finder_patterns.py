"""Finder patterns and whole symbols by correlation with drawn ones.

At each of several scales the picture is reduced until a module is about a pixel. Few pixels are then darker
than the pixels at distance two on all four sides; around those, the picture is correlated with drawn finder
patterns. Correlation uses all 81 modules of a pattern and its rim, so noise averages out, texture fails, and
a pattern out of focus is still seen.

Farther out of focus, or among texture, the symbol is still seen as a whole: a dark square
in a light margin. It is three times as wide as a finder pattern and found in the same way.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache, reduce
from itertools import product

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFilter

from onsite.slates.reader.module_grid import first_apart

_LEAST = 2  # grey values that a centre is darker at least, however dark the picture
_ALIKE = 0.5  # least correlation: cloth, walls and lettering hardly ever reach it
_REACH = 5  # pixels to each side of a centre that are correlated
_SIZES = (0.85, 1.0, 1.18)  # pixels to a unit of the templates: close enough for sizes between
_RIM = 4.5  # units from the centre that are correlated
_STRIP = 128  # rows at a time, so that they stay in the processor's cache
_MOST = 3000  # most centres correlated: a picture with more is all texture or noise
_FINE = 8  # to each pixel of a template that many are drawn

Pixels = NDArray[np.uint8]
Floats = NDArray[np.float32]


@dataclass(frozen=True)
class _Kind:
    """What is looked for."""

    rings: tuple[float, ...]
    """Outer radius of each square ring from the dark core out, in units: light and dark in turn."""
    unit: float
    """Modules to a unit."""
    views: tuple[tuple[float, float, float], ...]
    """Of the templates: rotation in degrees; height over width; standard deviation of a blur in units."""
    scales: tuple[int, ...]
    """Reductions of the picture. With the sizes of the templates, all sizes between are found."""
    centre: int
    """Pixels to each side over which the centre is averaged."""
    around: tuple[int, ...]
    """Distances of the pixels of which one, on each of four sides, is lighter than the centre."""
    contrast: int
    """By a half to this power."""
    kept: int
    """Most that are kept of one scale."""


_TURNS = (0, 15, 30, 45, 60, 75)

_FINDER = _Kind(
    # ISO/IEC 18004, 5.3.3: core, light ring, dark ring; the rim is separator or quiet zone.
    rings=(1.5, 2.5, 3.5),
    unit=1.0,
    # The flat ones are seen at 53 degrees.
    views=(
        *product(_TURNS, (1.0,), (0.0, 0.8)),
        *product(range(0, 180, 15), (0.6,), (0.0,)),
    ),
    scales=(1, 2, 3, 4, 6, 8, 12),  # modules from 0.8 to 15 pixels
    centre=0,
    around=(2,),
    contrast=3,
    kept=12,
)
_WHOLE = _Kind(
    rings=(3.5,),
    unit=3.0,  # 21 modules are as many units as the 7 of a finder pattern
    views=tuple(product(_TURNS, (1.0,), (0.3,))),
    scales=(4, 6, 8, 12, 16, 24),  # modules from 1.1 to 9 pixels
    centre=2,
    around=(3, 4, 5),
    contrast=4,  # as half of it is light
    kept=4,
)


@dataclass(frozen=True, slots=True)
class FinderPattern:
    """A finder pattern, or a whole symbol: its centre, module size and likeness to a drawn one."""

    x: float
    y: float
    module: float
    """In pixels, as x and y are."""
    likeness: float
    """Correlation, at most 1."""
    turn: float
    """In degrees clockwise, known up to a quarter turn."""


def find_finder_patterns(grey: Image.Image) -> list[list[FinderPattern]]:
    """Return the finder patterns in a grey picture: a list for every two neighbouring scales, best first.

    The lists overlap: a pattern far out of focus may show at several scales, and only at the right one do the
    three of a symbol lie at the distances that their size asks for.
    """
    found = [_alike(_FINDER, *reduced) for reduced in _reduced(grey, _FINDER)]
    return [
        _apart([*some, *more], 2, 2 * _FINDER.kept)
        for some, more in zip(found, [*found[1:], []], strict=False)
    ]


def find_whole_symbols(grey: Image.Image) -> list[FinderPattern]:
    """Return what looks like a whole symbol out of focus, square on: a dark square in a light margin.

    They are the best of each scale.
    """
    return [symbol for reduced in _reduced(grey, _WHOLE) for symbol in _alike(_WHOLE, *reduced)]


def _reduced(grey: Image.Image, kind: _Kind) -> Iterator[tuple[int, Pixels]]:
    """Yield the picture reduced by each scale, as far as patches fit in."""
    pictures = {1: grey}
    for scale in kind.scales:
        half = pictures.get(scale // 2) if scale % 2 == 0 else None
        if scale > 1:
            pictures[scale] = half.reduce(2) if half else grey.reduce(scale)
        if min(pictures[scale].size) > 2 * _REACH:
            yield scale, np.asarray(pictures[scale])


def _apart(several: Iterable[FinderPattern], modules: float, most: int) -> list[FinderPattern]:
    """Keep each pattern once, as it correlates best, so many modules apart: the best of them."""

    def same(one: FinderPattern, other: FinderPattern) -> bool:
        return abs(one.x - other.x) + abs(one.y - other.y) < modules * max(one.module, other.module)

    return first_apart(sorted(several, key=lambda finder: -finder.likeness), same, most)


def _alike(kind: _Kind, scale: int, grey: Pixels) -> list[FinderPattern]:
    """Return the patterns in a picture reduced by `scale`, best first."""
    rows, columns = _enclosed(kind, grey)
    around = np.arange(-_REACH, _REACH + 1)
    seen = grey[rows[:, None, None] + around[:, None], columns[:, None, None] + around]
    seen = seen.reshape(len(rows), len(around) ** 2).astype(np.float32)
    drawn, cover, units, turns = _drawn(kind)
    size = cover.sum(axis=1)
    spread = (seen * seen) @ cover.T - (seen @ cover.T) ** 2 / size
    likeness = seen @ drawn.T / np.sqrt(np.maximum(spread, size))
    views, best = likeness.argmax(axis=1), likeness.max(axis=1)
    found = [
        FinderPattern(
            scale * (columns[at] + 0.5),
            scale * (rows[at] + 0.5),
            scale * units[views[at]] / kind.unit,
            float(best[at]),
            turns[views[at]],
        )
        for at in np.flatnonzero(best >= _ALIKE).tolist()
    ]
    return _apart(found, 3 * kind.unit, kind.kept)


def _enclosed(kind: _Kind, grey: Pixels) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return row and column of places darker than something around them on each of four sides."""
    height, width = (length - 2 * _REACH for length in grey.shape)
    tops = range(0, height, _STRIP)
    strips = [_darker(kind, grey[top : top + _STRIP + 2 * _REACH]) for top in tops]
    at = np.concatenate([top * width + np.flatnonzero(each) for top, each in zip(tops, strips, strict=True)])
    at = at[:: len(at) // _MOST + 1]
    return at // width + _REACH, at % width + _REACH


def _darker(kind: _Kind, grey: Pixels) -> NDArray[np.bool_]:
    """Return the mask of such places, without a rim of _REACH; in bytes for speed."""
    height, width = (length - 2 * _REACH for length in grey.shape)

    def lightest(down: int, along: int) -> Pixels:
        """Return the lightest pixel in one direction from each place."""
        sides = [grey[_REACH + far * down :, _REACH + far * along :][:height, :width] for far in kind.around]
        return reduce(np.maximum, sides)

    ring = reduce(np.minimum, [lightest(*way) for way in ((0, 1), (0, -1), (1, 0), (-1, 0))])
    ring = np.maximum(ring, np.full_like(ring[:1], _LEAST)) - np.uint8(
        _LEAST
    )  # numpy is slow with one number
    ring -= ring >> np.uint8(kind.contrast)
    if kind.centre:
        grey = np.asarray(Image.fromarray(grey).filter(ImageFilter.BoxBlur(kind.centre)))
    return np.asarray(grey[_REACH:-_REACH, _REACH:-_REACH] < ring)


@lru_cache(maxsize=2)
def _drawn(kind: _Kind) -> tuple[Floats, Floats, tuple[float, ...], tuple[float, ...]]:
    """Return the templates in every view and size, with mean 0 and norm 1, and their cover, (k, 121) both;
    and pixels to a unit and turn. The cover is the share of each pixel that the pattern covers."""
    side = 2 * _REACH + 1
    place = (np.arange(side * _FINE) + 0.5) / _FINE - side / 2
    x, y = np.meshgrid(place, place)
    drawn, covers = [], []
    views = [(size, *view) for view in kind.views for size in _SIZES]
    for size, angle, height, blur in views:
        turn = np.radians(angle)
        along, across = x * np.cos(turn) + y * np.sin(turn), y * np.cos(turn) - x * np.sin(turn)
        off = np.maximum(np.abs(along), np.abs(across) / height) / size
        sharp = Image.fromarray((np.searchsorted(kind.rings, off) % 2 * 255).astype(np.uint8))
        light = np.asarray(sharp.filter(ImageFilter.GaussianBlur(blur * size * _FINE)), np.float64)
        cover, light = (
            values.reshape(side, _FINE, side, _FINE).mean(axis=(1, 3)).ravel()
            for values in ((off < _RIM).astype(np.float64), light)
        )
        light = cover * (light - cover @ light / cover.sum())
        drawn.append(light / np.sqrt((light**2 / np.maximum(cover, 1e-9)).sum()))
        covers.append(cover)
    units = tuple(size * height**0.5 for size, _, height, _ in views)
    turns = tuple(angle for _, angle, _, _ in views)
    return np.stack(drawn).astype(np.float32), np.stack(covers).astype(np.float32), units, turns
