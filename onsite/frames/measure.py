"""What a frame's picture measures: how bright, how sharp, and the colour of the backdrop.

Everything is measured in the picture that ingest has decoded anyway, taken as sRGB.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from onsite.frames.colour import Lab, lab_of
from onsite.frames.upright import turn_upright

if TYPE_CHECKING:
    from PIL import Image

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
