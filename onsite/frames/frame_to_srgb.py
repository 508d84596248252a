"""Conversion to sRGB from the ICC profile of a picture (ICC.1, applied by Little CMS)."""

from __future__ import annotations

import io
import struct
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from onsite.frames.frame_pixels import to_8_bits
from onsite.frames.open_frame_picture import UnreadablePicture

if TYPE_CHECKING:
    from PIL import Image

_NEARLY = 2
"""Largest change, of 255, by a profile that counts as sRGB: no conversion is then made."""

_INTEROP, _INDEX = 0xA005, 1  # CIPA DC-008, table 4 and 4.6.7


@lru_cache(maxsize=1)
def srgb_profile() -> bytes:
    """Return the sRGB profile for finished files; its date is fixed, so that output is reproducible."""
    from PIL import ImageCms

    content = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    return content[:24] + struct.pack(">6H", 2000, 1, 1, 0, 0, 0) + content[36:84] + bytes(16) + content[100:]


@lru_cache(maxsize=1)
def adobe_rgb_profile() -> bytes:
    """Return a matrix profile of Adobe RGB (1998), for pictures that only declare it in EXIF.

    Primaries adapted to D50 and gamma 563/256 as in Adobe RGB (1998) Color Image Encoding, 4.3.1.1 and
    annex C, from memory; the layout is that of ICC.1:2001, clause 6.
    """

    def xyz(*values: float) -> bytes:
        return b"XYZ \0\0\0\0" + struct.pack(">3i", *(round(value * 65536) for value in values))

    text = b"RGB like Adobe RGB (1998)\0"
    curve = b"curv\0\0\0\0" + struct.pack(">IH", 1, 563) + b"\0\0"
    tags = {
        b"desc": b"desc\0\0\0\0" + struct.pack(">I", len(text)) + text + bytes(78),
        b"cprt": b"text\0\0\0\0No copyright\0",
        b"wtpt": xyz(0.9642, 1.0, 0.8249),
        b"rXYZ": xyz(0.60974, 0.31111, 0.01947),
        b"gXYZ": xyz(0.20528, 0.62567, 0.06087),
        b"bXYZ": xyz(0.14919, 0.06322, 0.74457),
        b"rTRC": curve,
        b"gTRC": curve,
        b"bTRC": curve,
    }
    table, data, start = b"", b"", 128 + 4 + 12 * len(tags)
    for name, content in tags.items():
        table += name + struct.pack(">2I", start + len(data), len(content))
        data += content + bytes(-len(content) % 4)
    size = start + len(data)
    head = struct.pack(
        ">I4sI4s4s4s6H4s", size, bytes(4), 0x02400000, b"mntr", b"RGB ", b"XYZ ", 2000, 1, 1, 0, 0, 0, b"acsp"
    )
    head += bytes(28) + struct.pack(">3i", 63190, 65536, 54061)
    return head + bytes(128 - len(head)) + struct.pack(">I", len(tags)) + table + data


def colour_profile(picture: Image.Image) -> bytes:
    """Return the profile embedded in an opened picture, or declared by its EXIF; empty for none."""
    embedded = picture.info.get("icc_profile")
    if embedded:
        return bytes(embedded)
    if picture.mode == "RGB" and _says_adobe_rgb(picture):
        return adobe_rgb_profile()
    return b""


def _says_adobe_rgb(picture: Image.Image) -> bool:
    """Whether the interoperability index is R03, the optional colour space of DCF (CIPA DC-009)."""
    try:
        index = picture.getexif().get_ifd(_INTEROP).get(_INDEX)
    except Exception:  # the parser fails in many ways on damaged EXIF; sRGB is assumed
        return False
    return str(index).strip("\0 ") == "R03"


def to_srgb(picture: Image.Image, profile: bytes) -> Image.Image:
    """Convert to sRGB with 8 bits a channel, transparency on white. Raises UnreadablePicture."""
    picture = _flat(picture)
    transform = _transform(profile, picture.mode) if profile else None
    if transform is not None:
        from PIL import ImageCms

        converted = ImageCms.applyTransform(picture, transform)
        assert converted is not None  # only in-place transforms give none
        return converted
    if picture.mode == "CMYK":
        raise UnreadablePicture("it is CMYK without a profile: its colours are not known; save it as RGB")
    return picture if picture.mode == "RGB" else picture.convert("RGB")


def _flat(picture: Image.Image) -> Image.Image:
    """Convert to mode L, RGB or CMYK, without transparency."""
    from PIL import Image

    picture = to_8_bits(picture)
    if picture.mode in ("L", "RGB", "CMYK"):
        return picture
    if picture.mode == "1":
        return picture.convert("L")
    if picture.has_transparency_data:
        with_alpha = picture.convert("RGBA")
        ground = Image.new("RGBA", picture.size, "white")
        return Image.alpha_composite(ground, with_alpha).convert("RGB")
    return picture.convert("L" if picture.mode == "LA" else "RGB")


@lru_cache(maxsize=32)
def _transform(profile: bytes, mode: str) -> Any:
    """Return the transform from a profile to sRGB; None where it would change nothing.

    Relative colorimetric with black point compensation, as is usual for photographs (common practice, no
    source). Raises UnreadablePicture.
    """
    from PIL import Image, ImageCms

    try:
        transform = ImageCms.buildTransform(
            ImageCms.ImageCmsProfile(io.BytesIO(profile)),
            ImageCms.createProfile("sRGB"),
            mode,
            "RGB",
            ImageCms.Intent.RELATIVE_COLORIMETRIC,
            ImageCms.Flags.BLACKPOINTCOMPENSATION,
        )
    except (ImageCms.PyCMSError, OSError) as error:
        raise UnreadablePicture("its colour profile is damaged or of another kind of picture") from error
    if mode != "RGB":
        return transform
    steps = range(0, 256, 51)
    probe = Image.new("RGB", (6, 36))
    colours = [(red, green, blue) for red in steps for green in steps for blue in steps]
    probe.putdata(colours)
    moved = ImageCms.applyTransform(probe, transform)
    assert moved is not None
    pairs = zip(probe.tobytes(), moved.tobytes(), strict=True)
    return None if max(abs(patch - other) for patch, other in pairs) <= _NEARLY else transform
