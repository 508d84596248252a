"""A symbol seen through blur: the point spread function, and the free modules behind it.

Samples lie in a lattice over the symbol, two to a module. Blur, sharpening, gain and most of an error of the
grid make each of them a weighted sum of what the paper shows nearby:

    y(p) = sum of h(q) m(p + q) + c(p) + noise,    m = 1 for dark and -1 for light

The weights h, the point spread function, are fitted by ridge regression to the samples that see nothing but
modules which all slates of the shoot share. Through it the samples are linear in the free modules s:
y = A s + known part + noise, whose variance is that of the residual. If each s were normal with variance 1,
its best estimate would be (A'WA + 1)^-1 A'W y (ridge regression and the linear minimum mean square error
estimate: S. Kay, Fundamentals of Statistical Signal Processing I, 1993; from memory); divided by the variance
that is left it is half the log odds that the module is dark.

Nothing here looks at a code, so values made this way may be compared with all of them (`closed_set`).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from onsite.slates.qr_symbol import MODULES, QUIET_ZONE
from onsite.slates.reader.module_grid import (
    TERMS,
    Floats,
    Grid,
    Singles,
    Template,
    grid_through,
    powers,
)

_FINE = 2  # samples to a module: blur leaves no finer detail
_REACH = 5  # samples that the point spread function extends to each side
_WIDTH = 2 * _REACH + 1
_DRAWN = (MODULES + 2 * QUIET_ZONE) * _FINE  # samples along a symbol drawn with its quiet zone
_SIDE = _DRAWN - 2 * _REACH  # samples along the lattice: each sees only what is drawn

_ALONG = (np.arange(_SIDE) + _REACH + 0.5) / _FINE - QUIET_ZONE
PLACES = np.stack(np.meshgrid(_ALONG, _ALONG), axis=-1).reshape(-1, 2)
"""Places of the samples on the symbol, in modules: (2304, 2)."""

_POWERS = powers(PLACES)
_OFF = np.arange(-_REACH, _REACH + 1) / _FINE

_EVEN = 3  # terms of c, an even slope
_RIDGE = np.append(0.5 + 50 * np.add.outer(_OFF**2, _OFF**2), [1e-6] * _EVEN)
"""Ridge penalties in samples of unit variance: for the weights by their distance in modules squared, so that
they make up for no more of an error of the grid than blur asks for; and for c."""

_STIFF = 0.02  # of what moving a term of the grid lowers, its penalty
_OUTLIER = 2.0  # residuals of so many deviations weigh half
_LEAST = 600  # samples in sight that a symbol needs: a quarter of all


@dataclass(frozen=True, eq=False)
class Spread:
    """A point spread function, (11, 11), fitted to one lattice of samples; the others are (2304,)."""

    weights: Singles
    darkness: Singles
    left: Singles
    """What the shared modules leave of each sample."""
    trust: Singles
    """Weight of each sample, 0 to 1."""
    noise: float
    """Variance of the residual."""
    explained: float
    """Share that the shared modules explain of the samples' variance about an even slope, at most 1."""


@lru_cache(maxsize=4)
def _drawn(template: bytes) -> tuple[Singles, NDArray[np.bool_]]:
    """Return what each sample sees of a template, (2304, 121), with the terms of c, (2304, 124); and which
    samples see no free module."""
    modules = np.frombuffer(template, np.int8).reshape(MODULES, MODULES)

    def around(values: Floats, rim: float) -> Floats:
        fine = np.pad(values, QUIET_ZONE, constant_values=rim).repeat(_FINE, 0).repeat(_FINE, 1)
        return sliding_window_view(fine, (_WIDTH, _WIDTH)).reshape(-1, _WIDTH * _WIDTH)

    free = around((modules == 0).astype(np.float64), 0.0).max(axis=1)
    seen = np.hstack([around(modules.astype(np.float64), -1.0), _POWERS[:, :_EVEN]])
    return seen.astype(np.float32), free == 0


