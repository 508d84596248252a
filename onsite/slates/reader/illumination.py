"""Illumination correction: how dark each pixel is compared with the local white and black."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray
from PIL import Image, ImageFilter

Greys = NDArray[np.uint8]
Floats = NDArray[np.float32]

BLOWN = 250
"""Grey value, of 255, from which a pixel may be glare and says nothing about the module below it."""

_REACH = 3.0  # modules: no dark or light area in a symbol extends further in all directions
_EVEN = 0.5  # of a symbol's typical contrast: below it, a pixel is trusted less
_HALF = 127.5


@dataclass(frozen=True, eq=False)
class Levelled:
    """A picture corrected for illumination: planes of (height, width), 0 to 255."""

    darkness: Greys
    """255 where a pixel is as dark as the local black, 0 where it is as light as the local white."""
    trust: Greys
    """255, down to 0 where glare, a hand or blank paper leave no contrast."""
    glared: bool
    """Whether pixels were taken for glare."""

    @cached_property
    def trusted(self) -> Floats:
        """Darkness from 1 for black to -1 for white, weighted by trust."""
        darkness, trust = (np.asarray(each, np.float32) for each in (self.darkness, self.trust))
        return np.asarray((darkness / _HALF - 1) * (trust / 255), np.float32)


def levelled(grey: Greys, module: float, paper: float | None = None) -> Levelled:
    """Correct the illumination of a grey picture, 0 to 255, of a symbol with modules `module` pixels wide.

    The local white is found by morphological closing, the local black by opening (J. Serra, Image Analysis
    and Mathematical Morphology, 1982; from memory): both keep the edge of a shadow in place. Where `paper`,
    the grey value of the paper, is given, pixels nearer to `BLOWN` than to it are glare.
    """
    plain, glare = grey, None
    if paper is not None:
        glare = grey > (paper + BLOWN) / 2
        plain = np.where(glare, np.uint8(paper), grey)
    smooth = blurred(plain, module * 0.3)
    reach = max(round(module * _REACH), 2)
    white = _extreme(_extreme(smooth, reach, np.max), reach, np.min)
    black = _extreme(_extreme(smooth, reach, np.min), reach, np.max)
    high, low = (np.asarray(blurred(each, module), np.float32) for each in (white, black))
    half, middle = (high - low) / 2, (high + low) / 2
    contrast = half / np.maximum(middle, 1)
    typical = max(float(np.percentile(contrast[::3, ::3], 85)), 1e-3)
    trust = np.minimum(contrast * (255 / (_EVEN * typical)), 255).astype(np.uint8)
    if glare is not None:
        trust[blurred(glare.astype(np.uint8) * np.uint8(255), module * 0.5) > 25] = 0
    darkness = np.clip((middle - plain) * (_HALF / np.maximum(half, 1)) + _HALF + 0.5, 0, 255)
    return Levelled(darkness.astype(np.uint8), trust, glare is not None)


def blurred(values: Greys, radius: float) -> Greys:
    """Blur twice by a box, approximating a Gaussian of standard deviation `radius` pixels."""
    reach = (math.sqrt(6 * radius * radius + 1) - 1) / 2  # two boxes of this reach have the same variance
    box = ImageFilter.BoxBlur(reach)
    return np.asarray(Image.fromarray(values).filter(box).filter(box))


def _extreme(values: Greys, reach: int, pick: Callable[..., Greys]) -> Greys:
    """Dilate or erode by a square of `reach` pixels to each side, with `pick` the maximum or minimum."""
    padded = np.pad(values, reach, mode="edge")
    rows = pick(sliding_window_view(padded, 2 * reach + 1, axis=0), axis=-1)
    return pick(sliding_window_view(rows, 2 * reach + 1, axis=1), axis=-1)
