"""Where a picture lies in another one: by how much it is enlarged, turned and moved.

A retouched file shows the pick, or a part of it, in another size. Its place is found coarsely by correlating
the directions of edges, which survive other light and other colours (orientation correlation, Fitch and
others, BMVC 2002; from memory), at many scales; then finely by fitting a scale, a turn and a shift to where
the blocks of one picture are found in the other.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot, log
from typing import TYPE_CHECKING, Any

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

EDGE = 6
"""Pixels at the border of the returned picture that are not compared."""

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

    def scaled(self, pick: float, other: float) -> Place:
        """The same place with the pick enlarged `pick` times and the other picture `other` times."""
        return Place(self.a * other / pick, self.b * other / pick, self.c * other, self.d * other)


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


def coarse_place(pick: Image.Image, other: Image.Image) -> Place:
    """Where `pick` lies in `other`, roughly; both are upright and grey, of any size."""
    return _searched(pick, other, _SCALES)[0]


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

        height, width = its.shape
        found = np.fft.ifft2(self._edges * np.conj(np.fft.fft2(its, (_SIDES, _SIDES)))).real
        margin = _SIDES // 2
        down, right = np.mgrid[-margin + 1 : self._shape[0], -margin + 1 : self._shape[1]]
        top, left = down + margin, right + margin
        bottom = np.minimum(top + height, self._sums.shape[0] - 1)
        end = np.minimum(left + width, self._sums.shape[1] - 1)
        under = (
            self._sums[bottom, end] - self._sums[top, end] - self._sums[bottom, left] + self._sums[top, left]
        )
        under = np.maximum(under, 0.1 * self._all)  # a corner that fits well is no place
        fit = found[down, right] / np.sqrt(under * float((np.abs(its) ** 2).sum()) + 1e-6)
        at = int(fit.argmax())
        return float(fit.flat[at]), int(right.flat[at]), int(down.flat[at])


def _at_least_one(width: float, height: float) -> tuple[int, int]:
    return max(round(width), 1), max(round(height), 1)


def laid_over(
    other: Image.Image, place: Place, size: tuple[int, int]
) -> tuple[Image.Image, NDArray[np.bool_]]:
    """The other picture drawn in the pick's pixels, and which of them it covers."""
    import numpy as np
    from PIL import Image as Images

    x, y = np.meshgrid(np.arange(size[0]) + 0.5, np.arange(size[1]) + 0.5)
    over = place.a * x - place.b * y + place.c
    down = place.b * x + place.a * y + place.d
    covered = (over >= 0) & (down >= 0) & (over <= other.width) & (down <= other.height)
    drawn = other.transform(
        size,
        Images.Transform.AFFINE,
        (place.a, -place.b, place.c, place.b, place.a, place.d),
        Images.Resampling.BICUBIC,
    )
    return drawn, covered


def without_edge(covered: NDArray[np.bool_], by: int = EDGE) -> NDArray[np.bool_]:
    """Without a rim of `by` pixels, where filters see past the border."""
    import numpy as np
    from PIL import Image, ImageFilter

    whole = Image.fromarray(np.pad(covered, 1).astype(np.uint8) * 255)
    return np.asarray(whole.filter(ImageFilter.MinFilter(2 * by + 1)))[1:-1, 1:-1] > 0


@dataclass(frozen=True, slots=True)
class Blocks:
    """Square blocks of the pick's structure. Every array is blocks down × blocks across: `weight` 0 to 1 is
    how much there is to see; `still` how alike the two are where they lie (-1 to 1); `best` how alike at the
    best shift; `right` and `down` that shift, in pixels."""

    weight: Any
    still: Any
    best: Any
    right: Any
    down: Any


def fine_structure(picture: Image.Image) -> Grey:
    """What is left of a grey picture without its broad light and without its finest grain."""
    import numpy as np
    from PIL import ImageFilter

    fine = np.asarray(picture.filter(ImageFilter.GaussianBlur(0.8)), np.float32)
    return fine - np.asarray(picture.filter(ImageFilter.GaussianBlur(3.0)), np.float32)


def compare_blocks(pick: Grey, other: Grey, covered: NDArray[np.bool_], reach: int, side: int) -> Blocks:
    """How blocks of `side` pixels of one structure are found in another one, up to `reach` pixels away."""
    import numpy as np

    rows, columns = pick.shape[0] // side, pick.shape[1] // side

    def sums(values: Grey) -> Any:
        cut = values[: rows * side, : columns * side]
        return cut.reshape(rows, side, columns, side).sum((1, 3))

    seen = sums(covered.astype(np.float32)) > 0.98 * side * side
    own = sums(pick * pick)
    level = np.sqrt(own / (side * side))
    weight = np.where(seen, level / (level + 3.0), 0.0) * (level > 1.2)
    padded = np.pad(np.where(covered, other, 0), reach)
    steps = 2 * reach + 1
    alike = np.empty((steps, steps, rows, columns), np.float32)
    for y in range(steps):
        for x in range(steps):
            moved = padded[y : y + pick.shape[0], x : x + pick.shape[1]]
            alike[y, x] = sums(pick * moved) / np.sqrt(own * sums(moved * moved) + 1.0)
    best = alike.reshape(steps * steps, rows, columns).argmax(0)
    y, x = np.divmod(best, steps)
    row, column = np.indices((rows, columns))
    inside_y, inside_x = np.clip(y, 1, steps - 2), np.clip(x, 1, steps - 2)
    peak = alike[y, x, row, column]
    down = (
        y
        - reach
        + _between(*(alike[inside_y + step, x, row, column] for step in (-1, 0, 1))) * (y == inside_y)
    )
    right = (
        x
        - reach
        + _between(*(alike[y, inside_x + step, row, column] for step in (-1, 0, 1))) * (x == inside_x)
    )
    return Blocks(weight, alike[reach, reach], peak, right, down)


def _between(before: Any, at: Any, after: Any) -> Any:
    """Where between -0.5 and 0.5 the top of a parabola through three values lies."""
    import numpy as np

    bend = before - 2 * at + after
    return np.clip(np.where(bend < -1e-6, (before - after) / (2 * np.minimum(bend, -1e-6)), 0), -0.5, 0.5)


def refined(place: Place, blocks: Blocks, side: int) -> Place:
    """The place corrected by where the blocks were found: a scale, a turn and a shift fitted to them so that
    those far from the others hardly count."""
    import numpy as np

    rows, columns = np.indices(blocks.weight.shape)
    x, y = (columns.ravel() + 0.5) * side, (rows.ravel() + 0.5) * side
    right, down = blocks.right.ravel(), blocks.down.ravel()
    trust = np.where(blocks.best > 0.5, blocks.weight * blocks.best, 0).ravel()
    if (trust > 0).sum() < 4:
        return place
    ones, none = np.ones_like(x), np.zeros_like(x)
    left_side = np.concatenate([np.stack([x, -y, ones, none], 1), np.stack([y, x, none, ones], 1)])
    wanted = np.concatenate([x + right, y + down])
    weight = trust
    fit = np.array([1.0, 0.0, 0.0, 0.0])
    for _ in range(8):
        both = np.sqrt(np.concatenate([weight, weight]))
        fit = np.linalg.lstsq(left_side * both[:, None], wanted * both, rcond=None)[0]
        off = (left_side @ fit - wanted).reshape(2, -1)
        weight = trust / (1 + (off**2).sum(0))
    a, b, c, d = (float(value) for value in fit)
    return Place(
        place.a * a - place.b * b,
        place.a * b + place.b * a,
        place.a * c - place.b * d + place.c,
        place.b * c + place.a * d + place.d,
    )
