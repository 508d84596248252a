"""Finder patterns by correlation: the three squares in the corners of a QR symbol, found one by one.

At each of several scales the picture is reduced until a module is about a pixel. Few pixels are then darker
than the pixels at distance two on all four sides; around those, the picture is correlated with drawn finder
patterns, sharp ones and blurred ones. Correlation uses all 81 modules of a pattern and its rim, so noise
averages out, texture fails, and a pattern far out of focus is still seen.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache, reduce

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFilter

_SCALES = (1, 2, 3, 4, 6, 8, 12)
"""Reductions of the picture. With the sizes of the templates, modules from 0.8 to 15 pixels are found."""
_WHOLE_SCALES = (4, 6, 8, 12, 16, 24)
"""Those for whole symbols: modules from 1.1 to 9 pixels."""
_WHOLE = 3.0
"""Modules of a whole symbol that count as one: it is then as wide as a finder pattern, as 21 is 3 times 7."""

_LEAST = 2  # grey values that a centre is darker at least, however dark the picture
_CONTRAST = 3  # and darker than its surroundings by 1/8, as a shift
_WEAKER = 4  # that of a whole symbol, half of which is light
_ALIKE = 0.5  # least correlation: cloth, walls and lettering hardly ever reach it
_REACH = 5  # pixels to each side of a centre that are correlated
_SIZES = (0.85, 1.0, 1.18)  # pixels to a module of the templates: close enough for sizes between
_VIEWS = (
    *((angle, 1.0, blur) for angle in (0, 15, 30, 45, 60, 75) for blur in (0.0, 0.8)),
    *((angle, 0.6, 0.0) for angle in range(0, 180, 15)),
)
"""Of the templates: rotation in degrees; height over width, as a slate tilted by 53 degrees has it; standard
deviation of a blur in modules."""
_WHOLE_VIEWS = tuple((angle, 1.0, 0.3) for angle in (0, 15, 30, 45, 60, 75))
_WHOLE_RINGS = ((3.5, -1.0), (np.inf, 1.0))
_RINGS = ((1.5, -1.0), (2.5, 1.0), (3.5, -1.0), (np.inf, 1.0))
"""Outer radius of core, light ring, dark ring and rim in modules (ISO/IEC 18004, 5.3.3; the rim is separator
or quiet zone), and their value: 1 light, -1 dark."""
_RIM = 4.5  # modules from the centre that are correlated
_STRIP = 128  # rows at a time, so that they stay in the processor's cache
_MOST = 1500  # most centres correlated: a picture with more is all texture or noise
_KEPT_WHOLE = 4  # and whole symbols
_KEPT = 12  # most patterns kept of one scale

Pixels = NDArray[np.uint8]
Floats = NDArray[np.float32]
Rings = tuple[tuple[float, float], ...]
Places = tuple[NDArray[np.intp], NDArray[np.intp]]


@dataclass(frozen=True, slots=True)
class FinderPattern:
    """A finder pattern: its centre and module size in pixels, and its correlation with a drawn one."""

    x: float
    y: float
    module: float
    likeness: float
    turn: float = 0.0
    """In degrees clockwise, known up to a quarter turn."""


def find_finder_patterns(grey: Image.Image) -> list[list[FinderPattern]]:
    """Return the finder patterns in a grey picture: a list for every two neighbouring scales, best first.

    The lists overlap: a pattern far out of focus may show at several scales, and only at the right one do the
    three of a symbol lie at the distances that their size asks for.
    """
    found = [_alike(picture, scale, _middles(picture), False) for scale, picture in _reduced(grey, _SCALES)]
    return [_apart([*some, *more]) for some, more in zip(found, [*found[1:], []], strict=False)]


def find_whole_symbols(grey: Image.Image) -> list[FinderPattern]:
    """Return what looks like a whole symbol out of focus, square on: a dark square in a light margin.

    They are the best of each scale.
    """
    return [
        symbol
        for scale, picture in _reduced(grey, _WHOLE_SCALES)
        for symbol in _alike(picture, scale, _enclosed(picture), True)[:_KEPT_WHOLE]
    ]


def _reduced(grey: Image.Image, scales: Iterable[int]) -> Iterator[tuple[int, Pixels]]:
    """Yield the picture reduced by each scale, as far as patches fit in."""
    pictures: dict[int, Image.Image] = {}
    for scale in scales:
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
    ring -= ring >> np.uint8(_CONTRAST)
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
    at = np.flatnonzero(mean[inner, inner] < ring - (ring >> _WEAKER))
    at = at[:: len(at) // _MOST + 1]
    return at // width + _REACH, at % width + _REACH


def _alike(grey: Pixels, scale: int, places: Places, whole: bool) -> list[FinderPattern]:
    """Return the patterns around such places in a picture reduced by `scale`, best first."""
    rows, columns = places
    inside = (np.minimum(rows, columns) >= _REACH) & (rows < grey.shape[0] - _REACH)
    inside &= columns < grey.shape[1] - _REACH
    rows, columns = rows[inside], columns[inside]
    around = np.arange(-_REACH, _REACH + 1)
    seen = grey[rows[:, None, None] + around[:, None], columns[:, None, None] + around]
    likeness = _correlation(seen.reshape(len(rows), len(around) ** 2).astype(np.float32), whole)
    best = likeness.max(axis=1, initial=0.0)
    found: list[FinderPattern] = []
    for at in np.argsort(-best, kind="stable"):
        if best[at] < _ALIKE or len(found) == _KEPT:
            break
        module, turn = (values[likeness[at].argmax()] for values in _drawn(whole)[2:])
        module *= scale
        x, y = scale * (float(columns[at]) + 0.5), scale * (float(rows[at]) + 0.5)
        if all(abs(x - each.x) + abs(y - each.y) > 3 * module for each in found):
            module /= _WHOLE if whole else 1
            found.append(FinderPattern(x, y, module, float(best[at]), turn))
    return found


def _correlation(seen: Floats, whole: bool) -> Floats:
    """Return the normalised correlation of patches (n, 121) with each template over its cover: (n, k)."""
    drawn, cover, *_ = _drawn(whole)
    size = cover.sum(axis=1)
    spread = (seen * seen) @ cover.T - (seen @ cover.T) ** 2 / size
    return np.asarray(seen @ drawn.T / np.sqrt(np.maximum(spread, size)), np.float32)


@lru_cache(maxsize=2)
def _drawn(whole: bool) -> tuple[Floats, Floats, tuple[float, ...], tuple[float, ...]]:
    """Return the templates in every view and size, with mean 0 and norm 1, and their cover, (k, 121) both;
    and pixels to a module and turn. The cover is the share of each pixel that the pattern covers."""
    views = [(size, *view) for view in (_WHOLE_VIEWS if whole else _VIEWS) for size in _SIZES]
    rings = _WHOLE_RINGS if whole else _RINGS
    patterns, covers = zip(*(_pattern(rings, *view) for view in views), strict=True)
    modules = tuple(size * height**0.5 for size, _, height, _ in views)
    return np.stack(patterns), np.stack(covers), modules, tuple(view[1] for view in views)


def _pattern(
    rings: Rings, module: float, angle: float, height: float, blur: float, fine: int = 8
) -> tuple[Floats, Floats]:
    """Draw a template, `fine` times supersampled, and its cover: (121,) both."""
    side = 4 * _REACH + 1  # room for what blur brings in
    place = (np.arange(side * fine) + 0.5) / fine - side / 2
    x, y = np.meshgrid(place, place)
    turn = np.radians(angle)
    along, across = x * np.cos(turn) + y * np.sin(turn), y * np.cos(turn) - x * np.sin(turn)
    off = np.maximum(np.abs(along), np.abs(across) / height) / module
    light = np.select([off < reach for reach, _ in rings], [value for _, value in rings])
    rate = np.fft.fftfreq(side * fine, 1 / fine)
    soft = np.exp(-2 * (np.pi * blur * module) ** 2 * (rate[:, None] ** 2 + rate**2))
    light = np.fft.ifft2(np.fft.fft2(light) * soft).real

    def to_pixels(values: NDArray[np.float64]) -> NDArray[np.float64]:
        means = values.reshape(side, fine, side, fine).mean(axis=(1, 3))
        return np.asarray(means[_REACH:-_REACH, _REACH:-_REACH].ravel())

    cover = to_pixels((off < _RIM).astype(np.float64))
    light = to_pixels(light)
    light = cover * (light - cover @ light / cover.sum())
    norm = np.sqrt((light**2 / np.maximum(cover, 1e-9)).sum())
    return (light / norm).astype(np.float32), cover.astype(np.float32)
