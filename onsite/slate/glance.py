"""A first look at many grids at once: how well each shows what all slates have in common, roughly.

Fitting a grid takes ten milliseconds, looking at one a few hundredths of one. So guesses may be many, and
are followed in the order of what is seen on them, not of how likely a card is held like that.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFilter

from onsite.slate.grid import Grid
from onsite.slate.symbol import MODULES

_MODULE = 3.0
"""Pixels to a module, at least, where the picture has them."""

_REACH = 12  # pixels to each side that a place is compared with
_CLEAR = 0.25  # of the grey around: a difference that is taken to be ink or paper

Greys = NDArray[np.float32]


def at_a_glance(picture: Image.Image, grids: Sequence[Grid], template: NDArray[np.int8]) -> list[float]:
    """Agreement of the known modules of `template`, (21, 21), on each grid: 1 wholly, about 0 by chance."""
    if not grids:
        return []
    places = np.argwhere(template != 0)[:, ::-1].astype(np.float64) + 0.5
    wanted = template[template != 0].astype(np.float32)
    points = [grid.at(places) for grid in grids]
    low = np.maximum(np.min([each.min(axis=0) for each in points], axis=0) - _REACH, 0).astype(int)
    high = np.minimum(np.max([each.max(axis=0) for each in points], axis=0) + _REACH, picture.size).astype(
        int
    )
    if (high - low).min() < MODULES:
        return [0.0] * len(grids)
    part = picture.crop((*low.tolist(), *high.tolist()))
    levels: dict[int, Greys] = {}
    seen = []
    for grid, each in zip(grids, points, strict=True):
        reduced = max(int(grid.module / _MODULE), 1)
        if reduced not in levels:
            levels[reduced] = _darkness(part.reduce(reduced) if reduced > 1 else part)
        column, row = np.floor((each - low) / reduced).astype(np.intp).T
        height, width = levels[reduced].shape
        inside = (column >= 0) & (row >= 0) & (column < width) & (row < height)
        dark = levels[reduced][np.where(inside, row, 0), np.where(inside, column, 0)] * inside
        seen.append(float(dark @ wanted) / len(wanted))
    return seen


def _darkness(grey: Image.Image) -> Greys:
    """From 1 for dark to -1 for light, compared with the grey around."""
    mean = np.asarray(grey.filter(ImageFilter.BoxBlur(_REACH)), np.float32)
    difference = mean - np.asarray(grey, np.float32)
    return np.asarray(np.clip(difference / (_CLEAR * mean + 1), -1, 1), np.float32)
