"""Finder patterns and whole symbols by correlation with drawn ones.

At each of several scales the picture is reduced until a module is about a pixel. Few pixels are then darker
than the pixels at distance two on all four sides; around those, the picture is correlated with drawn finder
patterns, sharp ones and blurred ones. Correlation uses all 81 modules of a pattern and its rim, so noise
averages out, texture fails, and a pattern out of focus is still seen.

Farther out of focus, or among texture, the symbol is still seen as a whole: a dark square
in a light margin. It is three times as wide as a finder pattern and found in the same way.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache, reduce

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFilter

_LEAST = 2  # grey values that a centre is darker at least, however dark the picture
_ALIKE = 0.5  # least correlation: cloth, walls and lettering hardly ever reach it
_REACH = 5  # pixels to each side of a centre that are correlated
_SIZES = (0.85, 1.0, 1.18)  # pixels to a unit of the templates: close enough for sizes between
_RIM = 4.5  # units from the centre that are correlated
_STRIP = 128  # rows at a time, so that they stay in the processor's cache
_MOST = 1500  # most centres correlated: a picture with more is all texture or noise

Pixels = NDArray[np.uint8]
Floats = NDArray[np.float32]
Places = tuple[NDArray[np.intp], NDArray[np.intp]]


@dataclass(frozen=True)
class _Kind:
    """What is looked for."""

    rings: tuple[tuple[float, float], ...]
    """Outer radius of each square ring from core to rim, in units, and its value: 1 light, -1 dark."""
    unit: float
    """Modules to a unit."""
    views: tuple[tuple[float, float, float], ...]
    """Of the templates: rotation in degrees; height over width; standard deviation of a blur in units."""
    scales: tuple[int, ...]
    """Reductions of the picture. With the sizes of the templates, all sizes between are found."""
    contrast: int
    """The centre is darker than its surroundings by a half to this power."""
    kept: int
    """Most that are kept of one scale."""


_TURNS = (0, 15, 30, 45, 60, 75)

_FINDER = _Kind(
    # ISO/IEC 18004, 5.3.3: core, light ring, dark ring; the rim is separator or quiet zone.
    rings=((1.5, -1.0), (2.5, 1.0), (3.5, -1.0), (np.inf, 1.0)),
    unit=1.0,
    # The flat ones are seen at 53 degrees.
    views=(
        *((angle, 1.0, blur) for angle in _TURNS for blur in (0.0, 0.8)),
        *((angle, 0.6, 0.0) for angle in range(0, 180, 15)),
    ),
    scales=(1, 2, 3, 4, 6, 8, 12),  # modules from 0.8 to 15 pixels
    contrast=3,
    kept=12,
)
_WHOLE = _Kind(
    rings=((3.5, -1.0), (np.inf, 1.0)),
    unit=3.0,  # 21 modules are as many units as the 7 of a finder pattern
    views=tuple((angle, 1.0, 0.3) for angle in _TURNS),
    scales=(4, 6, 8, 12, 16, 24),  # modules from 1.1 to 9 pixels
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
    found = [_alike(_FINDER, *reduced, _middles(reduced[1])) for reduced in _reduced(grey, _FINDER)]
    return [_apart([*some, *more]) for some, more in zip(found, [*found[1:], []], strict=False)]


def find_whole_symbols(grey: Image.Image) -> list[FinderPattern]:
    """Return what looks like a whole symbol out of focus, square on: a dark square in a light margin.

    They are the best of each scale.
    """
    found = [_alike(_WHOLE, *reduced, _enclosed(reduced[1])) for reduced in _reduced(grey, _WHOLE)]
    return [symbol for some in found for symbol in some]


def _reduced(grey: Image.Image, kind: _Kind) -> Iterator[tuple[int, Pixels]]:
    """Yield the picture reduced by each scale, as far as patches fit in."""
    pictures: dict[int, Image.Image] = {}
    for scale in kind.scales:
        half = pictures.get(scale // 2) if scale % 2 == 0 else None
        pictures[scale] = half.reduce(2) if half else grey.reduce(scale)
        if min(pictures[scale].size) > 2 * _REACH:
            yield scale, np.asarray(pictures[scale])


def _apart(several: Iterable[FinderPattern]) -> list[FinderPattern]:
    """Keep each pattern once, as it correlates best."""
    found: list[FinderPattern] = []
    for finder in sorted(several, key=lambda finder: -finder.likeness):
        if not any(
            abs(finder.x - other.x) + abs(finder.y - other.y) < 2 * max(other.module, finder.module)
            for other in found
        ):
            found.append(finder)
    return found


def _middles(grey: Pixels) -> Places:
    """Return row and column of pixels darker than the pixels at distance two on all four sides."""
    width = grey.shape[1] - 4
    tops = range(0, max(grey.shape[0] - 4, 1), _STRIP)
    strips = (_darker(grey[top : top + _STRIP + 4]) for top in tops)
    at = np.concatenate([top * width + np.flatnonzero(each) for top, each in zip(tops, strips, strict=True)])
    at = at[:: len(at) // _MOST + 1]
    return at // width + 2, at % width + 2


def _darker(grey: Pixels) -> NDArray[np.bool_]:
    """Return the mask of such pixels, without the two rows and columns at each edge; in bytes for speed."""
    ring = np.minimum(grey[2:-2, :-4], grey[2:-2, 4:])
    np.minimum(ring, grey[:-4, 2:-2], out=ring)
    np.minimum(ring, grey[4:, 2:-2], out=ring)
    np.maximum(ring, np.full_like(ring[:1], _LEAST), out=ring)  # numpy is slow with a single number here
    ring -= np.uint8(_LEAST)
    ring -= ring >> np.uint8(_FINDER.contrast)
    return np.asarray(grey[2:-2, 2:-2] < ring)


def _enclosed(grey: Pixels) -> Places:
    """Return row and column of places darker than something 3 to 5 pixels away on each of four sides."""
    mean = np.asarray(Image.fromarray(grey).filter(ImageFilter.BoxBlur(2)))
    height, width = (length - 2 * _REACH for length in grey.shape)

    def lightest(down: int, along: int) -> Pixels:
        """Return the lightest pixel in one direction from each place."""
        return reduce(
            np.maximum,
            [grey[_REACH + far * down :, _REACH + far * along :][:height, :width] for far in (3, 4, 5)],
        )

    ring = reduce(np.minimum, [lightest(*way) for way in ((0, 1), (0, -1), (1, 0), (-1, 0))])
    ring = np.maximum(ring, _LEAST) - _LEAST
    inner = slice(_REACH, -_REACH)
    at = np.flatnonzero(mean[inner, inner] < ring - (ring >> _WHOLE.contrast))
    at = at[:: len(at) // _MOST + 1]
    return at // width + _REACH, at % width + _REACH


def _alike(kind: _Kind, scale: int, grey: Pixels, places: Places) -> list[FinderPattern]:
    """Return the patterns around such places in a picture reduced by `scale`, best first."""
    rows, columns = places
    inside = (np.minimum(rows, columns) >= _REACH) & (rows < grey.shape[0] - _REACH)
    inside &= columns < grey.shape[1] - _REACH
    rows, columns = rows[inside], columns[inside]
    around = np.arange(-_REACH, _REACH + 1)
    seen = grey[rows[:, None, None] + around[:, None], columns[:, None, None] + around]
    likeness = _correlation(seen.reshape(len(rows), len(around) ** 2).astype(np.float32), kind)
    best = likeness.max(axis=1, initial=0.0)
    units, turns = _drawn(kind)[2:]
    found: list[FinderPattern] = []
    for at in np.argsort(-best, kind="stable"):
        if best[at] < _ALIKE or len(found) == kind.kept:
            break
        view = likeness[at].argmax()
        unit = scale * units[view]
        x, y = scale * (float(columns[at]) + 0.5), scale * (float(rows[at]) + 0.5)
        if all(abs(x - each.x) + abs(y - each.y) > 3 * unit for each in found):
            found.append(FinderPattern(x, y, unit / kind.unit, float(best[at]), turns[view]))
    return found


def _correlation(seen: Floats, kind: _Kind) -> Floats:
    """Return the normalised correlation of patches (n, 121) with each template over its cover: (n, k)."""
    drawn, cover, *_ = _drawn(kind)
    size = cover.sum(axis=1)
    spread = (seen * seen) @ cover.T - (seen @ cover.T) ** 2 / size
    return np.asarray(seen @ drawn.T / np.sqrt(np.maximum(spread, size)), np.float32)


@lru_cache(maxsize=2)
def _drawn(kind: _Kind) -> tuple[Floats, Floats, tuple[float, ...], tuple[float, ...]]:
    """Return the templates in every view and size, with mean 0 and norm 1, and their cover, (k, 121) both;
    and pixels to a unit and turn. The cover is the share of each pixel that the pattern covers."""
    views = [(size, *view) for view in kind.views for size in _SIZES]
    patterns, covers = zip(*(_pattern(kind, *view) for view in views), strict=True)
    units = tuple(size * height**0.5 for size, _, height, _ in views)
    return np.stack(patterns), np.stack(covers), units, tuple(view[1] for view in views)


def _pattern(
    kind: _Kind, unit: float, angle: float, height: float, blur: float, fine: int = 8
) -> tuple[Floats, Floats]:
    """Draw a template, `fine` times supersampled, and its cover: (121,) both."""
    side = 4 * _REACH + 1  # room for what blur brings in
    place = (np.arange(side * fine) + 0.5) / fine - side / 2
    x, y = np.meshgrid(place, place)
    turn = np.radians(angle)
    along, across = x * np.cos(turn) + y * np.sin(turn), y * np.cos(turn) - x * np.sin(turn)
    off = np.maximum(np.abs(along), np.abs(across) / height) / unit
    light = np.select([off < reach for reach, _ in kind.rings], [value for _, value in kind.rings])
    rate = np.fft.fftfreq(side * fine, 1 / fine)
    soft = np.exp(-2 * (np.pi * blur * unit) ** 2 * (rate[:, None] ** 2 + rate**2))
    light = np.fft.ifft2(np.fft.fft2(light) * soft).real

    def to_pixels(values: NDArray[np.float64]) -> NDArray[np.float64]:
        means = values.reshape(side, fine, side, fine).mean(axis=(1, 3))
        return np.asarray(means[_REACH:-_REACH, _REACH:-_REACH].ravel())

    cover = to_pixels((off < _RIM).astype(np.float64))
    light = to_pixels(light)
    light = cover * (light - cover @ light / cover.sum())
    norm = np.sqrt((light**2 / np.maximum(cover, 1e-9)).sum())
    return (light / norm).astype(np.float32), cover.astype(np.float32)
