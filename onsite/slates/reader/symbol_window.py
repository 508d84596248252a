"""A part of the picture around a symbol, in which its grid is fitted and its modules are seen."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from PIL import Image

from onsite.slates.reader.illumination import BLOWN, Greys, Levelled, levelled
from onsite.slates.reader.module_grid import (
    BENT,
    TILTED,
    Floats,
    Grid,
    Template,
    agreement,
    glare_over,
    sampled,
    values,
)
from onsite.slates.reader.point_spread import (
    NormalEquations,
    Spread,
    lattice,
    moved,
    seen_through,
    spread_over,
)

MODULE = 4.0  # pixels to a module in a window: two to a sample
_MARGIN = 8  # modules around a symbol that its window includes
_ENLARGED = 4.0  # largest enlargement: beyond it there is no more detail
_STEPS = (TILTED, BENT, BENT, BENT, BENT)
"""Terms of the grid that each step of a fit moves."""
_STILL = 0.05  # modules: a grid that moves less has arrived
_BETTER = 0.005  # share explained or agreement that a move has to add for another to follow
_LEAST = 0.4  # share explained of a symbol, from the start
_ROUNDED = 0.3 / 127.5, 0.01
"""Standard deviation of rounding to 8 bits, in greys and in levelled darkness, which is rounded twice."""


@dataclass(frozen=True, eq=False)
class FittedGrid:
    """A fitted grid and what is seen there."""

    grid: Grid
    seen: Floats
    """Trusted darkness in the centre of each module: (21, 21)."""
    agreement: float
    """Of `seen` with the modules that all slates share."""
    explained: float
    """Share of the variance of the samples that those modules explain through a point spread function."""
    evidence: NormalEquations


@dataclass(frozen=True, eq=False)
class Look:
    """What a window shows on a grid, which is in the window's pixels here."""

    grid: Grid
    spread: Spread
    seen: Floats
    """Trusted darkness in the centre of each module: (21, 21)."""
    agreement: float
    """Of `seen` with the modules that all slates share."""

    def better_than(self, other: Look) -> bool:
        """Whether it explains or agrees more, by enough for a fit to go on."""
        explains = self.spread.explained - other.spread.explained
        return max(explains, self.agreement - other.agreement) >= _BETTER


@dataclass(frozen=True, eq=False)
class SymbolWindow:
    """A crop of the picture from `origin` to `end`, scaled so that modules are about `MODULE` pixels."""

    origin: Floats
    end: Floats
    scale: Floats
    grey: Greys
    template: Template
    lights: dict[int | None, Levelled]

    def holds(self, grid: Grid) -> bool:
        """Whether a grid lies inside the window and has about the right module size."""
        corners = grid.corners
        inside = np.all(corners.min(axis=0) >= self.origin) and np.all(corners.max(axis=0) <= self.end)
        return bool(inside) and 0.75 < grid.module * self.scale[0] / MODULE < 1.35

    def fitted(self, start: Grid) -> FittedGrid | None:
        """Fit the grid near `start`, in the picture's pixels, first in perspective, then bent.

        None where too little is in sight or explained.
        """
        look = self._look(start.moved(self.origin, self.scale))
        best = before = None
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
        back = best.grid.moved(-self.origin * self.scale, 1 / self.scale)
        return FittedGrid(back, best.seen, best.agreement, best.spread.explained, evidence)

    def _look(self, grid: Grid) -> Look | None:
        """Look at the greys as they are, and corrected for illumination: blur asks for the first, shadow and
        glare for the other. What the shared modules explain better counts."""
        light = self._light(grid)
        shows = self.grey < BLOWN if light.glared else np.ones_like(self.grey, bool)
        points, spreads = lattice(grid), []
        for dark, trusted, rounded in (
            (255 - self.grey, 255 * shows, _ROUNDED[0]),
            (light.darkness, light.trust, _ROUNDED[1]),
        ):
            planes = np.stack([dark, trusted], axis=-1).astype(np.float32)
            darkness, trust = (sampled(planes, points).T / 255).astype(np.float32)
            if (spread := spread_over(2 * darkness - 1, trust, self.template, rounded)) is not None:
                spreads.append(spread)
        if not spreads:
            return None
        best = max(spreads, key=lambda each: each.explained)
        seen = values(light.trusted, grid)
        return Look(grid, best, seen, agreement(seen, self.template))

    def _light(self, grid: Grid) -> Levelled:
        """Return the window corrected for illumination, glare on this grid masked."""
        paper = glare_over(self.grey, grid, self.template)
        step = None if paper is None else round(paper / 8) * 8
        if step not in self.lights:
            self.lights[step] = levelled(self.grey, grid.module, step)
        return self.lights[step]


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
    windows.append(SymbolWindow(low, high, size / (high - low), np.asarray(part), template, {}))
    return windows[-1]
