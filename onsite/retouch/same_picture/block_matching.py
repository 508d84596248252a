"""Two pictures laid over each other and compared block by block: what is found where, and what has moved."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from onsite.retouch.same_picture.registration import Similarity

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray
    from PIL import Image

    Grey = NDArray[np.float32]

SIDE = 16
"""Pixels along a block."""

_EDGE = 6
"""Pixels at the border of the other picture that are not compared: filters see past it."""

_PLAIN = 2.5
"""Grey levels of structure in a block below which it is plain: noise and compression are as strong."""

_TRUSTED = 0.5


def warp_onto(
    other: Image.Image, place: Similarity, size: tuple[int, int]
) -> tuple[Image.Image, NDArray[np.bool_], float]:
    """(the other picture drawn in the pick's pixels, which of them can be compared, the share it covers)."""
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
    """Square blocks of the pick's structure. Every array is blocks down × blocks across: `weight` 0 to 1 is
    how much there is to see; `still` how alike the two are where they lie (-1 to 1); `best` how alike at the
    best shift; `right` and `down` that shift, in pixels; `sure_right` and `sure_down` how sure it is, 0 to 1:
    along a stripe nothing tells how far."""

    weight: Any
    still: Any
    best: Any
    right: Any
    down: Any
    sure_right: Any
    sure_down: Any


def fine_structure(picture: Image.Image) -> Grey:
    """What is left of a grey picture without its broad light and without its finest grain."""
    import numpy as np
    from PIL import ImageFilter

    fine = np.asarray(picture.filter(ImageFilter.GaussianBlur(0.8)), np.float32)
    return fine - np.asarray(picture.filter(ImageFilter.GaussianBlur(3.0)), np.float32)


def compare_blocks(pick: Grey, other: Grey, covered: NDArray[np.bool_], reach: int) -> BlockMatches:
    """How the blocks of one structure are found in another one, up to `reach` pixels away."""
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
    """Sums over the blocks. Without products of matrices, though they are as quick: the threads that these
    start for each of many small ones take more time of the processors than all the rest."""
    rows, columns = values.shape
    down, across = rows // SIDE, columns // SIDE
    strips = values[: down * SIDE].reshape(down, SIDE, columns).sum(1)
    return strips[:, : across * SIDE].reshape(down, across, SIDE).sum(2)


def _best(alike: Any, reach: int) -> tuple[Any, Any, Any, Any, Any]:
    """Of each block how alike it is at the best shift, that shift to the right and down, and how sure."""
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
    """Where between -0.5 and 0.5 the top of a parabola through three values lies, and how sharp it is."""
    import numpy as np

    bend = np.maximum(2 * at - before - after, 1e-6)
    return np.clip((after - before) / (2 * bend), -0.5, 0.5), np.minimum(bend, 1.0)


def refine_similarity(place: Similarity, blocks: BlockMatches) -> Similarity:
    """The place corrected by where the blocks were found: a scale, a turn and a shift fitted to them so that
    those far from the others hardly count."""
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
