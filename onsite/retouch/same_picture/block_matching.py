"""Block matching: compares two registered pictures block by block, and refines the registration from that."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from onsite.retouch.same_picture.image_registration import Similarity

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray
    from PIL import Image

    Grey = NDArray[np.float32]

SIDE = 16
"""Side of a block in pixels."""

_EDGE = 6
"""Border of the other picture in pixels that is not compared, because filters reach beyond it."""

_PLAIN = 2.5
"""Root mean square of a block's structure, in grey levels, that noise and compression reach as well."""

_TRUSTED = 0.5
"""Least correlation of a block that takes part in the refinement."""


def warp_onto(
    other: Image.Image, place: Similarity, size: tuple[int, int]
) -> tuple[Image.Image, NDArray[np.bool_], float]:
    """(the other picture resampled onto the pick's pixels, mask of comparable pixels, share covered)."""
    import numpy as np
    from PIL import Image as Images

    x, y = np.meshgrid(np.arange(size[0]) + 0.5, np.arange(size[1]) + 0.5)
    over = place.a * x - place.b * y + place.c
    down = place.b * x + place.a * y + place.d
    inside = np.minimum(np.minimum(over, other.width - over), np.minimum(down, other.height - down))
    drawn = other.transform(
        size,
        Images.Transform.AFFINE,
        (place.a, -place.b, place.c, place.b, place.a, place.d),
        Images.Resampling.BICUBIC,
    )
    return drawn, inside > _EDGE * place.zoom, float((inside >= 0).mean())


@dataclass(frozen=True, slots=True)
class BlockMatches:
    """Square blocks of the pick, matched in the other picture. Every array is blocks down × blocks across."""

    weight: Any  # amount of structure, 0 to 1
    still: Any  # correlation without a shift, -1 to 1
    best: Any  # correlation at the best shift
    right: Any  # best shift, in pixels
    down: Any
    sure_right: Any  # certainty of that shift, 0 to 1: low along an edge, which fits anywhere on its length
    sure_down: Any


def fine_structure(picture: Image.Image) -> Grey:
    """A grey picture band-pass filtered (a difference of Gaussians): without broad light and finest grain."""
    import numpy as np
    from PIL import ImageFilter

    fine = np.asarray(picture.filter(ImageFilter.GaussianBlur(0.8)), np.float32)
    return fine - np.asarray(picture.filter(ImageFilter.GaussianBlur(3.0)), np.float32)


def compare_blocks(pick: Grey, other: Grey, covered: NDArray[np.bool_], reach: int) -> BlockMatches:
    """Matches each block of the pick's structure in the other one, within `reach` pixels."""
    import numpy as np

    own = _block_sums(pick * pick)
    level = np.sqrt(own) / SIDE
    seen = _block_sums(covered.astype(np.float32)) > 0.98 * SIDE * SIDE
    weight = np.where(seen, np.maximum(1 - _PLAIN / np.maximum(level, 1e-6), 0), 0)
    padded = np.pad(np.where(covered, other, 0).astype(np.float32), reach)
    squares = padded * padded
    steps = 2 * reach + 1
    alike = np.empty((steps, steps, *own.shape), np.float32)
    for y in range(steps):
        for x in range(steps):
            there = slice(y, y + pick.shape[0]), slice(x, x + pick.shape[1])
            alike[y, x] = _block_sums(pick * padded[there]) / np.sqrt(own * _block_sums(squares[there]) + 1.0)
    return BlockMatches(weight, alike[reach, reach], *_best(alike, reach))


def _block_sums(values: Grey) -> Any:
    """Sums over the blocks. Matrix products would be as quick, but the threads that they start for many small
    matrices take more processor time than all the rest."""
    rows, columns = values.shape
    down, across = rows // SIDE, columns // SIDE
    strips = values[: down * SIDE].reshape(down, SIDE, columns).sum(1)
    return strips[:, : across * SIDE].reshape(down, across, SIDE).sum(2)


def _best(alike: Any, reach: int) -> tuple[Any, Any, Any, Any, Any]:
    """For each block: the best correlation, its shift right and down, and the certainty of both."""
    import numpy as np

    steps = alike.shape[0]
    y, x = np.divmod(alike.reshape(steps * steps, *alike.shape[2:]).argmax(0), steps)
    row, column = np.indices(y.shape)
    inside_y, inside_x = np.clip(y, 1, steps - 2), np.clip(x, 1, steps - 2)
    finer_y, sure_y = _top(*(alike[inside_y + step, x, row, column] for step in (-1, 0, 1)))
    finer_x, sure_x = _top(*(alike[y, inside_x + step, row, column] for step in (-1, 0, 1)))
    finer_y, finer_x = finer_y * (y == inside_y), finer_x * (x == inside_x)
    return alike[y, x, row, column], x - reach + finer_x, y - reach + finer_y, sure_x, sure_y


def _top(before: Any, at: Any, after: Any) -> tuple[Any, Any]:
    """The vertex, between -0.5 and 0.5, of the parabola through three values, and how sharp it is."""
    import numpy as np

    bend = np.maximum(2 * at - before - after, 1e-6)
    return np.clip((after - before) / (2 * bend), -0.5, 0.5), np.minimum(bend, 1.0)


def refine_similarity(place: Similarity, blocks: BlockMatches) -> Similarity:
    """The registration corrected by the blocks' shifts: a similarity fitted to them by iteratively reweighted
    least squares, so that outliers hardly count."""
    import numpy as np

    rows, columns = np.indices(blocks.weight.shape)
    x, y = (columns.ravel() + 0.5) * SIDE, (rows.ravel() + 0.5) * SIDE
    right, down = blocks.right.ravel(), blocks.down.ravel()
    trust = np.where(blocks.best > _TRUSTED, blocks.weight * blocks.best, 0).ravel()
    if (trust > 0).sum() < 4:
        return place
    trust = np.concatenate([trust * blocks.sure_right.ravel(), trust * blocks.sure_down.ravel()])
    ones, none = np.ones_like(x), np.zeros_like(x)
    left_side = np.concatenate([np.stack([x, -y, ones, none], 1), np.stack([y, x, none, ones], 1)])
    wanted = np.concatenate([x + right, y + down])
    weight = trust
    fit = np.array([1.0, 0.0, 0.0, 0.0])
    for _ in range(8):
        weighted = left_side * weight[:, None]
        fit = np.linalg.lstsq(weighted.T @ left_side, weighted.T @ wanted, rcond=None)[0]
        weight = trust / (1 + (left_side @ fit - wanted) ** 2)
    return place.corrected(*(float(value) for value in fit))
