"""A part of the picture around a symbol, in which its grid is fitted and its modules are seen."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFilter

from onsite.slates.qr_symbol import MODULES
from onsite.slates.reader.module_grid import (
    BENT,
    TILTED,
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
    NormalEquations,
    Spread,
    lattice,
    moved,
    seen_through,
    spread_over,
)

BLOWN = 250
"""Grey value, of 255, from which a pixel may be glare and says nothing about the module below it."""

MODULE = 4.0  # pixels to a module in a window: two to a sample
_MARGIN = 8  # modules around a symbol that its window includes
_AROUND = 4  # modules to each side that darkness is compared with
_FULL = 0.67  # difference of ink and of paper from their mean, over the mean: greys of 0.2 and 1
_ENLARGED = 4.0  # largest enlargement: beyond it there is no more detail
_OVEREXPOSED = 0.6  # share of the white modules: if more are blown out, it is the paper and not glare
_STEPS = (TILTED, BENT, BENT, BENT, BENT)
"""Terms of the grid that each step of a fit moves."""
_STILL = 0.05  # modules: a grid that moves less has arrived
_BETTER = 0.005  # share explained or agreement that a move has to add for another to follow
_LEAST = 0.4  # share explained of a symbol, from the start
_ROUNDED = 0.3 / 127.5, 0.01
"""Standard deviation of rounding to 8 bits, in greys and in darkness."""


@dataclass(frozen=True, eq=False)
class Look:
    """What a window shows on a grid, which is in the window's pixels here."""

    grid: Grid
    spread: Spread
    seen: Floats
    """Darkness of each module, 0 under glare: (21, 21)."""
    agreement: float
    """Of `seen` with the modules that all slates share."""

    def better_than(self, other: Look) -> bool:
        """Whether it explains or agrees more, by enough for a fit to go on."""
        explains = self.spread.explained - other.spread.explained
        return max(explains, self.agreement - other.agreement) >= _BETTER


@dataclass(frozen=True, eq=False)
class FittedGrid:
    """A fitted grid, in the picture's pixels, and what is seen there."""

    grid: Grid
    look: Look
    evidence: NormalEquations

    @property
    def explained(self) -> float:
        """Share of the samples' variance that shared modules explain through a point spread function."""
        return self.look.spread.explained

    @property
    def likeness(self) -> float:
        """Share explained, which blur leaves, plus twice the agreement, which it does not."""
        return self.explained + 2 * self.look.agreement


@dataclass(frozen=True, eq=False)
class SymbolWindow:
    """A crop of the picture from `origin` to `end`, scaled so that modules are about `MODULE` pixels."""

    origin: Floats
    end: Floats
    scale: Floats
    grey: Greys
    template: Template

    def holds(self, grid: Grid) -> bool:
        """Whether a grid lies inside the window and has about the right module size."""
        corners = grid.corners
        inside = np.all(corners.min(axis=0) >= self.origin) and np.all(corners.max(axis=0) <= self.end)
        return bool(inside) and 0.75 < grid.module * self.scale[0] / MODULE < 1.35

    def fitted(self, start: Grid) -> FittedGrid | None:
        """Fit the grid near `start`, in the picture's pixels, first in perspective, then bent.

        None where too little is in sight or explained.
        """
        best = before = None
        look = self._look(start.moved(self.origin, self.scale))
        for terms in _STEPS:
            if look is None or look.spread.explained < _LEAST or (before and not look.better_than(before)):
                break
            through, off, trust = seen_through(look.spread, self.template)
            if best is None or look.spread.explained > best.spread.explained:
                best, evidence = look, through
            before = look
            grid = moved(look.spread, off, trust, look.grid, terms)
            if np.abs(grid.corners - look.grid.corners).max() < _STILL * grid.module:
                break
            look = self._look(grid)
        if best is None:
            return None
        return FittedGrid(best.grid.moved(-self.origin * self.scale, 1 / self.scale), best, evidence)

    def _look(self, grid: Grid) -> Look | None:
        """Look at the greys as they are, and compared with their local mean: blur asks for the first, shadow
        and glare for the other. What the shared modules explain better counts."""
        points = lattice(grid)
        plain, shows = self._without_glare(points)
        mean = np.asarray(local_mean(Image.fromarray(plain), _AROUND * MODULE))
        planes = np.stack([1 - plain / np.float32(127.5), darkness(plain, mean, _FULL), shows], axis=-1)
        grey, dark, trust = sampled(planes.astype(np.float32), points).T.astype(np.float32)
        spreads = [
            spread
            for values, rounded in zip((grey, dark), _ROUNDED, strict=True)
            if (spread := spread_over(values, trust, self.template, rounded)) is not None
        ]
        if not spreads:
            return None
        known = self.template != 0
        seen = _by_module(dark * trust)
        agreement = float(np.mean(seen[known] * self.template[known]))
        return Look(grid, max(spreads, key=lambda each: each.explained), seen, agreement)

    def _without_glare(self, points: Floats) -> tuple[Greys, NDArray[np.bool_]]:
        """Return the window with glare on a symbol sampled at `points` replaced by paper, and where there is
        none."""
        white = _by_module(sampled(self.grey[..., None], points)[:, 0])[self.template < 0]
        blown = white >= BLOWN
        if not 0 < blown.mean() <= _OVEREXPOSED:
            return self.grey, np.ones(self.grey.shape, bool)
        paper = np.percentile(white[~blown], 80)
        glare = Image.fromarray(np.where(self.grey > (paper + BLOWN) / 2, 255, 0).astype(np.uint8))
        wide = np.asarray(glare.filter(ImageFilter.MaxFilter(5)))  # by half a module
        return np.where(np.asarray(glare), np.uint8(paper), self.grey), wide == 0


def _by_module(values: Floats | Singles) -> Floats:
    """Return the mean of the samples in each module: (21, 21)."""
    inner = np.all((PLACES > 0) & (PLACES < MODULES), axis=1)
    side = int(np.sqrt(inner.sum())) // MODULES
    return np.asarray(values[inner].reshape(MODULES, side, MODULES, side).mean(axis=(1, 3)), np.float64)


def window_for(
    picture: Image.Image, grid: Grid, template: Template, windows: list[SymbolWindow]
) -> SymbolWindow | None:
    """Return the window for a grid: from `windows`, else a new one added there; None beyond the edges."""
    for window in windows:
        if window.holds(grid):
            return window
    corners, around = grid.corners, _MARGIN * grid.module
    low = np.maximum(np.floor(corners.min(axis=0) - around), 0)
    high = np.minimum(np.ceil(corners.max(axis=0) + around), picture.size)
    if (high - low).min() < 2 * around:
        return None
    factor = min(MODULE / max(grid.module, 0.1), _ENLARGED)
    size = np.maximum((high - low) * factor, 8).astype(int)
    method = Image.Resampling.BOX if factor < 1 else Image.Resampling.BICUBIC
    part = picture.resize(tuple(size), method, box=(*low, *high))
    windows.append(SymbolWindow(low, high, size / (high - low), np.asarray(part), template))
    return windows[-1]
