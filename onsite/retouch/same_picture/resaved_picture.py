"""Detects files that were only saved again: their pixels differ from what was sent, but invisibly.

The two are compared at a small size, in brightness and in colour. Compression changes single pixels but no
area; retouching changes at least a small area. Measured on eight photographs and drawn portraits of 0.3 to 12
megapixels: JPEGs of quality 60 to 98, of all but the smallest, differ by at most 3 in brightness and 2 in
colour; healed skin differs by 15, smoothed skin by 4 and more, a grey version by 30 in colour.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from onsite.retouch.same_picture.picture_likeness import WORKING

if TYPE_CHECKING:
    from PIL import Image

_AREA, _COLOUR_AREA = 2, 8
"""Sides of the areas whose means are compared, in pixels of the small pictures. Compression keeps colour at a
lower resolution."""

_BRIGHTNESS, _COLOUR = 3, 3
"""Tolerated difference of an area, in levels of 255."""


def small_copy(picture: Image.Image) -> Image.Image:
    """A picture as it is compared: `WORKING` pixels on its long side."""
    from PIL.Image import Resampling

    scale = WORKING / max(picture.size)
    size = max(round(picture.width * scale), 1), max(round(picture.height * scale), 1)
    return picture.resize(size, Resampling.LANCZOS)


def is_only_resaved(sent: Image.Image, back: Image.Image) -> bool:
    """Whether two small pictures in sRGB show no visible difference. A crop counts as a difference."""
    if any(abs(sent_side - other) > 1 for sent_side, other in zip(sent.size, back.size, strict=True)):
        return False
    if sent.size != back.size:
        back = back.resize(sent.size)
    bright, *colours = zip(sent.convert("YCbCr").split(), back.convert("YCbCr").split(), strict=True)
    return _largest_difference(*bright, _AREA) <= _BRIGHTNESS and all(
        _largest_difference(*pair, _COLOUR_AREA) <= _COLOUR for pair in colours
    )


def _largest_difference(first: Image.Image, other: Image.Image, area: int) -> int:
    """The largest difference between the means of corresponding areas."""
    from PIL import ImageChops

    histogram = ImageChops.difference(first.reduce(area), other.reduce(area)).histogram()
    return max(level for level, count in enumerate(histogram) if count)
