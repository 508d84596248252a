"""Finder patterns by scan lines: the three squares in the corners of a QR symbol, found one by one.

Every line through the centre of a finder pattern crosses dark, light, dark, light, dark in the proportions
1 : 1 : 3 : 1 : 1 (ISO/IEC 18004, 5.3.3 and 12). Rows are searched for this; candidates are verified along the
column and both diagonals, where texture fails.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageChops, ImageFilter

from onsite.slates.reader.illumination import BLOWN

_COARSE = 4  # reduction of the picture that the local threshold is computed in
_NOISE = 4  # grey values below the local mean that are not yet dark; less where the mean is low
_CONTRAST = 0.18  # least contrast of ink on paper, gamma-coded: 0.6 when sharp, much less from afar
_REACH = 4  # reduced pixels to each side that the local mean covers
_WIDEST = 12  # pixels to a module: larger patterns are found in a smaller picture
_NARROWEST = 0.8  # and smaller ones not at all
_MOST = 800  # most crossings verified: a picture with more is all texture
_STEPS = (14, 5 * _WIDEST)  # pixels a line is followed: for modules up to two pixels, and for all
_PROPORTIONS = (1, 1, 3, 1, 1)

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]
Ints = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class FinderPattern:
    """A finder pattern: its centre and module size in pixels, and how many rows crossed it."""

    x: float
    y: float
    module: float
    lines: int

    def scaled(self, factor: float) -> FinderPattern:
        """Return the pattern in a picture enlarged by `factor`."""
        return FinderPattern(self.x * factor, self.y * factor, self.module * factor, self.lines)


def find_finder_patterns(grey: Image.Image, damaged: bool = False) -> list[FinderPattern]:
    """Return the finder patterns in a grey picture, those crossed by most rows first.

    With `damaged`, blown-out pixels are left out of the local threshold, and one side of a pattern may be
    hidden from all lines but the row.
    """
    picture = _Picture.of(grey, damaged)
    x, y, module = _crossed(picture)
    plain = picture.contrast(x, y, module) >= _CONTRAST
    x, y, module = x[plain], y[plain], module[plain]
    for way in ((0, 1), (1, 1), (1, -1)):
        size, offset = _followed(picture, x, y, module, way, damaged)
        fits = (size > module / 3) & (size < module * 3)
        x, y, module, size, offset = x[fits], y[fits], module[fits], size[fits], offset[fits]
        if way == (0, 1):
            y, module = np.round(y + offset), np.sqrt(module * size)
    return _together(np.stack([x, y + 0.5, module], axis=1))


def merged(several: Iterable[FinderPattern]) -> list[FinderPattern]:
    """Merge finder patterns found at several scales: each pattern once, as crossed by most rows."""
    found: list[FinderPattern] = []
    for finder in sorted(several, key=lambda finder: (-finder.lines, finder.y, finder.x)):
        if not any(
            abs(finder.x - other.x) + abs(finder.y - other.y) < 2 * max(other.module, finder.module)
            for other in found
        ):
            found.append(finder)
    return found


@dataclass(frozen=True, eq=False)
class _Picture:
    """Grey values, and the local threshold `below` which a pixel is dark, at 1/`_COARSE` of the size."""

    grey: NDArray[np.uint8]
    below: NDArray[np.uint8]

    @classmethod
    def of(cls, grey: Image.Image, beside_glare: bool) -> _Picture:
        """Compute the local threshold, `beside_glare` without blown-out pixels."""
        coarse, around = grey.reduce(_COARSE), ImageFilter.BoxBlur(_REACH)
        mean = np.asarray(coarse.filter(around))
        if beside_glare and any(coarse.histogram()[BLOWN:]):
            plain = coarse.point(lambda value: 255 if value < BLOWN else 0)
            share = np.maximum(np.asarray(plain.filter(around), np.float32) / 255, 0.02)
            under = np.asarray(ImageChops.multiply(coarse, plain).filter(around), np.float32)
            mean = np.minimum(under / share, 255).astype(np.uint8)
        return cls(
            np.asarray(grey), mean - np.minimum(mean, np.minimum(mean // 12 + 1, _NOISE)).astype(np.uint8)
        )

    def dark(self) -> Bools:
        """Return the mask of dark pixels."""
        height, width = self.grey.shape
        below = self.below.repeat(_COARSE, axis=1)[:, :width]  # rows later: copied whole
        dark: Bools = self.grey < below[np.arange(height) // _COARSE]
        return dark

    def contrast(self, x: Floats, y: Floats, module: Floats) -> Floats:
        """Return the Michelson contrast of core and light ring, by its lighter side; 1 where blown out."""
        row, column = y.astype(np.intp), x.astype(np.intp)
        ring = np.round(2 * module).astype(np.intp)
        sides = [self.grey[row, (column + way * ring).clip(0, self.grey.shape[1] - 1)] for way in (-1, 1)]
        light, core = np.maximum(*sides).astype(np.float64), self.grey[row, column].astype(np.float64)
        return np.where(light >= BLOWN, 1.0, (light - core) / np.maximum(light + core, 1))

    def at(self, row: Ints, column: Ints) -> Bools:
        """Whether the pixels at these places are dark; places beyond the edge take the nearest pixel."""
        row, column = row.clip(0, self.grey.shape[0] - 1), column.clip(0, self.grey.shape[1] - 1)
        dark: Bools = self.grey[row, column] < self.below[row // _COARSE, column // _COARSE]
        return dark


def _crossed(picture: _Picture) -> tuple[Floats, Floats, Floats]:
    """Find runs along rows in the proportions of a finder pattern: x, y and module, each (n,)."""
    lines = picture.dark()
    width, lines = lines.shape[1], lines.ravel()
    at = np.flatnonzero(lines[1:] != lines[:-1])
    if len(at) < 6:
        return np.zeros(0), np.zeros(0), np.zeros(0)
    runs = np.diff(at)
    module = (at[5:] - at[:-5]) / 7
    core = runs[2 : len(runs) - 2]
    fits = (core > 1.6 * module) & (core < 4.4 * module) & (module <= _WIDEST) & (module >= _NARROWEST)
    first = np.flatnonzero(fits)
    module = module[first]
    slack = 0.5 + 0.55 / module
    fits = (at[first] // width == at[first + 5] // width) & lines[at[first] + 1]
    for k, wanted in enumerate(_PROPORTIONS):
        fits &= np.abs(runs[first + k] / module - wanted) < slack * (1.4 if k == 2 else 1)
    first, module = first[fits], module[fits]
    if len(first) > _MOST:
        thinned = slice(None, None, len(first) // _MOST + 1)
        first, module = first[thinned], module[thinned]
    middle = (at[first + 2] + at[first + 3]) / 2 + 1
    return middle % width, (at[first] // width).astype(np.float64), module


def _followed(
    picture: _Picture, x: Floats, y: Floats, module: Floats, way: tuple[int, int], damaged: bool
) -> tuple[Floats, Floats]:
    """Call `_lengthwise` for small and large patterns, with shorter lines for the small."""
    size, offset = np.zeros(len(x)), np.zeros(len(x))
    small = module <= 2
    for chosen, steps in ((small, _STEPS[0]), (~small, _STEPS[1])):
        if chosen.any():
            size[chosen], offset[chosen] = _lengthwise(picture, x[chosen], y[chosen], way, steps, damaged)
    return size, offset


def _lengthwise(
    picture: _Picture, x: Floats, y: Floats, way: tuple[int, int], reach: int, damaged: bool
) -> tuple[Floats, Floats]:
    """Measure a finder pattern along the line in direction `way` through each place.

    Returns the module size in steps, 0 where the line crosses no finder pattern, and the offset of its centre
    in steps.
    """
    steps = np.arange(reach)
    column, row = x.astype(np.intp)[:, None], y.astype(np.intp)[:, None]

    def away(sign: int) -> tuple[Ints, Bools]:
        """Return the ends of the dark, light and dark runs, (3, n), and which centres are dark."""
        seen = picture.at(row + sign * way[1] * steps, column + sign * way[0] * steps)
        change = np.pad(seen[:, 1:] != seen[:, :-1], ((0, 0), (0, 3)), constant_values=True)
        order = np.cumsum(change, axis=1, dtype=np.int16)
        return np.stack([(order < k).sum(axis=1) + 1 for k in (1, 2, 3)]), seen[:, 0]

    (up, dark), (down, _) = away(-1), away(1)
    middle = up[0] + down[0] - 1
    inner, outer = np.stack([up[1] - up[0], down[1] - down[0]]), np.stack([up[2] - up[1], down[2] - down[1]])
    size = np.maximum((middle + inner.sum(axis=0)) / 5, 0.1)
    if damaged:  # where glare hides a ring, the other side gives the size
        size = np.minimum(size, (middle + 2 * inner.min(axis=0)) / 5)
    slack = 0.5 + 0.55 / size
    fits = dark & (np.abs(middle / size - 3) < 1.4 * slack)
    whole = (np.abs(inner / size - 1) < 1.2 * slack) & (outer > 0.4 * size)
    fits &= (whole.any(axis=0) & (inner > 0.5 * size).all(axis=0)) if damaged else whole.all(axis=0)
    fits &= (outer < 2.2 * size + 1).any(axis=0) & (size < _WIDEST)
    return np.where(fits, size, 0), (down[0] - up[0]) / 2


def _together(hits: Floats) -> list[FinderPattern]:
    """Cluster crossings into patterns: at least two, with centres within a module and a half."""
    found = []
    while len(hits) > 1:
        near = np.abs(hits[:, :2] - hits[0, :2]).max(axis=1) < 1.5 * max(hits[0, 2], 1.0)
        lines = int(np.count_nonzero(near))
        if lines > 1:
            x, y, module = np.median(hits[near], axis=0).tolist()
            found.append(FinderPattern(x, y, module, lines))
        hits = hits[~near]
    return sorted(found, key=lambda finder: (-finder.lines, finder.y, finder.x))
