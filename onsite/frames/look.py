"""The look of a frame: the colours of clothes and hair against the backdrop, in a few hundred bytes.

It says whether somebody else may have stepped in. It never says who somebody is: no faces, no templates.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from PIL import Image

    from onsite.slate.seen import SymbolSeen

_SIDE = 96  # pixels on the long side of the picture looked at
_LEVELS = 4  # per colour channel
BANDS = 3
BINS = BANDS * _LEVELS**3
_NOBODY = 0.055  # of the picture: less than this beside the backdrop is nobody
_MIDDLE_SHARE = 0.55  # of the picture's short side
_BACKDROP_TOLERANCE = 40.0  # of 255: how near to the backdrop's colour still counts as backdrop


def colour_signature(picture: Image.Image, slates: Iterable[SymbolSeen] = (), orientation: int = 1) -> bytes:
    """The look of a small RGB picture: `BINS` shares of 0 to 255.

    The picture is cut into three bands from top to bottom (hair, face and collar, clothes); in each the
    colours that are not the backdrop's are counted into a 4 × 4 × 4 histogram. A slate's card is left out,
    so that a slate frame can be compared with portraits. The square roots of the shares are kept, so that the
    distance of two looks is Hellinger's. All zeros: nobody is to be seen before the backdrop.
    """
    small = picture.copy()
    small.thumbnail((_SIDE, _SIDE))
    pixels = np.asarray(small.convert("RGB"), dtype=np.float32)
    cards = _cards(slates, pixels.shape[0], pixels.shape[1])
    turns = {3: 2, 4: 2, 5: 3, 6: 3, 7: 1, 8: 1}.get(orientation, 0)
    pixels, cards = np.rot90(pixels, turns), np.rot90(cards, turns)
    keep = _not_backdrop(pixels) & ~cards & _middle(*cards.shape)
    colours = (pixels / 256 * _LEVELS).astype(np.int64)
    bins = (colours[..., 0] * _LEVELS + colours[..., 1]) * _LEVELS + colours[..., 2]
    rows = np.arange(pixels.shape[0]) * BANDS // pixels.shape[0]
    bins += rows[:, None] * _LEVELS**3
    if keep.mean() < _NOBODY:
        return bytes(BINS)
    counts = np.bincount(bins[keep], minlength=BINS).astype(np.float64)
    shares = counts / max(counts.sum(), 1.0)
    return bytes(np.round(np.sqrt(shares) * 255).astype(np.uint8).tobytes())


def _not_backdrop(pixels: NDArray[np.float32]) -> NDArray[np.bool_]:
    """True where the colour is not the backdrop's in the same row, as seen at the left and right edge."""
    edge = max(pixels.shape[1] // 16, 1)
    left = pixels[:, :edge].mean(axis=1, keepdims=True)
    right = pixels[:, -edge:].mean(axis=1, keepdims=True)
    across = np.linspace(0, 1, pixels.shape[1], dtype=np.float32)[None, :, None]
    backdrop = left * (1 - across) + right * across
    far: NDArray[np.bool_] = np.abs(pixels - backdrop).max(axis=2) > _BACKDROP_TOLERANCE
    return far


def _middle(height: int, width: int) -> NDArray[np.bool_]:
    """True in an upright column in the middle: as wide in a frame taken upright as in one taken lying.

    So a slate shot one way compares with portraits shot the other.
    """
    columns = np.arange(width)
    inside: NDArray[np.bool_] = np.abs(columns - width / 2) <= _MIDDLE_SHARE / 2 * min(height, width)
    return np.broadcast_to(inside, (height, width))


def _cards(slates: Iterable[SymbolSeen], height: int, width: int) -> NDArray[np.bool_]:
    """True on each symbol and the card around it: twice the symbol's box."""
    mask = np.zeros((height, width), dtype=bool)
    for slate in slates:
        xs = [corner[0] * width for corner in slate.corners]
        ys = [corner[1] * height for corner in slate.corners]
        x, y = (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2
        half = max(max(xs) - min(xs), max(ys) - min(ys))
        mask[max(int(y - half), 0) : int(y + half) + 1, max(int(x - half), 0) : int(x + half) + 1] = True
    return mask
