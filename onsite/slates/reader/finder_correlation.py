"""Finder patterns by correlation with templates, where no single scan line shows them.

That is in noise, out of focus, with motion blur, or with hardly a pixel to a module.

The picture is reduced until a module is about a pixel. Few pixels are then darker than the pixels at distance
two on all four sides; around those, the picture is correlated with drawn finder patterns. Correlation uses
all 81 modules of a pattern and its rim, so noise averages out and texture fails.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from onsite.slates.reader.finder_patterns import FinderPattern

_LOOKS = ((3, True, 3), (2, False, 3), (1, False, 2))
"""For each scale: the reduction, whether to smooth before centres are searched, and how much darker than its
surroundings a centre has to be: by 1/4 or 1/8 for 2 or 3."""

_LEAST = 2  # grey values that a centre is darker at least, however dark the picture
_ALIKE = 0.6  # least correlation: cloth, walls and lettering hardly ever reach it
_REACH = 5  # pixels to each side of a centre that are correlated
_SIZES = (0.85, 1.0, 1.18)  # pixels to a module of the templates: close enough for sizes between
_ANGLES = (0, 15, 30, 45, 60, 75)  # rotations of the templates in degrees
_RINGS = ((1.5, -1.0), (2.5, 1.0), (3.5, -1.0), (4.5, 1.0))
"""Outer radius of core, light ring, dark ring and rim in modules (ISO/IEC 18004, 5.3.3; the rim is separator
or quiet zone), and their value: 1 light, -1 dark."""
_STRIP = 128  # rows at a time, so that they stay in the processor's cache
_MOST = 1500  # most centres correlated: a picture with more is all texture or noise
_KEPT = 12  # most patterns kept of one scale

Pixels = NDArray[np.uint8]
Floats = NDArray[np.float32]
Places = tuple[NDArray[np.intp], NDArray[np.intp]]


def find_whole(grey: Image.Image) -> list[FinderPattern]:
    """Return finder patterns with modules of about 0.8 to 4 pixels in a grey picture, coarsest scale first.

    Sharp patterns may be missed where pixels straddle modules: `find_finder_patterns` finds those.
    """
    found = []
    for reduced, smoothed, contrast in _LOOKS:
        picture = np.asarray(grey.reduce(reduced) if reduced > 1 else grey)
        middles = _middles(_smooth(picture) if smoothed else picture, contrast)
        found += [each.scaled(reduced) for each in _alike(picture, middles, reduced)]
    return found


def _smooth(grey: Pixels) -> Pixels:
    """Blur by (1, 2, 1)/4 along both axes, in bytes for speed."""
    soft = grey >> np.uint8(1)
    soft[:, 1:-1] += (grey[:, :-2] >> np.uint8(2)) + (grey[:, 2:] >> np.uint8(2))
    both = soft >> np.uint8(1)
    both[1:-1] += (soft[:-2] >> np.uint8(2)) + (soft[2:] >> np.uint8(2))
    return both


def _middles(grey: Pixels, contrast: int) -> Places:
    """Return row and column of pixels darker than the pixels at distance two on all four sides."""
    width = grey.shape[1] - 4
    tops = range(0, max(grey.shape[0] - 4, 1), _STRIP)
    strips = (_darker(grey[top : top + _STRIP + 4], contrast) for top in tops)
    at = np.concatenate([top * width + np.flatnonzero(each) for top, each in zip(tops, strips, strict=True)])
    at = at[:: len(at) // _MOST + 1]
    return at // width + 2, at % width + 2


def _darker(grey: Pixels, contrast: int) -> NDArray[np.bool_]:
    """Return the mask of such pixels, without the two rows and columns at each edge."""
    ring = np.minimum(grey[2:-2, :-4], grey[2:-2, 4:])
    np.minimum(ring, grey[:-4, 2:-2], out=ring)
    np.minimum(ring, grey[4:, 2:-2], out=ring)
    np.maximum(ring, np.uint8(_LEAST), out=ring)
    ring -= np.uint8(_LEAST)
    ring -= ring >> np.uint8(contrast)
    return np.asarray(grey[2:-2, 2:-2] < ring)


def _alike(grey: Pixels, middles: Places, reduced: int) -> list[FinderPattern]:
    """Return the centres that correlate with a finder pattern, best first, each pattern once."""
    rows, columns = middles
    inside = (np.minimum(rows, columns) >= _REACH) & (rows < grey.shape[0] - _REACH)
    inside &= columns < grey.shape[1] - _REACH
    rows, columns = rows[inside], columns[inside]
    around = np.arange(-_REACH, _REACH + 1)
    seen = grey[rows[:, None, None] + around[:, None], columns[:, None, None] + around]
    likeness = _correlation(seen.reshape(len(rows), len(around) ** 2).astype(np.float32))
    best = likeness.max(axis=1, initial=0.0)
    found: list[FinderPattern] = []
    for at in np.argsort(-best, kind="stable"):
        if best[at] < _ALIKE or len(found) == _KEPT:
            break
        module = _SIZES[int(likeness[at].argmax()) % len(_SIZES)]
        x, y = float(columns[at]) + 0.5, float(rows[at]) + 0.5
        if all(abs(x - each.x) + abs(y - each.y) > 3 * module for each in found):
            found.append(FinderPattern(x, y, module, round(3 * module * reduced)))
    return found


def _correlation(seen: Floats) -> Floats:
    """Return the normalised correlation of patches (n, 121) with each template over its cover: (n, k)."""
    drawn, cover = _drawn()
    size = cover.sum(axis=1)
    spread = (seen * seen) @ cover.T - (seen @ cover.T) ** 2 / size
    return np.asarray(seen @ drawn.T / np.sqrt(np.maximum(spread, size)), np.float32)


@lru_cache(maxsize=1)
def _drawn() -> tuple[Floats, Floats]:
    """Return the templates at every angle and size, with mean 0 and norm 1, and their cover: (k, 121) both.

    The cover is the share of each pixel that the pattern covers.
    """
    patterns, covers = zip(*(_pattern(angle, size) for angle in _ANGLES for size in _SIZES), strict=True)
    return np.stack(patterns), np.stack(covers)


def _pattern(angle: float, module: float, fine: int = 8) -> tuple[Floats, Floats]:
    """Draw a template, `fine` times supersampled, and its cover: (121,) both."""
    side = 2 * _REACH + 1
    place = (np.arange(side * fine) + 0.5) / fine - side / 2
    x, y = np.meshgrid(place, place)
    turn = np.radians(angle)
    along, across = x * np.cos(turn) + y * np.sin(turn), y * np.cos(turn) - x * np.sin(turn)
    off = np.maximum(np.abs(along), np.abs(across)) / module

    def to_pixels(values: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(values.reshape(side, fine, side, fine).mean(axis=(1, 3)).ravel())

    light = to_pixels(_by_ring(off, _RINGS))
    cover = to_pixels((off < _RINGS[-1][0]).astype(np.float64))
    light -= cover * light.sum() / cover.sum()
    return (light / np.linalg.norm(light)).astype(np.float32), cover.astype(np.float32)


def _by_ring(off: NDArray[np.float64], rings: Sequence[tuple[float, float]]) -> NDArray[np.float64]:
    """Return the ring's value at each distance `off` from the centre, in modules."""
    return np.select([off < reach for reach, _ in rings], [light for _, light in rings], 0.0)
