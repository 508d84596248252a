"""Corrects the pixels of an opened picture: wrongly decoded TIFFs, 16 bits to 8, turned upright."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from PIL import Image


_BITS, _INK = 258, 262  # TIFF 6.0, BitsPerSample and PhotometricInterpretation
_WHITE_IS_ZERO = 0
_PLANES = frozenset("RGBACMYK")


def misdecoded_reason(picture: Any) -> str:
    """Return why an opened picture, not yet decoded, cannot be decoded correctly; empty where it can.

    Pillow takes uncompressed planar data with 16 bits for 8 bits: this sets the right raw mode on its tiles.
    In 16-bit grey stored as white-is-zero it takes black for white.
    """
    if picture.mode in ("I", "F"):
        return "it has 32 bits a channel: save it with 16 or 8"
    tags: Any = getattr(picture, "tag_v2", None)
    bits = tags.get(_BITS, 1) if tags is not None else 1
    if set(bits if isinstance(bits, tuple) else (bits,)) != {16}:
        return ""
    if picture.mode.startswith("I;16") and tags.get(_INK) == _WHITE_IS_ZERO:
        return "its grey is stored as a negative with 16 bits: save it as RGB"
    if not any(_is_plane(tile) for tile in picture.tile):
        return ""
    if picture.mode == "CMYK":  # Pillow has no raw mode for these planes
        return "it is CMYK with 16 bits, plane by plane: save it as RGB"
    order = "B" if tags.prefix == b"MM" else "L"
    picture.tile = [
        tile._replace(args=(f"{tile.args[0]};16{order}", *tile.args[1:])) if _is_plane(tile) else tile
        for tile in picture.tile
    ]
    return ""


def _is_plane(tile: Any) -> bool:
    """Whether a tile holds a single uncompressed plane."""
    return tile.codec_name == "raw" and tile.args[0] in _PLANES


def to_8_bits(picture: Image.Image) -> Image.Image:
    """Convert 16-bit grey to 8 bits, which Pillow's own conversion would clip; return others unchanged."""
    if not picture.mode.startswith("I;16"):
        return picture
    return picture.convert("I").point(lambda value: value * (1 / 256)).convert("L")


def turn_upright(picture: Image.Image, orientation: int) -> Image.Image:
    """Return a stored picture as displayed; `orientation` is 1 to 8 (EXIF 2.32, CIPA DC-008-2019)."""
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
