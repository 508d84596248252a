"""Registration: the scale and shift that lay one picture over another.

A retouched file shows the pick, or a part of it, at another size. The directions of edges, which survive
changes of light and colour, are correlated at many scales (orientation correlation, Fitch and others, BMVC
2002; from memory). `block_matching` refines the result, rotation included.
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
"""Long side of the pick in pixels for the coarse search."""

_SIDES = 2 * COARSE + 32
_SCALES = sorted((1.045**step for step in range(-23, 6)), key=lambda scale: abs(log(scale)))
"""Diagonal of the returned picture over that of the pick: from a crop to a third of it to an extended canvas.
The most likely come first."""

_SURE = 0.55
"""A fit that no other scale will improve; different people stay below 0.2."""

_PLAIN = 4.0
"""Gradient, in grey levels a pixel, at which an edge has half the weight."""


@dataclass(frozen=True, slots=True)
class Similarity:
    """A similarity transform. It maps the pick's pixel (x, y) to (a x - b y + c, b x + a y + d) in the other
    picture; both are in pixels from the upper left corner."""

    a: float
    b: float
    c: float
    d: float

    def scaled(self, times: float) -> Similarity:
        """The same transform with both pictures enlarged by a factor."""
        return Similarity(self.a, self.b, self.c * times, self.d * times)

    def corrected(self, a: float, b: float, c: float, d: float) -> Similarity:
        """The transform applied after (x, y) -> (a x - b y + c, b x + a y + d) in the pick."""
        return Similarity(
            self.a * a - self.b * b,
            self.a * b + self.b * a,
            self.a * c - self.b * d + self.c,
            self.b * c + self.a * d + self.d,
        )

    @property
    def zoom(self) -> float:
        """The scale factor."""
        return hypot(self.a, self.b)


def gradient_directions(grey: Grey) -> NDArray[np.complex64]:
    """Gradient directions as complex numbers with twice their angle, so that light on dark equals dark on
    light; the magnitude is near 1 at strong edges and near 0 on plain areas."""
    import numpy as np

    down, right = np.gradient(grey)
    edge = right + 1j * down
    strength = np.abs(edge)
    softly = strength / (strength + _PLAIN)
    turned: NDArray[np.complex64] = (softly * edge**2 / np.maximum(strength, 1e-6) ** 2).astype(np.complex64)
    return turned


class RegistrationTemplate:
    """The pick's edges, prepared for searching them in other pictures."""

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
        """(correlation with the other picture, 0 to 1; shift right and down of its corner in the pick)."""
        import numpy as np

        (height, width), (rows, columns) = edges.shape, self._shape
        found = np.fft.ifft2(self._edges * edges.spectrum).real
        before = _SIDES // 2 - 1  # the farthest that the corner may lie up and left of the pick
        found = np.concatenate((found[-before:], found[:rows]), 0)
        found = np.concatenate((found[:, -before:], found[:, :columns]), 1)
        sums = self._sums[1 : 1 + before + rows + height, 1 : 1 + before + columns + width]
        under = (
            sums[height:, width:] - sums[:-height, width:] - sums[height:, :-width] + sums[:-height, :-width]
        )
        under = np.maximum(under, 0.1 * self._all)  # a small overlap that fits well proves nothing
        fit = found / np.sqrt(under * edges.power + 1e-6)
        down, right = divmod(int(fit.argmax()), fit.shape[1])
        return float(fit[down, right]), right - before, down - before


@dataclass(frozen=True, slots=True)
class _Edges:
    """The edges of a picture at one size: conjugate of their spectrum, and the sum of their squares."""

    shape: tuple[int, int]
    spectrum: NDArray[np.complex64]
    power: float


class RegistrationTarget:
    """A picture in which templates are searched, with a cache of its edges by size."""

    def __init__(self, picture: Image.Image) -> None:
        self._picture = picture
        self._edges: dict[tuple[int, int], _Edges] = {}

    def rough_fit(self, pattern: RegistrationTemplate) -> float:
        """How well a template of about the same framing fits, 0 to 1: quick, for sorting many candidates."""
        return self._best(pattern, _SCALES[:1])[1]

    def place(self, pattern: RegistrationTemplate) -> tuple[Similarity, float]:
        """(coarse registration, without rotation; how well it fits, 0 to 1)."""
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
