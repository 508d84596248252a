"""Uneven light: how dark every place of a symbol is, compared with what is white and black around it."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFilter

Greys = NDArray[np.uint8]
Floats = NDArray[np.float32]

BLOWN = 250
"""Grey value, of 255, from which a place may be glare: nothing can be told of what lies under it."""

_REACH = 3.0  # modules: nothing in a symbol is dark, or light, for further than that all around
_EVEN = 0.5  # of a symbol's usual contrast: below it, a place is trusted less
_HALF = 127.5
_STEPS = 2  # to a pixel, in which a picture is smoothed: near ones share the work


@dataclass(frozen=True, eq=False)
class Levelled:
    """A picture with the light taken out, each (height, width) of 0 to 255. `darkness` is 255 where it is as
    black as anything near, 0 where it is as white; `trust` is 255, towards 0 where glare, a hand or plain
    paper leave nothing to tell black from white by."""

    darkness: Greys
    trust: Greys
    _slopes: dict[float, Floats] = field(default_factory=dict)

    def slopes(self, radius: float) -> Floats:
        """Darkness from 1 for black to -1 for white, smoothed over about `radius` pixels, how it changes from
        pixel to pixel along x and along y, and trust from 0 to 1: (height, width, 4)."""
        radius = round(radius * _STEPS) / _STEPS
        if radius not in self._slopes:
            soft = np.asarray(blurred(self.darkness, radius), np.float32) / _HALF - 1
            by_y, by_x = np.gradient(soft)
            self._slopes[radius] = np.stack([soft, by_x, by_y, self.trust / np.float32(255)], axis=-1)
        return self._slopes[radius]

    @cached_property
    def trusted(self) -> Floats:
        """Darkness from 1 for black to -1 for white, 0 where nothing is to be told."""
        darkness, trust = (np.asarray(each, np.float32) for each in (self.darkness, self.trust))
        return np.asarray((darkness / _HALF - 1) * (trust / 255), np.float32)


def levelled(grey: Greys, module: float, paper: float | None = None) -> Levelled:
    """Takes the light out of a grey picture, 0 to 255, of a symbol with modules that many pixels wide.

    What is white all around is found by closing, what is black by opening (J. Serra, Image Analysis and
    Mathematical Morphology, 1982; from memory): both keep the edge of a shadow where it is. Where the `paper`
    is known to be so bright and no brighter, what is nearer to blown out is glare.
    """
    plain, glare = grey, None
    if paper is not None:
        glare = grey > (paper + BLOWN) / 2
        plain = np.where(glare, np.uint8(paper), grey)
    smooth = blurred(plain, module * 0.3)
    reach = max(round(module * _REACH), 2)
    white = _extreme(_extreme(smooth, reach, np.maximum), reach, np.minimum)
    black = _extreme(_extreme(smooth, reach, np.minimum), reach, np.maximum)
    high, low = (np.asarray(blurred(each, module), np.float32) for each in (white, black))
    half, middle = (high - low) / 2, (high + low) / 2
    contrast = half / np.maximum(middle, 1)
    typical = max(float(np.percentile(contrast[::3, ::3], 85)), 1e-3)
    trust = np.minimum(contrast * (255 / (_EVEN * typical)), 255).astype(np.uint8)
    if glare is not None:
        trust[blurred(glare.astype(np.uint8) * np.uint8(255), module * 0.5) > 25] = 0
    darkness = np.clip((middle - plain) * (_HALF / np.maximum(half, 1)) + _HALF + 0.5, 0, 255)
    return Levelled(darkness.astype(np.uint8), trust)


def blurred(values: Greys, radius: float) -> Greys:
    """Smoothed twice by a box, about as by a Gaussian of standard deviation `radius` pixels."""
    reach = (math.sqrt(6 * radius * radius + 1) - 1) / 2  # two boxes of that reach have that variance
    box = ImageFilter.BoxBlur(reach)
    return np.asarray(Image.fromarray(values).filter(box).filter(box))


def _extreme(values: Greys, reach: int, pick: np.ufunc) -> Greys:
    """The largest or smallest value within `reach` pixels along both axes: by doubling, then one overlap."""
    for axis in (0, 1):
        padding = [(reach, reach) if axis == each else (0, 0) for each in (0, 1)]
        row = np.pad(values, padding, mode="edge")
        length, width, whole = values.shape[axis], 1, 2 * reach + 1

        def shifted(rows: Greys, by: int, axis: int = axis) -> Greys:
            size = rows.shape[axis] - by
            both = (slice(None, size), slice(by, None))
            first, second = (rows[part] if axis == 0 else rows[:, part] for part in both)
            return np.asarray(pick(first, second))

        while width * 2 <= whole:
            row = shifted(row, width)
            width *= 2
        row = shifted(row, whole - width) if whole > width else row
        values = row[:length] if axis == 0 else row[:, :length]
    return values
