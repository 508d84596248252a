"""Where a picture lies in another one: by how much it is enlarged, turned and moved.

A retouched file shows the pick, or a part of it, in another size. Its place is found coarsely by correlating
the directions of edges, which survive other light and other colours (orientation correlation, Fitch and
others, BMVC 2002; from memory), at many scales; then finely (`blocks`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot, log
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray
    from PIL import Image

    Grey = NDArray[np.float32]

COARSE = 96
"""Pixels on the long side of the pick for the coarse search."""

_SIDES = 2 * COARSE + 32
_SCALES = sorted((1.045**step for step in range(-23, 6)), key=lambda scale: abs(log(scale)))
"""The diagonal of the returned picture over that of the pick: from a crop to a third of it to a wider canvas.
The likeliest come first."""

_SURE = 0.55
"""A fit that no other scale will better; two different people are below 0.2."""

_PLAIN = 4.0
"""Grey levels a pixel at which an edge counts half."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where a pixel (x, y) of the pick is in the other picture: at (a x - b y + c, b x + a y + d), counted
    from the upper left corner of each, both in pixels."""

    a: float
    b: float
    c: float
    d: float

    def scaled(self, times: float) -> Place:
        """The same place with both pictures enlarged so many times."""
        return Place(self.a, self.b, self.c * times, self.d * times)

    def corrected(self, a: float, b: float, c: float, d: float) -> Place:
        """The place of what lies at (a x - b y + c, b x + a y + d) in the pick."""
        return Place(
            self.a * a - self.b * b,
            self.a * b + self.b * a,
            self.a * c - self.b * d + self.c,
            self.b * c + self.a * d + self.d,
        )

    @property
    def zoom(self) -> float:
        return hypot(self.a, self.b)


def directions(grey: Grey) -> NDArray[np.complex64]:
    """The direction of the edge at each pixel as a complex number of twice its angle, so that light on dark
    and dark on light are alike; near 1 in size at strong edges, near 0 where it is plain."""
    import numpy as np

    down, right = np.gradient(grey)
    edge = right + 1j * down
    strength = np.abs(edge)
    softly = strength / (strength + _PLAIN)
    turned: NDArray[np.complex64] = (softly * edge**2 / np.maximum(strength, 1e-6) ** 2).astype(np.complex64)
    return turned


def coarse_place(pick: Image.Image, other: Image.Image) -> tuple[Place, float]:
    """(where `pick` lies in `other`, roughly; how well it fits, 0 to 1). Both are upright and grey."""
    return _searched(pick, other, _SCALES)


def rough_fit(pick: Image.Image, other: Image.Image) -> float:
    """How well two pictures of about the same framing fit, 0 to 1: to put many in an order, quickly."""
    return _searched(pick, other, _SCALES[:1])[1]


def _searched(pick: Image.Image, other: Image.Image, scales: Sequence[float]) -> tuple[Place, float]:
    import numpy as np
    from PIL.Image import Resampling

    unit = COARSE / max(pick.size)
    small = pick.resize(_at_least_one(pick.width * unit, pick.height * unit), Resampling.BOX)
    edges = _Spectrum(directions(np.asarray(small, np.float32)))
    best, best_fit, best_scale = Place(other.width / pick.width, 0.0, 0.0, 0.0), 0.0, 1.0
    for scale in scales:
        if best_fit > _SURE and abs(log(scale)) > abs(log(best_scale)) + 0.1:
            break
        size = scale * hypot(*small.size) / hypot(*other.size)
        wide, high = _at_least_one(other.width * size, other.height * size)
        if min(wide, high) < COARSE // 6 or max(wide, high) > _SIDES // 2:
            continue
        its = directions(np.asarray(other.resize((wide, high), Resampling.BOX), np.float32))
        fit, right, down = edges.best_shift(its)
        if fit > best_fit:
            zoom = other.width / wide * unit
            best = Place(zoom, 0.0, -right / unit * zoom, -down / unit * zoom)
            best_fit, best_scale = fit, scale
    return best, best_fit


class _Spectrum:
    """The pick's edges, ready to be correlated with those of other pictures."""

    def __init__(self, edges: NDArray[np.complex64]) -> None:
        import numpy as np

        self._shape = edges.shape
        self._edges = np.fft.fft2(edges, (_SIDES, _SIDES))
        power = np.abs(edges) ** 2
        self._all = float(power.sum())
        self._sums = np.pad(np.pad(power, _SIDES // 2).cumsum(0).cumsum(1), ((1, 0), (1, 0)))

    def best_shift(self, its: NDArray[np.complex64]) -> tuple[float, int, int]:
        """(how well the other picture fits, 0 to 1; how far right and down in the pick its corner lies)."""
        import numpy as np

        (height, width), (rows, columns) = its.shape, self._shape
        found = np.fft.ifft2(self._edges * np.conj(np.fft.fft2(its, (_SIDES, _SIDES)))).real
        before = _SIDES // 2 - 1  # so far up and left of the pick the corner may lie
        found = np.concatenate((found[-before:], found[:rows]), 0)
        found = np.concatenate((found[:, -before:], found[:, :columns]), 1)
        sums = self._sums[1 : 1 + before + rows + height, 1 : 1 + before + columns + width]
        under = (
            sums[height:, width:] - sums[:-height, width:] - sums[height:, :-width] + sums[:-height, :-width]
        )
        under = np.maximum(under, 0.1 * self._all)  # a corner that fits well is no place
        fit = found / np.sqrt(under * float((np.abs(its) ** 2).sum()) + 1e-6)
        down, right = divmod(int(fit.argmax()), fit.shape[1])
        return float(fit[down, right]), right - before, down - before


def _at_least_one(width: float, height: float) -> tuple[int, int]:
    return max(round(width), 1), max(round(height), 1)
