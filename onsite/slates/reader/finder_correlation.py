"""Finder patterns by their likeness to the whole pattern, where no single line shows them: in noise, out of
focus, shaken, or hardly a pixel to a module.

A look is at a picture in which a module is about a pixel. Of its pixels few are darker than what lies two
pixels from them on all four sides; around those, the picture is correlated with drawn finder patterns.
Correlation counts all 81 modules of a pattern and its rim, so noise averages out and texture fails.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from onsite.slates.reader.finder_patterns import FinderPattern

_LOOKS = ((3, True, 3), (2, False, 3), (1, False, 2))
"""How many times the picture is reduced, whether it is smoothed before middles are looked for, and how much
darker than the ring around it one has to be: by 1/4 or 1/8 for 2 or 3."""

_LEAST = 2  # grey values that it is darker, however dark the picture
_ALIKE = 0.6  # least correlation: of cloth, walls and lettering hardly any comes to it
_REACH = 5  # pixels to each side that are compared
_SIZES = (0.85, 1.0, 1.18)  # pixels to a module of the drawn patterns: what lies between is alike enough
_ANGLES = (0, 15, 30, 45, 60, 75)  # degrees
_RINGS = ((1.5, -1.0), (2.5, 1.0), (3.5, -1.0), (4.5, 1.0))
"""How far core, light ring, dark ring and rim reach from the middle, in modules (ISO/IEC 18004, 5.3.3; the
rim is separator or quiet zone), and whether they are light."""
_STRIP = 128  # rows at a time: what stays in the processor's own memory is quick
_MOST = 1500  # places that are compared: a picture with more is all texture or noise
_KEPT = 12  # patterns of one look

Pixels = NDArray[np.uint8]
Floats = NDArray[np.float32]
Places = tuple[NDArray[np.intp], NDArray[np.intp]]


def find_whole(grey: Image.Image) -> list[FinderPattern]:
    """Finder patterns with modules of about 0.8 to 4 pixels in a grey picture, from the sharpest look last. A
    sharp one may be missed, where the pixels fall badly on its modules: `finders.find` has those."""
    found = []
    for reduced, smoothed, contrast in _LOOKS:
        picture = np.asarray(grey.reduce(reduced) if reduced > 1 else grey)
        middles = _middles(_smooth(picture) if smoothed else picture, contrast)
        found += [each.scaled(reduced) for each in _alike(picture, middles, reduced)]
    return found


def _smooth(grey: Pixels) -> Pixels:
    """Each pixel with a quarter of both its neighbours, along both axes: in bytes, which is quick."""
    soft = grey >> np.uint8(1)
    soft[:, 1:-1] += (grey[:, :-2] >> np.uint8(2)) + (grey[:, 2:] >> np.uint8(2))
    both = soft >> np.uint8(1)
    both[1:-1] += (soft[:-2] >> np.uint8(2)) + (soft[2:] >> np.uint8(2))
    return both


def _middles(grey: Pixels, contrast: int) -> Places:
    """Row and column of what is darker than the ring two pixels off, on all four sides of it."""
    width = grey.shape[1] - 4
    tops = range(0, max(grey.shape[0] - 4, 1), _STRIP)
    strips = (_darker(grey[top : top + _STRIP + 4], contrast) for top in tops)
    at = np.concatenate([top * width + np.flatnonzero(each) for top, each in zip(tops, strips, strict=True)])
    at = at[:: len(at) // _MOST + 1]
    return at // width + 2, at % width + 2


def _darker(grey: Pixels, contrast: int) -> NDArray[np.bool_]:
    """Where pixels are darker than that ring: all but the two at each edge."""
    ring = np.minimum(grey[2:-2, :-4], grey[2:-2, 4:])
    np.minimum(ring, grey[:-4, 2:-2], out=ring)
    np.minimum(ring, grey[4:, 2:-2], out=ring)
    np.maximum(ring, np.uint8(_LEAST), out=ring)
    ring -= np.uint8(_LEAST)
    ring -= ring >> np.uint8(contrast)
    return np.asarray(grey[2:-2, 2:-2] < ring)


def _alike(grey: Pixels, middles: Places, reduced: int) -> list[FinderPattern]:
    """Those of the places that are like a finder pattern, the most alike first, each pattern once."""
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
    """Of pictures (n, 121) with each drawn pattern, over what that covers: (n, k), -1 to 1."""
    drawn, cover = _drawn()
    size = cover.sum(axis=1)
    spread = (seen * seen) @ cover.T - (seen @ cover.T) ** 2 / size
    return np.asarray(seen @ drawn.T / np.sqrt(np.maximum(spread, size)), np.float32)


@lru_cache(maxsize=1)
def _drawn() -> tuple[Floats, Floats]:
    """Finder patterns at every angle and size, with a mean of 0 and a length of 1, and how much of each pixel
    they cover: (k, 121) both."""
    patterns, covers = zip(*(_pattern(angle, size) for angle in _ANGLES for size in _SIZES), strict=True)
    return np.stack(patterns), np.stack(covers)


def _pattern(angle: float, module: float, fine: int = 8) -> tuple[Floats, Floats]:
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
    return np.select([off < reach for reach, _ in rings], [light for _, light in rings], 0.0)
