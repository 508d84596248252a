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
class Similarity:
    """Where a pixel (x, y) of the pick is in the other picture: at (a x - b y + c, b x + a y + d), counted
    from the upper left corner of each, both in pixels."""

    a: float
    b: float
    c: float
    d: float

    def scaled(self, times: float) -> Similarity:
        """The same place with both pictures enlarged so many times."""
        return Similarity(self.a, self.b, self.c * times, self.d * times)

    def corrected(self, a: float, b: float, c: float, d: float) -> Similarity:
        """The place of what lies at (a x - b y + c, b x + a y + d) in the pick."""
        return Similarity(
            self.a * a - self.b * b,
            self.a * b + self.b * a,
            self.a * c - self.b * d + self.c,
            self.b * c + self.a * d + self.d,
        )

    @property
    def zoom(self) -> float:
        return hypot(self.a, self.b)


def gradient_directions(grey: Grey) -> NDArray[np.complex64]:
    """The direction of the edge at each pixel as a complex number of twice its angle, so that light on dark
    and dark on light are alike; near 1 in size at strong edges, near 0 where it is plain."""
    import numpy as np

    down, right = np.gradient(grey)
    edge = right + 1j * down
    strength = np.abs(edge)
    softly = strength / (strength + _PLAIN)
    turned: NDArray[np.complex64] = (softly * edge**2 / np.maximum(strength, 1e-6) ** 2).astype(np.complex64)
    return turned


class RegistrationTemplate:
    """A pick's edges, ready to be looked for in other pictures."""

    def __init__(self, pick: Image.Image) -> None:
        import numpy as np
        from PIL.Image import Resampling

        self.width = pick.width
        self.unit = COARSE / max(pick.size)
        size = _at_least_one(pick.width * self.unit, pick.height * self.unit)
        small = np.asarray(pick.resize(size, Resampling.BOX), np.float32)
        edges = gradient_directions(small)
        self.diagonal = hypot(*size)
        self._shape = edges.shape
        self._edges = np.fft.fft2(edges, (_SIDES, _SIDES))
        power = np.abs(edges) ** 2
        self._all = float(power.sum())
        self._sums = np.pad(np.pad(power, _SIDES // 2).cumsum(0).cumsum(1), ((1, 0), (1, 0)))

    def best_shift(self, edges: _Edges) -> tuple[float, int, int]:
        """(how well the other picture fits, 0 to 1; how far right and down in the pick its corner lies)."""
        import numpy as np

        (height, width), (rows, columns) = edges.shape, self._shape
        found = np.fft.ifft2(self._edges * edges.spectrum).real
        before = _SIDES // 2 - 1  # so far up and left of the pick the corner may lie
        found = np.concatenate((found[-before:], found[:rows]), 0)
        found = np.concatenate((found[:, -before:], found[:, :columns]), 1)
        sums = self._sums[1 : 1 + before + rows + height, 1 : 1 + before + columns + width]
        under = (
            sums[height:, width:] - sums[:-height, width:] - sums[height:, :-width] + sums[:-height, :-width]
        )
        under = np.maximum(under, 0.1 * self._all)  # a corner that fits well is no place
        fit = found / np.sqrt(under * edges.power + 1e-6)
        down, right = divmod(int(fit.argmax()), fit.shape[1])
        return float(fit[down, right]), right - before, down - before


@dataclass(frozen=True, slots=True)
class _Edges:
    """The edges of a picture in one size: the conjugate of their spectrum, and the sum of their squares."""

    shape: tuple[int, int]
    spectrum: NDArray[np.complex64]
    power: float


class RegistrationTarget:
    """A picture in which several patterns are looked for, or one: what is computed of it is kept."""

    def __init__(self, picture: Image.Image) -> None:
        self._picture = picture
        self._edges: dict[tuple[int, int], _Edges] = {}

    def rough_fit(self, pattern: RegistrationTemplate) -> float:
        """How well a pattern of about the same framing fits, 0 to 1: to put many in an order, quickly."""
        return self._best(pattern, _SCALES[:1])[1]

    def place(self, pattern: RegistrationTemplate) -> tuple[Similarity, float]:
        """(where the pattern lies, roughly; how well it fits, 0 to 1)."""
        return self._best(pattern, _SCALES)

    def _best(self, pattern: RegistrationTemplate, scales: Sequence[float]) -> tuple[Similarity, float]:
        picture, unit = self._picture, pattern.unit
        best, best_fit, best_scale = Similarity(picture.width / pattern.width, 0.0, 0.0, 0.0), 0.0, 1.0
        for scale in scales:
            if best_fit > _SURE and abs(log(scale)) > abs(log(best_scale)) + 0.1:
                break
            size = scale * pattern.diagonal / hypot(*picture.size)
            wide, high = _at_least_one(picture.width * size, picture.height * size)
            if min(wide, high) < COARSE // 6 or max(wide, high) > _SIDES // 2:
                continue
            fit, right, down = pattern.best_shift(self._in_size(wide, high))
            if fit > best_fit:
                zoom = picture.width / wide * unit
                best = Similarity(zoom, 0.0, -right / unit * zoom, -down / unit * zoom)
                best_fit, best_scale = fit, scale
        return best, best_fit

    def _in_size(self, wide: int, high: int) -> _Edges:
        import numpy as np
        from PIL.Image import Resampling

        known = self._edges.get((wide, high))
        if known is None:
            small = np.asarray(self._picture.resize((wide, high), Resampling.BOX), np.float32)
            edges = gradient_directions(small)
            spectrum = np.conj(np.fft.fft2(edges, (_SIDES, _SIDES)))
            known = _Edges((high, wide), spectrum, float((np.abs(edges) ** 2).sum()))
            self._edges[wide, high] = known
        return known


def _at_least_one(width: float, height: float) -> tuple[int, int]:
    return max(round(width), 1), max(round(height), 1)