def spread_over(kinds: Singles, floors: Singles, trust: Singles, template: Template) -> Spread | None:
    """Fit the point spread function to samples, (2304, k), of the kind that shared modules explain best.

    `trust` weights them; `floors`, (k,), are the least standard deviations of their noise: of rounding to
    8 bits. None if too few samples are in sight.
    """
    drawn, plain = _drawn(template.tobytes())
    plain = plain & (trust > 0)
    seen, wanted, weight = drawn[plain], kinds[plain], trust[plain]
    if trust.sum() < _LEAST or weight.sum() < _LEAST / 2:
        return None
    _, off = _regression(seen, wanted, weight)
    _, uneven = _regression(seen[:, -_EVEN:], wanted, weight)
    spreads = []
    for kind, floor in enumerate(floors.tolist()):
        robust, _ = _robust(off[:, kind], weight, weight, floor)
        fitted, left = _regression(seen, wanted[:, kind], robust)
        total = float(weight @ uneven[:, kind] ** 2 + weight.sum() * floor**2)
        explained = 1 - float(weight @ left**2) / total
        robust, noise = _robust(left, weight, robust, floor)
        trusted = trust.copy()
        trusted[plain] = robust
        weights, darkness = fitted[:-_EVEN].reshape(_WIDTH, _WIDTH), kinds[:, kind]
        spreads.append(Spread(weights, darkness, darkness - drawn @ fitted, trusted, noise, explained))
    return max(spreads, key=lambda spread: spread.explained)


def _regression(seen: Singles, wanted: Singles, weight: Singles) -> tuple[Singles, Singles]:
    """Return the coefficients of the last so many columns of what samples see, and what they leave of it."""
    heavy = seen.T * weight
    normal = (heavy @ seen).astype(np.float64)
    normal[np.diag_indices(len(normal))] += _RIDGE[-len(normal) :]
    fitted = np.linalg.solve(normal, heavy @ wanted).astype(np.float32)
    return fitted, wanted - seen @ fitted


def _robust(off: Singles, weight: Singles, before: Singles, floor: float) -> tuple[Singles, float]:
    """Return the weights of samples with these residuals, outliers less, and the variance of noise."""
    noise = float(before @ off**2 / before.sum()) + floor**2
    return np.asarray(weight / (1 + off**2 / (_OUTLIER**2 * noise)), np.float32), noise


def _through(weights: Singles, template: Template) -> Singles:
    """Return what a dark instead of an unknown module adds to each sample: A transposed, (137, 2304)."""
    blot = sliding_window_view(np.pad(weights[::-1, ::-1], _FINE - 1), (_FINE, _FINE)).sum(axis=(2, 3))
    wherever = sliding_window_view(np.pad(blot, _DRAWN), (_SIDE, _SIDE))
    rows, columns = (_DRAWN + _WIDTH - 1 - (np.argwhere(template == 0) + QUIET_ZONE) * _FINE).T
    return wherever[rows, columns].reshape(len(rows), -1)


def free_modules(spread: Spread, template: Template) -> tuple[Floats, Singles]:
    """Return half the log odds that each free module is dark, (137,), and what these modules leave of each
    sample."""
    each = _through(spread.weights, template)
    heavy = each * (spread.trust / np.float32(spread.noise))
    left = np.linalg.inv((heavy @ each.T).astype(np.float64) + np.eye(len(each)))
    expected = left @ (heavy @ spread.left)
    return expected / np.diag(left), spread.left - expected.astype(np.float32) @ each


def moved(spread: Spread, off: Singles, grid: Grid) -> Grid:
    """Return the grid that lowers the residual `off`, by one Gauss-Newton step."""
    expected = (spread.darkness - off).reshape(_SIDE, _SIDE)
    down, along = (slope.reshape(-1, 1) * _FINE for slope in np.gradient(expected))
    slopes = np.hstack([_POWERS * along, _POWERS * down])
    heavy = slopes * spread.trust[:, None]
    normal = heavy.T @ slopes
    normal[np.diag_indices(len(normal))] += _STIFF * np.trace(normal) / len(normal) + 1e-9
    steps = _POWERS @ np.linalg.solve(normal, heavy.T @ off).reshape(2, TERMS).T
    return grid_through(PLACES + steps, lattice(grid))


def lattice(grid: Grid) -> Floats:
    """Return where the samples of a grid lie in the picture: (2304, 2)."""
    return np.asarray(_POWERS @ grid.shape)
