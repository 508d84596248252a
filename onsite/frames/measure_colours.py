"""The colour signature of a picture: the colours of clothes and hair against the backdrop.

It shows whether another person may have stepped in, never who somebody is: no faces, no biometric templates.
Colours are ratios to the backdrop that the edges show, in stops: light and white balance change both alike.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cache
from itertools import product
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from onsite.core.colour_signature import BAND_BINS, COLOURS, pack_signature
from onsite.frames.frame_pixels import turn_upright

if TYPE_CHECKING:
    from PIL import Image

    from onsite.slates.reader.seen_symbol import SymbolSeen

_SIDE = 96  # least pixels on the long side of the picture for the signature
_EDGE = 0.06  # of the width: the strips at either side that show the backdrop
_TOP = 0.7  # of the height: below, arms and shoulders reach the edges
_MIDDLE = 0.45  # width of the central column that is looked at, as a share of the short side
_DARK = 0.012  # of full light: added to all, so that the noise of dark colours does not count
_LEAST_SPREAD = 0.05  # stops: the backdrop's own unevenness is at least so large
_ROUNDS = 4  # of reweighting: shoulders and passers-by at an edge have no weight by then
_LIGHTER = 1.5  # stops: as far from the backdrop's lightness a colour has most of its weight
_COLOURED = 0.3  # stops: the same for its hue
_FILLED = 0.12  # share of a row of the central column that is filled where the figure begins
_HEAD = 0.28  # of the figure's height in the picture: hair and forehead; below, face and clothes
_SEEN = 0.3  # weight from which a colour tells of what is there
_ONE_HUE = (
    0.24  # stops: hues of a thing span less; of a grey card 0.23 and less, of plainly dressed people 0.5
)
_WEIGHTS = 2 / 3, 1 / 3  # of the bands: jackets come off, instruments come in, and choirs dress alike
_LIMITS = (-4.0, 4.0), (-0.75, 1.35), (-0.4, 0.4)
"""Stops against the backdrop, of the first and the last colour: lightness, warmth (half of red over blue),
and half of red and blue over green. Skin and wood are warmer than backdrops."""

Stops = NDArray[np.float32]


def colour_signature(picture: Image.Image, slates: Iterable[SymbolSeen] = (), orientation: int = 1) -> bytes:
    """Return the colour signature of a small RGB picture, taken as sRGB, in the form of
    `onsite.core.colour_signature`.

    The figure is divided into two bands, in proportion to how much of it is in the picture; in each, the
    colours are counted into soft bins, weighted by how far they are from the backdrop's. Slates are masked,
    so that a slate frame can be compared with portraits.
    """
    from PIL import Image

    small = picture.reduce(max(max(picture.size) // _SIDE, 1)).convert("RGB")
    cards = np.asarray(turn_upright(Image.fromarray(_masked(slates, small.size)), orientation))
    pixels = np.asarray(turn_upright(small, orientation))
    height, width, _ = pixels.shape
    half = max(int(_MIDDLE / 2 * min(height, width)), 1)
    middle = slice(max(width // 2 - half, 0), width // 2 + half)
    stops = log_light()[pixels]
    colours = colour_axes(np.moveaxis(stops[:, middle] - _backdrop(stops)[:, middle], -1, 0))
    weights = np.where(cards[:, middle] > 0, np.float32(0), foreground_weights(colours))
    bands = [_counted(colours[:, rows], weights[rows]) for rows in _cut(weights)]
    return signature_of(bands, 0.0 if _is_of_one_hue(colours, weights) else float(weights.mean()))


def _is_of_one_hue(colours: Stops, weights: Stops) -> bool:
    """Whether what is in front of the backdrop is a thing: a grey card, a stand. People have skin."""
    hues = colours[1:, weights > _SEEN]
    if not hues.size:
        return True
    low, high = np.quantile(hues, (0.1, 0.9), axis=1)
    return float((high - low).sum()) < _ONE_HUE


def signature_of(bands: Sequence[NDArray[np.float64]], presence: float) -> bytes:
    """The signature in stored form of the two bands' weights in each bin, and of the share of the picture's
    middle in front of the backdrop."""
    shares = np.concatenate(
        [band / max(band.sum(), 1e-9) * weight for band, weight in zip(bands, _WEIGHTS, strict=True)]
    )
    return pack_signature(np.sqrt(shares / max(shares.sum(), 1e-9)), presence)


@cache
def log_light(lit: float = 1.0) -> Stops:
    """For each level of sRGB its light in stops (IEC 61966-2-1), where a part `lit` of the light is there."""
    coded = np.arange(256) / 255
    light = np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)
    return np.log2(light * lit + _DARK).astype(np.float32)


def _backdrop(stops: Stops) -> Stops:
    """The backdrop's light in every pixel, (height, width, 3): a plane through the strips at the two edges.

    The plane is fitted by iteratively reweighted least squares with weights that fall to nothing (P. W.
    Holland and R. E. Welsch, "Robust regression using iteratively reweighted least-squares", Communications
    in Statistics 6, 1977; from memory).
    """
    height, width, _ = stops.shape
    rows, edge = max(int(height * _TOP), 1), max(round(width * _EDGE), 1)
    seen = np.concatenate([np.median(stops[:rows, :edge], axis=1), np.median(stops[:rows, -edge:], axis=1)])
    down = np.linspace(-1, 1, height, dtype=np.float32)
    across = np.linspace(-1, 1, width, dtype=np.float32)
    side = np.repeat(np.array([-1, 1], np.float32), rows)
    design = np.stack([np.ones_like(side), side, np.tile(down[:rows], 2)], axis=1)
    hold = np.diag(np.array([1e-3, 0.5, 0.5], np.float32))  # a plane no steeper than the strips show
    away = np.abs(seen - np.median(seen, axis=0)).max(axis=1)
    for _ in range(_ROUNDS):
        spread = max(float(np.median(away)), _LEAST_SPREAD)
        weighted = design * ((1 + (away / (2 * spread)) ** 2) ** -2)[:, None]
        plane = np.linalg.solve(weighted.T @ design + hold, weighted.T @ seen)
        away = np.abs(seen - design @ plane).max(axis=1)
    fitted: Stops = plane[0] + across[None, :, None] * plane[1] + down[:, None, None] * plane[2]
    return fitted


def colour_axes(against: Stops) -> Stops:
    """Lightness, warmth, and red and blue over green, of red, green and blue in stops against the backdrop's:
    (3, …) each."""
    red, green, blue = against
    return np.stack([green, (red - blue) / 2, (red + blue) / 2 - green])


def foreground_weights(colours: Stops) -> Stops:
    """How surely colours on these axes are not the backdrop's: from 0, rising softly to 1."""
    lightness, warmth, green = colours
    hue = (warmth**2 + green**2) / _COLOURED**2
    weights: Stops = 1 - np.exp(-(hue**2) - (lightness / _LIGHTER) ** 4)
    return weights


