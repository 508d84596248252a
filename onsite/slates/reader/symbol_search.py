"""Where symbols are likeliest in a reduced picture, at a module a sample.

There are hundreds of candidate grids, and fitting one closely takes tens of milliseconds. So each is first
sampled once a module. What the modules that all slates of the shoot share explain of those samples, as they
are and blurred, tells a symbol from everything else, however it is held and however far it is out of focus.
The best candidates are then moved to where that share is greatest. Nothing here looks at a code.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFilter

from onsite.slates.qr_symbol import MODULES
from onsite.slates.reader.finder_patterns import FinderPattern
from onsite.slates.reader.grid_candidates import around_one, through_several
from onsite.slates.reader.module_grid import BENT, PLANE, Grid, Template, powers

_LEAST = 0.33  # share of the samples that a candidate has to explain: portraits hardly ever reach it
_FAIR = 0.45  # share from which no single finder pattern is tried
_STRONG = 0.65  # correlation from which a finder pattern may be the only visible one
_MOST_CLIMBED, _MOST_KEPT, _MOST_ALONE = 8, 3, 6
"""Most candidates that are moved, that are returned, and finder patterns tried as the only visible one."""
_APART = 3.0  # modules between the corners of candidates that are different

_MODULE = 2.0  # least pixels to a module in the picture that is sampled, where it has as many
_AROUND = 4  # modules to each side of the local mean
_CLEAR = 0.25  # difference from the local mean, as a share of it, that counts as fully dark or light
_FLAT = 0.0005  # variance that is no contrast at all
_BLURS = (0.0, 0.9, 1.8)  # standard deviations in modules of the blurs tried
_RIM = 2  # modules of the quiet zone that are sampled too

_ALONG = np.arange(-_RIM, MODULES + _RIM) + 0.5
_TERMS = powers(np.stack(np.meshgrid(_ALONG, _ALONG), axis=-1).reshape(-1, 2))[:, : PLANE + 1].astype(
    np.float32
)

_MOVES = np.concatenate([np.eye(2 * BENT)[: 2 * (PLANE + 1)] * way for way in (1, -1)]).reshape(-1, BENT, 2)
"""Moves of a grid by a module in each of its flat terms: (16, 10, 2)."""
_FIRST, _LAST = 2.0, 0.25  # modules: steps of a climb
_ROUNDS = 12  # most steps

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]


def likeliest(
    picture: Image.Image,
    suspected: Sequence[Grid],
    finders: Sequence[Sequence[FinderPattern]],
    template: Template,
) -> list[Grid]:
    """Return the likeliest grids of symbols in a grey picture, best first; none in nearly every portrait.

    They are among those `suspected`, and those through several finder patterns; where none of these is fair,
    through a single one.
    """
    search = _Search(picture, template)
    found = search.best([*suspected, *through_several(finders)])
    alone = sorted({each for some in finders for each in some}, key=lambda each: -each.likeness)
    if alone and alone[0].likeness > _STRONG and max((share for share, _ in found), default=0.0) < _FAIR:
        found += search.best([grid for each in alone[:_MOST_ALONE] for grid in around_one(each)])
    found = sorted((each for each in found if each[0] >= _LEAST), key=lambda each: -each[0])
    return _apart([grid for _, grid in found], _MOST_KEPT)


def _apart(grids: Sequence[Grid], most: int) -> list[Grid]:
    """Return the first of the grids that lie apart."""
    kept: list[Grid] = []
    for grid in grids:
        if len(kept) == most:
            break
        if not any(grid.near(each, _APART) for each in kept):
            kept.append(grid)
    return kept


class _Search:
    """A picture in which grids are sampled."""

    def __init__(self, picture: Image.Image, template: Template) -> None:
        self._picture = picture
        self._basis, self._plain = _basis(template.tobytes())
        self._levels: dict[int, Singles] = {}

    def best(self, grids: Sequence[Grid]) -> list[tuple[float, Grid]]:
        """Return the best of the grids that lie apart, each moved, and the share explained there."""
        if not grids:
            return []
        shares = self._shares(np.stack([grid.shape for grid in grids]))
        order = [grids[k] for k in np.argsort(-shares, kind="stable") if shares[k] > 0]
        return [self._climbed(grid) for grid in _apart(order, _MOST_CLIMBED)]

    def _climbed(self, grid: Grid) -> tuple[float, Grid]:
        """Move a grid step by step to where shared modules explain most: that share, and the grid there."""
        best, share, step = grid, 0.0, _FIRST
        for _ in range(_ROUNDS):
            tried = np.concatenate([best.shape[None], best.shape + _MOVES * (step * best.module)])
            shares = self._shares(tried)
            first = int(shares.argmax())
            best, share = Grid(tried[first]), float(shares[first])
            step = step if first else step / 2
            if step < _LAST:
                break
        return share, best

    def _shares(self, shapes: Floats) -> Floats:
        """Return the share that shared modules explain of the samples of each grid, (n, 10, 2): (n,)."""
        shares = np.zeros(len(shapes))
        modules = np.sqrt(np.abs(np.linalg.det(shapes[:, 1:3]))) * 2 / MODULES
        scales = np.maximum(modules / _MODULE, 1).astype(int)
        for scale in np.unique(scales).tolist():
            dark = self._sampled(scale, shapes[scales == scale, : PLANE + 1])
            parts = dark @ self._basis
            variance = (dark * dark).sum(axis=1) - parts[:, 0] ** 2 + _FLAT * len(self._plain)
            explained = (parts[:, 1:] ** 2).sum(axis=1) / variance
            shares[scales == scale] = np.where(dark @ self._plain > 0, explained, 0.0)
        return shares

    def _sampled(self, scale: int, shapes: Floats) -> Singles:
        """Return the darkness in the middle of each module of each grid: (n, 625), 0 beyond the edges."""
        if scale not in self._levels:
            grey = self._picture.reduce(scale) if scale > 1 else self._picture
            self._levels[scale] = np.pad(_darkness(grey), 1)
        dark = self._levels[scale]
        shapes = (shapes / scale).astype(np.float32)
        shapes[:, 0] += 1  # the rim of zeros
        columns, rows = (_TERMS @ shapes[..., axis].T for axis in (0, 1))
        height, width = dark.shape
        at = np.clip(rows, 0, height - 1).astype(np.int32) * width
        at += np.clip(columns, 0, width - 1).astype(np.int32)
        return dark.ravel()[at].T


def _darkness(grey: Image.Image) -> Singles:
    """Return 1 for dark to -1 for light, compared with the local mean."""
    mean = np.asarray(grey.filter(ImageFilter.BoxBlur(_AROUND * _MODULE)), np.float32)
    difference = mean - np.asarray(grey, np.float32)
    return np.asarray(np.clip(difference / (_CLEAR * mean + 1), -1, 1), np.float32)


@lru_cache(maxsize=4)
def _basis(template: bytes) -> tuple[Singles, Singles]:
    """Return an orthonormal basis, (625, 7), and the shared modules at the middle blur, (625,).

    The basis is of a constant, of the shared modules at every blur, compared with the local mean as the
    samples are, and of their second derivatives at the middle one: a blur along one direction, as of motion.
    """
    modules = np.frombuffer(template, np.int8).reshape(MODULES, MODULES)
    room = 3 * _AROUND
    drawn = np.pad(modules.astype(np.float64), room, constant_values=-1)
    rate = np.fft.fftfreq(len(drawn))
    off = np.minimum(np.arange(len(drawn)), np.arange(len(drawn), 0, -1))
    box = np.fft.fft((off <= _AROUND) / (2 * _AROUND + 1)).real
    soft = [np.exp(-2 * (np.pi * blur * rate) ** 2) for blur in _BLURS]
    passed = [np.outer(each, each) - np.outer(box, box) for each in soft]
    once, twice = soft[1] * 2j * np.pi * rate, soft[1] * (2j * np.pi * rate) ** 2
    passed += [np.outer(twice, soft[1]), np.outer(once, once), np.outer(soft[1], twice)]
    kept = slice(room - _RIM, _RIM - room)
    seen = [np.fft.ifft2(np.fft.fft2(drawn) * each).real[kept, kept].ravel() for each in passed]
    basis = np.linalg.qr(np.stack([np.ones_like(seen[0]), *seen], axis=1))[0]
    return basis.astype(np.float32), seen[1].astype(np.float32)
