"""Opening the picture of a frame and decoding it no larger than needed. Files are only opened for reading."""

from __future__ import annotations

import ctypes
import io
import os
import platform
import sys
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from onsite.files import input_limits as limits
from onsite.frames.find_frame_files import FileKind
from onsite.frames.frame_exif import ExifFacts, facts_in_preview, read_facts
from onsite.frames.frame_pixels import misdecoded_reason, to_8_bits

if TYPE_CHECKING:
    from PIL import Image

_START_OF_SCAN = b"\xff\xda"  # ITU-T T.81, table B.1

SMALL = 480
"""Pixels on the long side of a preview."""

_MAGIC = {
    FileKind.JPEG: (b"\xff\xd8\xff",),
    FileKind.TIFF: (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+"),
}

_UNKNOWN_TIFF = "no picture can be read from this TIFF: save it as RGB with 8 or 16 bits a channel"


class NotAPicture(Exception):  # noqa: N818
    """The file is no picture: it is refused."""


class UnreadablePicture(Exception):  # noqa: N818
    """The picture of a frame cannot be decoded: the file is kept with its facts, and reported."""

    def __init__(self, reason: str, facts: ExifFacts | None = None) -> None:
        super().__init__(reason)
        self.facts = facts


def check_content(path: Path, kind: FileKind, head: bytes) -> None:
    """Raise NotAPicture where the first bytes of a file contradict the ending of its name."""
    if not head:
        raise NotAPicture("the file is empty")
    magic = _MAGIC.get(kind)
    if magic and not head.startswith(magic):
        raise NotAPicture(f"the file is not a {kind.upper()} although its name ends in {path.suffix}")
    if kind is FileKind.HEIF and head[4:8] != b"ftyp":
        raise NotAPicture(f"the file is not a HEIF although its name ends in {path.suffix}")


def damaged_picture(error: Exception) -> UnreadablePicture:
    """Return the error to raise where a decoder failed with `error`; the frame is kept."""
    return UnreadablePicture(
        f"the picture is damaged: {' '.join(str(error).split()) or type(error).__name__}"
    )


def scale_for(size: tuple[int, int]) -> int:
    """Return the reduction for examining a picture: 1, 2, 4 or 8, which JPEG decoders do cheaply.

    (ITU-T T.81 codes blocks of 8 × 8.) The reduced picture is large enough to measure sharpness.
    """
    from onsite.frames.frame_measures import SHARP_SHORT

    return next((scale for scale in (8, 4, 2) if min(size) // scale >= SHARP_SHORT), 1)


def reduced(picture: Image.Image, scale: int) -> Image.Image:
    """Return an opened picture in RGB at 1/`scale`, reduced during decoding where its format allows that.

    Raises UnreadablePicture where it is damaged.
    """
    whole = picture.size
    try:
        picture.draft("RGB", (whole[0] // scale, whole[1] // scale))
        picture.load()
        colour = picture if picture.mode == "RGB" else to_8_bits(picture).convert("RGB")
        return colour if picture.size != whole or scale == 1 else colour.reduce(scale)
    except Exception as error:
        raise damaged_picture(error) from error


def small_of(colour: Image.Image) -> Image.Image:
    """Return the small picture for previews, colour signatures and measures.

    It has at least `SMALL` pixels on its long side, where the original has.
    """
    factor = max(max(colour.size) // SMALL, 1)
    width, height = (side - side % factor if side > factor else side for side in colour.size)
    return colour.reduce(factor, (0, 0, width, height))


def full_grey(path: Path, kind: FileKind) -> Image.Image:
    """Decode a file in grey at full size. Raises UnreadablePicture, NotAPicture or OSError."""
    with open_picture(path, kind) as (picture, _):
        assert picture is not None  # the same file was opened a moment ago
        try:
            picture.draft("L", picture.size)
            picture.load()
            return picture if picture.mode == "L" else to_8_bits(picture).convert("L")
        except Exception as error:
            raise damaged_picture(error) from error


@contextmanager
def open_picture(path: Path, kind: FileKind) -> Iterator[tuple[Image.Image | None, ExifFacts]]:
    """Open the picture of a file, not yet decoded, with its EXIF facts.

    The picture is None for raw files where the extra `raw` is not installed. Raises NotAPicture,
    UnreadablePicture or OSError.
    """
    from PIL import Image, UnidentifiedImageError

    warnings.filterwarnings("ignore", module=r"PIL\.")  # damaged EXIF must not write over the screen
    _silence_c_libraries()
    Image.MAX_IMAGE_PIXELS = None  # `_check_size` decides, before anything is decoded
    if kind is FileKind.RAW and not _is_jpeg(path):
        yield from _opened_raw(path)
        return
    if kind is FileKind.HEIF:
        _register_heif()
    try:
        picture = Image.open(path)
    except UnidentifiedImageError as error:
        raise NotAPicture(
            _UNKNOWN_TIFF if kind is FileKind.TIFF else "no picture can be found in the file"
        ) from error
    except OSError:
        raise
    except Exception as error:
        raise damaged_picture(error) from error
    with picture:
        _check_size(path, picture)
        if wrong := misdecoded_reason(picture):
            raise UnreadablePicture(wrong, _facts_or_none(path, picture))
        yield picture, _facts_or_none(path, picture)


@cache
def _silence_c_libraries() -> None:
    """Keep messages of C libraries off the terminal: those of libtiff, LibRaw and libjpeg pass Python by, and
    what fails raises an error too.

    C's standard error becomes another stream; Python's own, and the screens, write to the file descriptor.
    Other C libraries than glibc and macOS's (its name there from memory) have no such variable to set.
    """
    variable = "__stderrp" if sys.platform == "darwin" else "stderr"
    if sys.platform != "darwin" and platform.libc_ver()[0] != "glibc":
        return
    library = ctypes.CDLL(None)
    library.fopen.restype = ctypes.c_void_p
    if nowhere := library.fopen(os.devnull.encode(), b"w"):
        ctypes.c_void_p.in_dll(library, variable).value = nowhere


def _check_size(path: Path, picture: Image.Image) -> None:
    """Raise NotAPicture or UnreadablePicture for a picture that would cost more than a photograph can."""
    pixels, size = picture.width * picture.height, path.stat().st_size
    if pixels > limits.PIXELS:
        raise NotAPicture(f"{picture.width} × {picture.height} pixels are more than any camera makes")
    if pixels > limits.EASY_PIXELS and pixels > size * limits.PIXELS_A_BYTE:
        raise NotAPicture(f"{picture.width} × {picture.height} pixels in {size:,} bytes are no photograph")
    if picture.info.get("progressive") and path.read_bytes().count(_START_OF_SCAN) > limits.SCANS:
        raise UnreadablePicture(f"the picture has more than {limits.SCANS} scans")


def _is_jpeg(path: Path) -> bool:
    """Whether a raw file is a JPEG: some programs save a developed picture under the raw file's name."""
    with path.open("rb") as file:
        return file.read(3) == _MAGIC[FileKind.JPEG][0]


def _opened_raw(path: Path) -> Iterator[tuple[Image.Image | None, ExifFacts]]:
    """Open the embedded preview of a raw file."""
    from PIL import Image

    facts = _facts_or_none(path, None)
    try:
        preview = _raw_preview(path)
    except UnreadablePicture as error:
        raise UnreadablePicture(str(error), facts) from error
    if preview is None:
        yield None, facts
        return
    try:
        picture = Image.open(io.BytesIO(preview))
        if facts.taken is None:
            facts = facts_in_preview(preview)
    except Exception as error:  # the raw data may be intact: the frame is kept
        raise UnreadablePicture("the preview in the raw file is damaged", facts) from error
    with picture:
        yield picture, facts


def _raw_preview(path: Path) -> bytes | None:
    """Return the largest JPEG embedded in a raw file; None where rawpy is not installed."""
    try:
        import rawpy
    except ImportError:
        return None
    try:
        with rawpy.imread(str(path)) as raw:
            thumb = raw.extract_thumb()
            if thumb.format == rawpy.ThumbFormat.JPEG:
                return bytes(thumb.data)
            import numpy as np
            from PIL import Image

            buffer = io.BytesIO()
            Image.fromarray(np.asarray(thumb.data)).save(buffer, "JPEG", quality=95)
            return buffer.getvalue()
    except rawpy.LibRawError as error:
        raise UnreadablePicture(f"the raw file gives no preview ({str(error).strip(chr(39))})") from error


def _register_heif() -> None:
    try:
        import pillow_heif
    except ImportError as error:
        raise UnreadablePicture("reading HEIC needs an extra: pip install 'onsite[heif]'") from error
    pillow_heif.register_heif_opener()


def _facts_or_none(path: Path, picture: Image.Image | None) -> ExifFacts:
    try:
        return read_facts(path, picture)
    except Exception:  # the parser fails in many ways on damaged EXIF; the frame is kept without
        return ExifFacts()
