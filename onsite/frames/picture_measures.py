"""What a frame's picture measures: how bright, how sharp, and the colour of the backdrop.

Everything is measured in the picture that ingest has decoded anyway, taken as sRGB.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from onsite.frames.pixel_conversion import turn_upright

if TYPE_CHECKING:
    from PIL import Image

    from onsite.slates.reader.seen_symbol import SymbolSeen


_LUMINANCE = np.array([0.2126, 0.7152, 0.0722], np.float32)  # of red, green, blue: IEC 61966-2-1, D65
_SMALL = 192  # pixels on the long side of the picture that light and colour are measured in
_MIDDLE = 0.5  # of the short side
_SHARP_SIDE = 450  # pixels of the square that sharpness is measured in
SHARP_SHORT = round(_SHARP_SIDE / _MIDDLE)
"""Pixels on the short side of a picture that its sharpness can be measured in: a quarter of 20 megapixels and
more, an eighth of 80."""

_ROUNDING = 20 / 12  # variance of the Laplacian of whole grey levels: their rounding, by its weights squared
_EDGE = 0.06  # of the width: a strip of backdrop at either side
_TOP = 0.6  # of the height: further down arms and shoulders reach the edges
_PLAIN = 14.0  # L*: half the pixels of a strip lie within so much of each other, on a backdrop
_AGREE = 20.0  # L*a*b* units between the left and the right: light falls off, backdrops do not change


@dataclass(frozen=True, slots=True)
class PictureMeasures:
    """`brightness`: median luminance of the middle in linear light, 0 to 1. `sharpness`: see `sharpness`;
    None in pictures too small for it. `backdrop`: its colour; None where the edges show no plain backdrop."""

    brightness: float | None = None
    sharpness: float | None = None
    backdrop: Lab | None = None


def measure_picture(grey: Image.Image, small: Image.Image, orientation: int = 1) -> PictureMeasures:
    """Measures a decoded picture, in `grey` and reduced to a `small` one in RGB, both as stored."""
    reduced = small.reduce(max(max(small.size) // _SMALL, 1))
    light = linear(np.asarray(turn_upright(reduced, orientation)))
    return PictureMeasures(_brightness(light), sharpness(grey), _backdrop(light))


def linear(pixels: NDArray[np.uint8]) -> NDArray[np.float32]:
    """8-bit sRGB as linear light, 0 to 1 (IEC 61966-2-1)."""
    return _linear_table()[pixels]


@cache
def _linear_table() -> NDArray[np.float32]:
    coded = np.arange(256) / 255
    light = np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)
    return light.astype(np.float32)


def sharpness(grey: Image.Image) -> float | None:
    """The variance of the Laplacian over the variance of the grey values, in the middle of the picture.

    The variance of the Laplacian is a focus measure of J. L. Pech-Pacheco and others, "Diatom autofocusing
    in brightfield microscopy" (ICPR 2000), LAPV in S. Pertuz and others, "Analysis of focus measure operators
    for shape-from-focus" (Pattern Recognition 46, 2013); both from memory. Dividing by the variance of the
    grey values is our own: a frame exposed otherwise has both multiplied alike. The middle, a square of half
    the short side, is brought to one size, so that frames compare whatever they were decoded at.
    """
    from PIL import Image

    side = min(grey.size) * _MIDDLE
    if side < _SHARP_SIDE:
        return None  # it would have to be enlarged
    left, top = (grey.width - side) / 2, (grey.height - side) / 2
    middle = grey.resize(
        (_SHARP_SIDE, _SHARP_SIDE), Image.Resampling.BOX, (left, top, left + side, top + side)
    )
    values = np.asarray(middle, np.int16)  # holds four times a grey level, and is quicker than fractions
    spread = float(values.var(dtype=np.float32))
    if spread < 1.0:
        return None  # nothing in it that could be sharp
    edges = values[:-2, 1:-1] + values[2:, 1:-1] + values[1:-1, :-2] + values[1:-1, 2:]
    edges -= 4 * values[1:-1, 1:-1]
    return max(float(edges.var(dtype=np.float32)) - _ROUNDING, 0.0) / spread


def _brightness(light: NDArray[np.float32]) -> float:
    height, width, _ = light.shape
    side = max(int(min(height, width) * _MIDDLE), 1)
    top, left = (height - side) // 2, (width - side) // 2
    return float(np.median(light[top : top + side, left : left + side] @ _LUMINANCE))


def _backdrop(light: NDArray[np.float32]) -> Lab | None:
    """The mean colour of the strips at the left and right edge, where both are plain and alike."""
    height, width, _ = light.shape
    rows, columns = max(int(height * _TOP), 1), max(int(width * _EDGE), 1)
    strips = [light[:rows, :columns].reshape(-1, 3), light[:rows, -columns:].reshape(-1, 3)]
    if not all(_is_plain(strip) for strip in strips):
        return None
    left, right = (lab_of(*np.median(strip, axis=0).tolist()) for strip in strips)
    if sum((first - other) ** 2 for first, other in zip(left, right, strict=True)) ** 0.5 > _AGREE:
        return None
    return Lab(*((first + other) / 2 for first, other in zip(left, right, strict=True)))


def _is_plain(strip: NDArray[np.float32]) -> bool:
    """Whether half of a strip's pixels are about equally light."""
    low, high = np.percentile(strip @ _LUMINANCE, (25, 75))
    return lab_of(high, high, high).l - lab_of(low, low, low).l <= _PLAIN


# TODO Colours as people see them: CIE L*a*b*, and how far two colours are apart.


class Lab(NamedTuple):
    """A colour in CIE L*a*b* for the white of sRGB, D65 (CIE 15:2004): `l` is 0 (black) to 100 (white)."""

    l: float  # noqa: E741  the letter by which the standard calls it
    a: float
    b: float


def lab_of(red: float, green: float, blue: float) -> Lab:
    """The colour of linear-light sRGB components, each 0 to 1."""
    from coloraide import Color

    lightness, a, b = Color("srgb-linear", (red, green, blue)).convert("lab-d65").coords()
    return Lab(lightness, a, b)


def colour_difference(first: Lab, other: Lab) -> float:
    """CIEDE2000 with all weights 1 (ISO/CIE 11664-6). Below 1 hardly anybody sees a difference; from 3 to 5
    on it shows in portraits side by side (common practice, no source)."""
    from coloraide import Color

    return Color("lab-d65", first).delta_e(Color("lab-d65", other), method="2000")


# TODO The look of a frame: the colours of clothes and hair against the backdrop, in a few hundred bytes.
# TODO
# TODO It says whether somebody else may have stepped in. It never says who somebody is: no faces, no
# templates.

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
