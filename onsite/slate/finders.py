"""Finder patterns: the three squares in the corners of a QR symbol, found one by one.

Every line through the middle of one crosses dark, light, dark, light, dark in the proportions 1 : 1 : 3 : 1 : 1
(ISO/IEC 18004, 5.3.3 and 12).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFilter

_COARSE = 4  # pixels to one, where the mean is taken that parts dark from light
_REACH = 4  # of those, to each side
_WIDEST = 12  # pixels to a module: larger patterns are found in a smaller picture
_MOST = 800  # crossings that are looked at further: a picture with more is all texture
_PROPORTIONS = (1, 1, 3, 1, 1)

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]
Ints = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Finder:
    """A finder pattern: its middle and its module's size in pixels, and how many rows crossed it."""

    x: float
    y: float
    module: float
    lines: int

    def scaled(self, factor: float) -> Finder:
        return Finder(self.x * factor, self.y * factor, self.module * factor, self.lines)


def find(grey: Image.Image, every: int = 1) -> list[Finder]:
    """The finder patterns in a grey picture, those crossed by most rows first, looking at `every` so many'th
    row."""
    dark = _dark(grey)
    x, y, module = _crossed(dark, every)
    for way in ((0, 1), (1, 1), (1, -1)):
        size, offset = _lengthwise(dark, x, y, way)
        fits = (size > module / 3) & (size < module * 3)
        x, y, module, size, offset = x[fits], y[fits], module[fits], size[fits], offset[fits]
        if way == (0, 1):
            y, module = np.round(y + offset), np.sqrt(module * size)
    return _together(np.stack([x, y + 0.5, module], axis=1))


def merged(several: Iterable[Finder]) -> list[Finder]:
    """Finder patterns from pictures of several sizes, each once."""
    found: list[Finder] = []
    for finder in sorted(several, key=lambda finder: (-finder.lines, finder.y, finder.x)):
        if not any(
            abs(finder.x - other.x) + abs(finder.y - other.y) < 2 * max(other.module, finder.module)
            for other in found
        ):
            found.append(finder)
    return found


def _dark(grey: Image.Image) -> Bools:
    coarse = grey.reduce(_COARSE).filter(ImageFilter.BoxBlur(_REACH))
    mean = coarse.resize(grey.size, Image.Resampling.BILINEAR).point(lambda value: max(value - 1, 0))
    dark: Bools = np.asarray(grey) < np.asarray(mean)
    return dark


def _crossed(dark: Bools, every: int) -> tuple[Floats, Floats, Floats]:
    """Where rows cross what may be a finder pattern: x, y and module, each (n,)."""
    width = dark.shape[1]
    lines = dark[::every]
    at = np.flatnonzero(lines.ravel()[1:] != lines.ravel()[:-1])
    if len(at) < 6:
        return np.zeros(0), np.zeros(0), np.zeros(0)
    runs = np.diff(at)
    module = (at[5:] - at[:-5]) / 7
    core = runs[2 : len(runs) - 2]
    fits = (core > 1.6 * module) & (core < 4.4 * module) & (module <= _WIDEST) & (module >= 0.9)
    first = np.flatnonzero(fits)
    module = module[first]
    slack = 0.5 + 0.55 / module
    fits = (at[first] // width == at[first + 5] // width) & lines.ravel()[at[first] + 1]
    for k, wanted in enumerate(_PROPORTIONS):
        fits &= np.abs(runs[first + k] / module - wanted) < slack * (1.4 if k == 2 else 1)
    first, module = first[fits], module[fits]
    if len(first) > _MOST:
        thinned = slice(None, None, len(first) // _MOST + 1)
        first, module = first[thinned], module[thinned]
    middle = (at[first + 2] + at[first + 3]) / 2 + 1
    return middle % width, (at[first] // width * every).astype(np.float64), module


def _lengthwise(dark: Bools, x: Floats, y: Floats, way: tuple[int, int]) -> tuple[Floats, Floats]:
    """Along a line through each place: the module's size in steps, 0 where the line does not cross a finder
    pattern there, and how many steps its middle is off."""
    reach = 5 * _WIDEST
    steps = np.arange(reach)
    column, row = x.astype(np.intp)[:, None], y.astype(np.intp)[:, None]

    def away(sign: int) -> Ints:
        """How far the dark, then the light, then the dark runs from the middle: (3, n)."""
        seen = dark[
            np.clip(row + sign * way[1] * steps, 0, dark.shape[0] - 1),
            np.clip(column + sign * way[0] * steps, 0, dark.shape[1] - 1),
        ]
        change = np.pad(seen[:, 1:] != seen[:, :-1], ((0, 0), (0, 3)), constant_values=True)
        order = np.cumsum(change, axis=1)
        return np.stack([(order < k).sum(axis=1) + 1 for k in (1, 2, 3)])

    up, down = away(-1), away(1)
    middle = up[0] + down[0] - 1
    inner, outer = np.stack([up[1] - up[0], down[1] - down[0]]), np.stack([up[2] - up[1], down[2] - down[1]])
    size = np.maximum((middle + inner.sum(axis=0)) / 5, 0.1)
    slack = 0.5 + 0.55 / size
    fits = dark[row[:, 0], column[:, 0]] & (np.abs(middle / size - 3) < 1.4 * slack)
    fits &= (np.abs(inner / size - 1) < 1.2 * slack).all(axis=0)
    fits &= (outer > 0.4 * size).all(axis=0) & (outer < 2.2 * size + 1).any(axis=0) & (size < _WIDEST)
    return np.where(fits, size, 0), (down[0] - up[0]) / 2


def _together(hits: Floats) -> list[Finder]:
    """Crossings of one pattern as one: at least two, with their middles within a module and a half."""
    found = []
    while len(hits):
        near = np.hypot(hits[:, 0] - hits[0, 0], hits[:, 1] - hits[0, 1]) < 1.5 * max(hits[0, 2], 1.0)
        x, y, module = np.median(hits[near], axis=0)
        if near.sum() > 1:
            found.append(Finder(float(x), float(y), float(module), int(near.sum())))
        hits = hits[~near]
    return sorted(found, key=lambda finder: (-finder.lines, finder.y, finder.x))
