"""Whether a returned file is what went out, only saved again: its pixels differ, and nobody can see where.

The two are compared small, in brightness and in colour. Compression changes a pixel here and there and no
area; what a retoucher does changes at least a small area. Measured on eight photographs and drawn portraits
of 0.3 to 12 megapixels: JPEGs of quality 60 to 98 of all but the smallest differ by 3 at most in brightness
and by 2 in colour; healed skin by 15, smoothed skin by 4 and more, a grey version by 30 in colour.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from onsite.retouch.same_picture.likeness import WORKING

if TYPE_CHECKING:
    from PIL import Image

_AREA, _COLOUR_AREA = 2, 8
"""Sides of the areas whose means are compared, in pixels of the small pictures. Compression keeps colours
coarser."""

_BRIGHTNESS, _COLOUR = 3, 3
"""Levels of 255 that an area may differ by."""


def small_copy(picture: Image.Image) -> Image.Image:
    """A picture as it is compared: `WORKING` pixels on its long side."""
    from PIL.Image import Resampling

    scale = WORKING / max(picture.size)
    size = max(round(picture.width * scale), 1), max(round(picture.height * scale), 1)
    return picture.resize(size, Resampling.LANCZOS)


def is_only_resaved(sent: Image.Image, back: Image.Image) -> bool:
    """Whether two small pictures in sRGB show no visible difference. A crop is one."""
    if any(abs(sent_side - other) > 1 for sent_side, other in zip(sent.size, back.size, strict=True)):
        return False
    if sent.size != back.size:
        back = back.resize(sent.size)
    bright, *colours = zip(sent.convert("YCbCr").split(), back.convert("YCbCr").split(), strict=True)
    return _largest_difference(*bright, _AREA) <= _BRIGHTNESS and all(
        _largest_difference(*pair, _COLOUR_AREA) <= _COLOUR for pair in colours
    )


def _largest_difference(first: Image.Image, other: Image.Image, area: int) -> int:
    """The greatest difference between the means of two areas in one place."""
    from PIL import ImageChops

    histogram = ImageChops.difference(first.reduce(area), other.reduce(area)).histogram()
    return max(level for level, count in enumerate(histogram) if count)
