"""Measures of a frame's picture: brightness, sharpness, backdrop colour.

Everything is measured in the picture that ingest has decoded anyway, taken as sRGB.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from onsite.frames.frame_pixels import turn_upright

if TYPE_CHECKING:
    from PIL import Image


_LUMINANCE = np.array([0.2126, 0.7152, 0.0722], np.float32)  # weights of R, G, B: IEC 61966-2-1, D65
_SMALL = 192  # pixels on the long side of the picture for brightness and colour
_MIDDLE = 0.5  # side of the central square, as a share of the short side
_SHARP_SIDE = 450  # pixels of the central square for sharpness
SHARP_SHORT = round(_SHARP_SIDE / _MIDDLE)
"""Least pixels on the short side of a picture for measuring sharpness: 20 megapixels at 1/4, 80 at 1/8."""

_ROUNDING = 20 / 12  # variance of the Laplacian due to rounding: 1/12 times the sum of squared weights
_EDGE = 0.06  # of the width: the backdrop strip at either side
_TOP = 0.6  # of the height: below, arms and shoulders reach the edges
_PLAIN = 14.0  # L*: largest interquartile range of a strip of plain backdrop
_AGREE = 20.0  # L*a*b* distance between the left and right strip: light falls off across a backdrop


@dataclass(frozen=True, slots=True)
class PictureMeasures:
    """Measures of a picture; None where they cannot be taken."""

    brightness: float | None = None
    """Median luminance of the central square in linear light, 0 to 1."""
    sharpness: float | None = None
    """See the function `sharpness`; None in pictures too small for it."""
    backdrop: Lab | None = None
    """Colour of the backdrop; None where the edges show no plain backdrop."""


def measure_picture(grey: Image.Image, small: Image.Image, orientation: int = 1) -> PictureMeasures:
    """Measure a decoded picture, given in `grey` and reduced in RGB (`small`), both as stored."""
    reduced = small.reduce(max(max(small.size) // _SMALL, 1))
    light = linear(np.asarray(turn_upright(reduced, orientation)))
    return PictureMeasures(_brightness(light), sharpness(grey), _backdrop(light))


def linear(pixels: NDArray[np.uint8]) -> NDArray[np.float32]:
    """Convert 8-bit sRGB to linear light, 0 to 1 (IEC 61966-2-1)."""
    return _linear_table()[pixels]


@cache
def _linear_table() -> NDArray[np.float32]:
    coded = np.arange(256) / 255
    light = np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)
    return light.astype(np.float32)


def sharpness(grey: Image.Image) -> float | None:
    """Return the variance of the Laplacian over the variance of the grey values in the central square.

    The variance of the Laplacian is a focus measure of J. L. Pech-Pacheco and others, "Diatom autofocusing in
    brightfield microscopy" (ICPR 2000), LAPV in S. Pertuz and others, "Analysis of focus measure operators
    for shape-from-focus" (Pattern Recognition 46, 2013); both from memory. Dividing by the variance of the
    grey values is our own choice: exposure scales both alike. The central square, half the short side wide,
    is resampled to a fixed size, so that frames compare whatever size they were decoded at. None where the
    picture is too small or has no contrast.
    """
    from PIL import Image

    side = min(grey.size) * _MIDDLE
    if side < _SHARP_SIDE:
        return None  # the square would have to be enlarged
    left, top = (grey.width - side) / 2, (grey.height - side) / 2
    middle = grey.resize(
        (_SHARP_SIDE, _SHARP_SIDE), Image.Resampling.BOX, (left, top, left + side, top + side)
    )
    values = np.asarray(middle, np.int16)  # holds the Laplacian of grey levels, and is faster than float
    spread = float(values.var(dtype=np.float32))
    if spread < 1.0:
        return None  # no detail that could be sharp
    edges = values[:-2, 1:-1] + values[2:, 1:-1] + values[1:-1, :-2] + values[1:-1, 2:]
    edges -= 4 * values[1:-1, 1:-1]
    return max(float(edges.var(dtype=np.float32)) - _ROUNDING, 0.0) / spread


def _brightness(light: NDArray[np.float32]) -> float:
    """Return the median luminance of the central square."""
    height, width, _ = light.shape
    side = max(int(min(height, width) * _MIDDLE), 1)
    top, left = (height - side) // 2, (width - side) // 2
    return float(np.median(light[top : top + side, left : left + side] @ _LUMINANCE))


def _backdrop(light: NDArray[np.float32]) -> Lab | None:
    """Return the mean colour of the strips at the left and right edge, where both are plain and alike."""
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
    """Whether a strip has a small interquartile range of lightness."""
    low, high = np.percentile(strip @ _LUMINANCE, (25, 75))
    return lab_of(high, high, high).l - lab_of(low, low, low).l <= _PLAIN


class Lab(NamedTuple):
    """A colour in CIE L*a*b* for the white of sRGB, D65 (CIE 15:2004): `l` is 0 (black) to 100 (white)."""

    l: float  # noqa: E741  the letter by which the standard calls it
    a: float
    b: float


def lab_of(red: float, green: float, blue: float) -> Lab:
    """Convert linear-light sRGB components, each 0 to 1, to CIE L*a*b*."""
    from coloraide import Color

    lightness, a, b = Color("srgb-linear", (red, green, blue)).convert("lab-d65").coords()
    return Lab(lightness, a, b)


def colour_difference(first: Lab, other: Lab) -> float:
    """Return the colour difference CIEDE2000 with all weights 1 (ISO/CIE 11664-6).

    Below 1 hardly anybody sees a difference; from 3 to 5 on it shows in portraits side by side (common
    practice, no source).
    """
    from coloraide import Color

    return Color("lab-d65", first).delta_e(Color("lab-d65", other), method="2000")
