"""Turning a stored picture the way it is displayed."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from PIL import Image


def turn_upright(picture: Image.Image, orientation: int) -> Image.Image:
    """The picture as displayed; `orientation` is EXIF's 1 to 8 (EXIF 2.32, CIPA DC-008-2019, Orientation)."""
    from PIL.Image import Transpose

    turn = {
        2: Transpose.FLIP_LEFT_RIGHT,
        3: Transpose.ROTATE_180,
        4: Transpose.FLIP_TOP_BOTTOM,
        5: Transpose.TRANSPOSE,
        6: Transpose.ROTATE_270,
        7: Transpose.TRANSVERSE,
        8: Transpose.ROTATE_90,
    }.get(orientation)
    return picture if turn is None else picture.transpose(turn)
