"""A grid fitted to a symbol, together with the point spread function of the blur.

Always to the modules that all slates of the shoot share. Nothing here looks at a code, so trying many grids
does not raise the probability of a wrong code (`closed_set`).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from PIL import Image, ImageFilter

from onsite.slates.qr_symbol import MODULES
from onsite.slates.reader.module_grid import (
    Floats,
    Greys,
    Grid,
    Singles,
    Template,
    darkness,
    local_mean,
    sampled,
)
from onsite.slates.reader.point_spread import (
    PLACES,
    free_modules,
    lattice,
    moved,
    spread_over,
)

BLOWN = 250
"""Grey value, of 255, from which a pixel may be glare and says nothing about the module below it."""

MODULE = 4.0
"""Pixels to a module in the part of the picture around a symbol: two to a sample."""

_MARGIN = 8  # modules around a symbol in that part
_AROUND = 4  # modules to each side that darkness is compared with
_FULL = 0.67  # difference of ink and of paper from their mean, over the mean: greys of 0.2 and 1
_ENLARGED = 4.0  # largest enlargement: beyond it there is no more detail
_OVEREXPOSED = 0.3  # share of the pixels: if more are blown out, it is the paper and not glare
_LOOKS = 3  # most of a fit, with a move of the grid between: more read no frame more (of 183 hard ones)
_LEAST = 0.4  # share explained of a symbol, from the start
_ROUNDED = np.array([0.3 / 127.5, 0.01], np.float32)
"""Standard deviation of rounding to 8 bits, in greys and in darkness."""


@dataclass(frozen=True, eq=False)
class FittedSymbol:
    """What is seen on a grid."""

    grid: Grid
    explained: float
    """Share of the samples' variance that shared modules explain through a point spread function."""
    agreement: float
    """Of the darkness of each module, -1 to 1 and 0 under glare, with the modules that all slates share."""
    free: Floats
    """Half the log odds that each free module is dark: (137,)."""


def fitted_symbol(picture: Image.Image, start: Grid, template: Template) -> FittedSymbol | None:
    """Fit a grid near `start` to a symbol in a grey picture.

    None where too little is in sight or explained.
    """
    around = _MARGIN * start.module
    low = np.maximum(np.floor(start.corners.min(axis=0) - around), 0)
    high = np.minimum(np.ceil(start.corners.max(axis=0) + around), picture.size)
    if (high - low).min() < 2 * around:
        return None
    factor = min(MODULE / max(start.module, 0.1), _ENLARGED)
    size = np.maximum((high - low) * factor, 8).astype(int)
    method = Image.Resampling.BOX if factor < 1 else Image.Resampling.BICUBIC
    planes = _planes(np.asarray(picture.resize(tuple(size), method, box=(*low, *high))))
    scale = size / (high - low)
    grid, best = start.moved(low, scale), None
    for _ in range(_LOOKS):
        light, dark, trust = sampled(planes, lattice(grid)).T.astype(np.float32)
        # Blur asks for the greys as they are, shadow and glare for what they are to their local mean.
        look = spread_over(np.stack([light, dark], axis=1), _ROUNDED, trust, template)
        if look is None or look.explained < (best.explained if best else _LEAST):
            break
        free, off = free_modules(look, template)
        agreement = float(np.mean(_by_module(dark * trust)[template != 0] * template[template != 0]))
        best = FittedSymbol(grid.moved(-low * scale, 1 / scale), look.explained, agreement, free)
        grid = moved(look, off, grid)
    return best


def _planes(grey: Greys) -> Singles:
    """Return how dark each pixel is; how dark compared with the local mean; and 0 where it may be glare:
    (height, width, 3)."""
    mean = np.asarray(local_mean(Image.fromarray(grey), _AROUND * MODULE))
    blown = grey >= BLOWN
    wide = np.asarray(
        Image.fromarray(blown).convert("L").filter(ImageFilter.MaxFilter(5))
    )  # by half a module
    shows = (wide == 0) | (blown.mean() > _OVEREXPOSED)
    planes = np.stack([1 - grey / np.float32(127.5), darkness(grey, mean, _FULL), shows], axis=-1)
    return planes.astype(np.float32)


def _by_module(values: Floats | Singles) -> Floats:
    """Return the mean of the samples in each module: (21, 21)."""
    inner = np.all((PLACES > 0) & (PLACES < MODULES), axis=1)
    side = int(np.sqrt(inner.sum())) // MODULES
    return np.asarray(values[inner].reshape(MODULES, side, MODULES, side).mean(axis=(1, 3)), np.float64)
