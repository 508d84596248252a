"""Decodes a file that goes out or comes back: its pixels, size and colours."""

from __future__ import annotations

import hashlib
import io
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from onsite.frames.find_frame_files import FileKind
from onsite.frames.frame_pixels import to_8_bits, turn_upright
from onsite.frames.frame_to_srgb import colour_profile, to_srgb
from onsite.frames.open_frame_picture import (
    NotAPicture,
    UnreadablePicture,
    check_content,
    damaged_picture,
    open_picture,
)
from onsite.retouch.same_picture.picture_likeness import small_copy, working_size

if TYPE_CHECKING:
    from PIL import Image

_BITS = 258  # BitsPerSample (TIFF 6.0)
_EXIF, _INTEROPERABILITY = 0x8769, 0xA005  # CIPA DC-008, Exif and Interoperability IFD pointers
_COLOUR_SPACE, _SRGB = 0xA001, 1  # CIPA DC-008, ColorSpace
_ADOBE_RGB = "R03"  # CIPA DC-008, InteroperabilityIndex: the optional colour space of DCF, Adobe RGB


@dataclass(frozen=True, slots=True)
class PictureFacts:
    """A picture as displayed."""

    width: int  # pixels
    height: int
    mode: str  # of Pillow
    bits: int  # per component
    profile: str  # name of its colour space, empty where none is given
    turned: bool  # by its orientation tag
    pixels: str  # SHA-256 of the decoded pixels
    sight: Image.Image  # grey, for comparing (`picture_likeness.working_size`)
    colours: Image.Image  # in sRGB, for comparing (`picture_likeness.small_copy`)

    @property
    def long_side(self) -> int:
        return max(self.width, self.height)


def picture_facts(path: Path, kind: FileKind) -> PictureFacts:
    """Decodes a file. Raises UnreadablePicture or NotAPicture with the reason, or OSError."""
    with path.open("rb") as file:
        check_content(path, kind, file.read(16))
    with open_picture(path, kind) as (picture, facts):
        if picture is None:
            raise UnreadablePicture("looking into raw files needs an extra: pip install 'onsite[raw]'")
        bits = _bits(picture)
        profile, colours = _profile(picture), colour_profile(picture)
        mode = picture.mode
        try:
            picture.load()
        except Exception as error:
            raise damaged_picture(error) from error
        plain = turn_upright(_comparable(picture), facts.orientation)
    pixels = hashlib.sha256(f"{plain.mode} {plain.size}".encode() + plain.tobytes()).hexdigest()
    return PictureFacts(
        plain.width,
        plain.height,
        mode,
        bits,
        profile,
        facts.orientation != 1,
        pixels,
        working_size(plain),
        _in_srgb(small_copy(plain), colours),
    )


def _in_srgb(picture: Image.Image, profile: bytes) -> Image.Image:
    """The picture in sRGB; with its colours unconverted where that fails."""
    try:
        return to_srgb(picture, profile)
    except UnreadablePicture:
        return picture.convert("RGB")


def _bits(picture: Any) -> int:
    tags = getattr(picture, "tag_v2", None)
    bits = tags.get(_BITS, 8) if tags is not None else 8
    return int(max(bits)) if isinstance(bits, tuple) else int(bits)


def _comparable(picture: Image.Image) -> Image.Image:
    """The picture with at most 8 bits a component, as pictures are compared."""
    picture = to_8_bits(picture)
    return picture if picture.mode in ("L", "CMYK") else picture.convert("RGB")


def _profile(picture: Image.Image) -> str:
    icc = picture.info.get("icc_profile")
    if icc:
        return _described(icc)
    try:
        details = picture.getexif()
        if details.get_ifd(_EXIF).get(_COLOUR_SPACE) == _SRGB:
            return "sRGB"
        index = str(details.get_ifd(_INTEROPERABILITY).get(1, ""))
    except Exception:  # damaged EXIF raises many kinds of errors
        return ""
    return "Adobe RGB" if index.strip("\0 ") == _ADOBE_RGB else ""


def _described(icc: bytes) -> str:
    from PIL import ImageCms

    try:
        return ImageCms.getProfileDescription(ImageCms.ImageCmsProfile(io.BytesIO(icc))).strip()
    except (ImageCms.PyCMSError, OSError):
        return "a damaged profile"


__all__ = ["NotAPicture", "PictureFacts", "UnreadablePicture", "picture_facts"]
