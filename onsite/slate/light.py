"""Uneven light: how dark every place of a symbol is, compared with what is white and black around it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float32]

BLOWN = 250.0
"""Grey value, of 255, from which a place may be glare: nothing can be told of what lies under it."""

_REACH = 3.0  # modules: black and white are both found within so much, in a symbol
_EVEN = 0.5  # of a symbol's usual contrast: below it, a place is trusted less


@dataclass(frozen=True, eq=False)
class Levelled:
    """A picture with the light taken out, each (height, width). `darkness` is 1 where it is as black as
    anything near, -1 where it is as white; `trust` is 1, towards 0 where glare, a hand or plain paper leave
    nothing to tell black from white by."""

    darkness: Floats
    trust: Floats


def levelled(grey: Floats, module: float, paper: float | None = None) -> Levelled:
    """Takes the light out of a picture, grey values of 0 to 255, of a symbol with modules of that many pixels.

    Where its `paper` is known to be so bright and no brighter, what is nearer to blown out is glare.
    """
    glare = grey > (paper + BLOWN) / 2 if paper is not None else np.zeros(grey.shape, bool)
    plain = np.where(glare, np.float32(paper or 0), grey)
    smooth = blurred(plain, module * 0.3)
    reach = max(round(module * _REACH), 2)
    high = blurred(_extreme(_extreme(smooth, reach, np.maximum), reach, np.minimum), module)
    low = blurred(_extreme(_extreme(smooth, reach, np.minimum), reach, np.maximum), module)
    half, middle = (high - low) / 2, (high + low) / 2
    contrast = half / np.maximum(middle, 1.0)
    trust = np.clip(contrast / max(_EVEN * float(np.percentile(contrast, 85)), 1e-3), 0, 1)
    if glare.any():
        trust = trust * (blurred(glare.astype(np.float32), module * 0.5) < 0.1)
    darkness = np.clip((middle - plain) / np.maximum(half, 1.0), -1, 1)
    return Levelled(darkness.astype(np.float32), trust.astype(np.float32))


def blurred(values: Floats, radius: float) -> Floats:
    """Smoothed twice by a box, about as by a Gaussian of standard deviation `radius` pixels."""
    reach = round((np.sqrt(6 * radius * radius + 1) - 1) / 2)  # two boxes of that reach have that variance
    for axis in (0, 1, 0, 1) if reach else ():
        padding = [(reach + 1, reach) if axis == each else (0, 0) for each in (0, 1)]
        padded = np.pad(values, padding, mode="edge")
        sums = np.moveaxis(np.cumsum(padded, axis=axis, dtype=np.float64), axis, 0)
        width = 2 * reach + 1
        values = np.moveaxis((sums[width:] - sums[:-width]) / width, 0, axis).astype(np.float32)
    return values


def _extreme(values: Floats, reach: int, pick: np.ufunc) -> Floats:
    """The largest or smallest value within `reach` pixels along both axes: by doubling, then one overlap."""
    for axis in (0, 1):
        padding = [(reach, reach) if axis == each else (0, 0) for each in (0, 1)]
        row = np.moveaxis(np.pad(values, padding, mode="edge"), axis, 0)
        length, width, whole = values.shape[axis], 1, 2 * reach + 1
        while width * 2 <= whole:
            row = pick(row[:-width], row[width:])
            width *= 2
        rest = whole - width
        row = pick(row[: row.shape[0] - rest], row[rest:]) if rest else row
        values = np.moveaxis(row[:length], 0, axis)
    return values