def _cut(weights: Stops) -> tuple[slice, slice]:
    """The rows of the two bands of the figure."""
    filled = np.flatnonzero(weights.mean(axis=1) > _FILLED)
    first, last = (int(filled[0]), int(filled[-1]) + 1) if len(filled) else (0, len(weights))
    cut = first + max(round((last - first) * _HEAD), 1)
    return slice(first, cut), slice(cut, last)


def _counted(colours: Stops, weights: Stops) -> NDArray[np.float64]:
    """The weight of colours in each bin."""
    bins, parts = soft_bins(colours.reshape(3, -1))
    weighted = (parts * weights.ravel()).ravel().astype(np.float64)
    return np.bincount(bins.ravel(), weighted, BAND_BINS).astype(np.float64)


def soft_bins(colours: Stops) -> tuple[NDArray[np.int64], Stops]:
    """For each of n colours, (3, n), the eight nearest bins and its part in each: (8, n) both.

    A colour counts for the two nearest bins of each axis, in proportion.
    """
    low, part = [], []
    for values, (first, last), number in zip(colours, _LIMITS, COLOURS, strict=True):
        place = np.clip((values - first) / (last - first) * (number - 1), 0, number - 1.001)
        low.append(place.astype(np.int64))
        part.append(place - low[-1])
    corners = list(product((0, 1), repeat=3))
    bins = [np.ravel_multi_index([at + up for at, up in zip(low, c, strict=True)], COLOURS) for c in corners]
    shares = [_share(part, corner) for corner in corners]
    return np.stack(bins), np.stack(shares)


def _share(part: list[Stops], corner: tuple[int, ...]) -> Stops:
    first, other, third = (p if up else 1 - p for p, up in zip(part, corner, strict=True))
    return first * other * third


def _masked(slates: Iterable[SymbolSeen], size: tuple[int, int]) -> NDArray[np.uint8]:
    """Above 0 on each symbol and the slate around it: twice the symbol's bounding box."""
    width, height = size
    mask = np.zeros((height, width), np.uint8)
    for slate in slates:
        xs = [corner[0] * width for corner in slate.corners]
        ys = [corner[1] * height for corner in slate.corners]
        x, y = (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2
        half = max(max(xs) - min(xs), max(ys) - min(ys))
        mask[max(int(y - half), 0) : int(y + half) + 1, max(int(x - half), 0) : int(x + half) + 1] = 1
    return mask
