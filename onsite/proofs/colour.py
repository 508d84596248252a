"""Pictures into sRGB, by the profile that is in them."""

from __future__ import annotations

import io
import struct
from functools import lru_cache
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from PIL import Image

_SPACE = {"RGB": "RGB ", "CMYK": "CMYK", "L": "GRAY"}
"""Pillow's mode and the signature of the colour space in a profile (ICC.1:2022, table 19)."""

_MADE_ON = struct.pack(">6H", 2026, 1, 1, 0, 0, 0)
"""Date and time in a profile's header (ICC.1:2022, 7.2.8): always the same, so that the same frame gives the
same file."""


def srgb_profile() -> bytes:
    """An ICC profile of sRGB (IEC 61966-2-1), to be put into every picture that is given out."""
    return _profile()[0]


@lru_cache(maxsize=1)
def _profile() -> tuple[bytes, Any]:
    from PIL import ImageCms

    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB"))
    content = profile.tobytes()
    return content[:24] + _MADE_ON + content[36:], profile


def in_srgb(picture: Image.Image, profile: bytes | None) -> Image.Image:
    """A decoded picture in sRGB, mode RGB. Without a profile, or with one that is damaged or for pictures of
    another kind, its colours are taken as sRGB already."""
    if profile and picture.mode in _SPACE and profile != srgb_profile():
        converted = _converted(picture, profile)
        if converted is not None:
            return converted
    return picture if picture.mode == "RGB" else picture.convert("RGB")


def _converted(picture: Image.Image, profile: bytes) -> Image.Image | None:
    from PIL import ImageCms

    transform = _transform(profile, picture.mode)
    if transform is None:
        return None
    return ImageCms.applyTransform(picture, transform)


@lru_cache(maxsize=32)
def _transform(profile: bytes, mode: str) -> Any:
    """From this profile to sRGB; None where that cannot be or need not be done. Kept: cameras write the same
    profile into every frame."""
    from PIL import ImageCms

    try:
        source = ImageCms.getOpenProfile(io.BytesIO(profile))
        if source.profile.xcolor_space != _SPACE[mode]:
            return None
        return ImageCms.buildTransform(
            source,
            _profile()[1],
            mode,
            "RGB",
            ImageCms.Intent.RELATIVE_COLORIMETRIC,
            ImageCms.Flags.BLACKPOINTCOMPENSATION,
        )
    except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
        return None
