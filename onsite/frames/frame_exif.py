"""EXIF data of a frame: time, camera body, orientation."""

from __future__ import annotations

import io
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from PIL import Image

# EXIF 2.32 (CIPA DC-008-2019), tables 4 to 8.
_EXIF_IFD = 0x8769
_MODEL, _ORIENTATION = 0x0110, 0x0112
_SERIAL = 0xA431
_ORIGINAL = (0x9003, 0x9291, 0x9011)  # DateTimeOriginal, its sub-seconds, its offset
_DIGITIZED = (0x9004, 0x9292, 0x9012)


@dataclass(frozen=True, slots=True)
class ExifFacts:
    """Facts from EXIF; what is missing is None or empty."""

    taken: datetime | None = None
    """Local time of the camera's clock, without zone."""
    utc_offset: int | None = None
    """Minutes east of UTC, where the camera wrote an offset."""
    serial: str = ""
    model: str = ""
    orientation: int = 1
    """EXIF value 1 to 8."""


def read_facts(path: Path, picture: Image.Image | None) -> ExifFacts:
    """Read the facts from an opened `picture`, else from the TIFF structure that most raw files have."""
    from PIL import Image

    exif = picture.getexif() if picture is not None else None
    if exif:
        return _facts(exif)
    with path.open("rb") as file:
        exif = Image.Exif()
        if file.read(4) in (b"II*\0", b"MM\0*"):
            file.seek(0)
            exif.load_from_fp(file)
        return _facts(exif)  # while the file is open: directories are read lazily


def facts_in_preview(preview: bytes) -> ExifFacts:
    """Read the facts from an embedded JPEG preview."""
    from PIL import Image

    with Image.open(io.BytesIO(preview)) as picture:
        return _facts(picture.getexif())


def _facts(exif: Any) -> ExifFacts:
    details = exif.get_ifd(_EXIF_IFD)
    # DateTime (0x0132) is ignored: editing programs rewrite it, and a wrong time misleads matching.
    taken, offset = _time(details, _ORIGINAL) or _time(details, _DIGITIZED) or (None, None)
    orientation = exif.get(_ORIENTATION)
    return ExifFacts(
        taken,
        offset,
        serial=_text(details.get(_SERIAL)),
        model=_text(exif.get(_MODEL)),
        orientation=orientation if orientation in range(1, 9) else 1,
    )


def _time(details: Any, tags: tuple[int, int, int]) -> tuple[datetime, int | None] | None:
    """Return time and offset from the tags of a time, its sub-seconds and its offset."""
    base = parse_exif_time(details.get(tags[0]))
    if base is None:
        return None
    digits = _text(details.get(tags[1]))
    fraction = float(f"0.{digits}") if digits.isascii() and digits.isdecimal() else 0.0
    return base + timedelta(seconds=fraction), parse_exif_offset(details.get(tags[2]))


def parse_exif_time(value: Any) -> datetime | None:
    """Parse `2026:06:13 09:41:07`; None for blanks, zeros and anything else."""
    try:
        return datetime.strptime(_text(value)[:19], "%Y:%m:%d %H:%M:%S")
    except ValueError:
        return None


def parse_exif_offset(value: Any) -> int | None:
    """Parse `+02:00` as minutes east of UTC; None for anything else."""
    try:
        zone = datetime.strptime(_text(value), "%z").utcoffset()
    except ValueError:
        return None
    return None if zone is None else round(zone.total_seconds() / 60)


def _text(value: Any) -> str:
    """Return an EXIF value as text without padding; empty where it is none."""
    if isinstance(value, bytes):
        value = value.decode("latin-1")
    return value.replace("\0", " ").strip() if isinstance(value, str) else ""
