"""Finishes a picture: cropped, resized, in sRGB, sharpened on request, within the agreed file size."""

from __future__ import annotations

import io
import re
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from onsite.core.errors import Problem
from onsite.frames.find_frame_files import FileKind, file_kind
from onsite.frames.frame_to_srgb import colour_profile, srgb_profile, to_srgb
from onsite.frames.open_frame_picture import (
    NotAPicture,
    UnreadablePicture,
    check_content,
    damaged_picture,
    open_picture,
)
from onsite.metadata.iptc_iim import iim_segment
from onsite.metadata.xmp_fields import MetadataFields
from onsite.metadata.xmp_packet import packet_of

if TYPE_CHECKING:
    from PIL import Image


LEAST_QUALITY = 40
"""Below this quality a JPEG shows its blocks (our own choice): the picture is refused instead."""

_SHARPEN = (0.8, 60, 2)
"""Radius in pixels, per cent and threshold of the unsharp mask, for screens and prints. Our own choice."""


@dataclass(frozen=True, slots=True)
class FinishTerms:
    """How files are finished."""

    ratio: float | None  # width to height, None for uncropped
    long_side: int  # pixels, 0 for unchanged
    quality: int  # of the JPEG
    most_bytes: int  # 0 for unlimited
    sharpen: bool = False


@dataclass(frozen=True, slots=True)
class FinishedPicture:
    """A finished file."""

    content: bytes
    size: tuple[int, int]  # pixels
    quality: int  # the one that fitted


def finish_picture(path: Path, terms: FinishTerms, fields: MetadataFields) -> FinishedPicture:
    """The finished file of a picture. None of the picture's own metadata is kept: no place, serial number or
    software. Raises UnreadablePicture, NotAPicture or OSError.
    """
    kind = file_kind(path)
    if kind is None or kind is FileKind.RAW:
        raise NotAPicture("it is no finished picture: JPEG, TIFF or HEIC is needed")
    with path.open("rb") as file:
        check_content(path, kind, file.read(16))
    with open_picture(path, kind) as (picture, _):
        assert picture is not None  # only raws have no picture
        ready = _ready(picture, terms)
    content, quality = _encoded(ready, terms, fields)
    return FinishedPicture(content, ready.size, quality)


def _ready(picture: Image.Image, terms: FinishTerms) -> Image.Image:
    from PIL import ImageFilter, ImageOps
    from PIL.Image import Resampling

    profile = colour_profile(picture)
    try:
        picture.load()
        ImageOps.exif_transpose(picture, in_place=True)
    except Exception as error:  # decoders raise many kinds of errors
        raise damaged_picture(error) from error
    whole: Image.Image = picture
    box = crop_box(*whole.size, terms.ratio)
    size = size_of(box, terms.long_side)
    if whole.mode in ("P", "PA", "1") or whole.mode.startswith("I;16"):
        whole, profile = to_srgb(whole, profile), b""  # these modes cannot be resized
    if (0, 0, *size) != box or size != whole.size:
        whole = whole.resize(size, Resampling.LANCZOS, box, reducing_gap=3.0)
    colour = to_srgb(whole, profile)
    if not terms.sharpen:
        return colour
    radius, percent, threshold = _SHARPEN
    return colour.filter(ImageFilter.UnsharpMask(radius, percent, threshold))


def _encoded(picture: Image.Image, terms: FinishTerms, fields: MetadataFields) -> tuple[bytes, int]:
    """(JPEG with the agreed quality, or the best one within the agreed size, its quality)."""
    described = packet_of(fields), iim_segment(fields)
    content = _jpeg(picture, terms.quality, *described)
    if not terms.most_bytes or len(content) <= terms.most_bytes:
        return content, terms.quality
    best: tuple[bytes, int] | None = None
    low, high = min(LEAST_QUALITY, terms.quality), terms.quality - 1
    while low <= high:
        middle = (low + high) // 2
        content = _jpeg(picture, middle, *described)
        if len(content) <= terms.most_bytes:
            best, low = (content, middle), middle + 1
        else:
            high = middle - 1
    if best is None:
        raise UnreadablePicture(
            f"{picture.width} × {picture.height} pixels do not fit into {terms.most_bytes / 1000:,.0f} kB"
            f" at quality {LEAST_QUALITY} or better: agree on fewer pixels or more bytes"
        )
    return best


def _jpeg(picture: Image.Image, quality: int, xmp: bytes, iim: bytes) -> bytes:
    content = io.BytesIO()
    profile = srgb_profile()
    picture.save(content, "JPEG", quality=quality, icc_profile=profile, xmp=xmp, extra=iim, exif=b"")
    return content.getvalue()


# Cropping and resizing

FROM_ABOVE = 0.25
"""Share of the cropped rows that is cut off at the top. Heads are in the upper part of a portrait, so more is
cut off below. Our own choice."""

Box = tuple[int, int, int, int]
"""Left, top, right and bottom in pixels, right and bottom exclusive."""


def ratio_of(text: str) -> float | None:
    """The ratio width to height of `4:5`, `4x5` or `4/5`; None of an empty text. Raises Problem."""
    if not text.strip():
        return None
    match = re.fullmatch(r"\s*(\d{1,5}(?:\.\d{1,3})?)\s*[:x×/]\s*(\d{1,5}(?:\.\d{1,3})?)\s*", text)
    width, height = (float(match[1]), float(match[2])) if match else (0.0, 0.0)
    if not width or not height or not 0.1 <= width / height <= 10:
        raise Problem(f"{text!r} is not a ratio.", "Write width to height, such as 4:5, or leave it empty.")
    return width / height


def crop_box(width: int, height: int, ratio: float | None) -> Box:
    """The largest box of that ratio: centred horizontally, and keeping the head (`FROM_ABOVE`)."""
    if ratio is None:
        return 0, 0, width, height
    if width / height > ratio:
        kept = max(min(round(height * ratio), width), 1)
        left = (width - kept) // 2
        return left, 0, left + kept, height
    kept = max(min(round(width / ratio), height), 1)
    top = round((height - kept) * FROM_ABOVE)
    return 0, top, width, top + kept


def size_of(box: Box, long_side: int) -> tuple[int, int]:
    """(width, height) of the finished picture: at most `long_side`, 0 for unlimited. Never enlarged."""
    width, height = box[2] - box[0], box[3] - box[1]
    if not long_side or max(width, height) <= long_side:
        return width, height
    scale = long_side / max(width, height)
    return max(round(width * scale), 1), max(round(height * scale), 1)
