"""Files such as cameras write, made in the tests."""

from __future__ import annotations

import io
import re
import struct
from pathlib import Path

from PIL import Image

ORIGINAL, SUB_SECONDS, OFFSET, SERIAL = 0x9003, 0x9291, 0x9011, 0xA431
MODEL, ORIENTATION = 0x0110, 0x0112


def exif(
    taken: str = "",
    sub_seconds: str = "",
    offset: str = "",
    serial: str = "",
    model: str = "",
    orientation: int = 0,
) -> Image.Exif:
    tags = Image.Exif()
    details = tags.get_ifd(0x8769)
    for tag, value in ((ORIGINAL, taken), (SUB_SECONDS, sub_seconds), (OFFSET, offset), (SERIAL, serial)):
        if value:
            details[tag] = value
    if model:
        tags[MODEL] = model
    if orientation:
        tags[ORIENTATION] = orientation
    return tags


def jpeg(path: Path, colour: int = 0, size: tuple[int, int] = (96, 64), **facts: object) -> Path:
    """A small JPEG; another `colour` is another content."""
    path.parent.mkdir(parents=True, exist_ok=True)
    picture = Image.new("RGB", size, (colour % 256, colour // 256 % 256, 128))
    picture.save(path, "JPEG", comment=f"exposure {colour}", exif=exif(**facts))  # type: ignore[arg-type]
    return path


def huge_header(path: Path, side: int = 65500) -> Path:
    """A JPEG whose header promises `side` × `side` pixels (ITU-T T.81, B.2.2: frame header)."""
    data = io.BytesIO()
    Image.new("L", (8, 8)).save(data, "JPEG")
    content = bytearray(data.getvalue())
    frame = content.index(b"\xff\xc0")
    content[frame + 5 : frame + 9] = struct.pack(">HH", side, side)
    path.write_bytes(content)
    return path


PREVIEW, OTHER_PICTURE = 0x010002, 0x000000
"""Types of picture in a multi-picture file (CIPA DC-007, MP Type Code): a large thumbnail of Full HD, and one
that is not told."""


def multi_picture(path: Path, main: Image.Image, second: Image.Image, kind: int = PREVIEW) -> Path:
    """A JPEG that holds a second picture, indexed after CIPA DC-007; `kind` is what the index calls it."""
    main.save(path, "MPO", save_all=True, append_images=[second], quality=90)
    content = bytearray(path.read_bytes())
    primary = re.search(rb"\x00\x00\x03\x00.{4}\x00{8}", content, re.DOTALL)  # its entry: type, size, zeros
    assert primary is not None
    content[primary.end() : primary.end() + 4] = struct.pack("<I", kind)
    path.write_bytes(content)
    return path


def raw(path: Path, preview: Image.Image | None = None, taken: str = "", serial: str = "") -> Path:
    """A raw of one even colour with its preview as embedded JPEG, after the DNG Specification 1.4 (Adobe) and
    TIFF 6.0: the first directory holds the preview, a second one the sensor's values, a third one EXIF."""
    path.parent.mkdir(parents=True, exist_ok=True)
    data = io.BytesIO()
    image = preview or Image.new("RGB", (96, 64), "grey")
    image.save(data, "JPEG", quality=95)
    picture = data.getvalue() + b"\0" * (len(data.getvalue()) % 2)
    width, height = 96, 64
    sensor = struct.pack("<H", 2000) * width * height
    sensor_at = 8 + len(picture)
    sensor_directory_at = sensor_at + len(sensor)
    sensor_directory = _directory(
        sensor_directory_at,
        {
            254: ("I", 0),
            256: ("I", width),
            257: ("I", height),
            258: ("H", 16),
            259: ("H", 1),
            262: ("H", 32803),
            273: ("I", sensor_at),
            277: ("H", 1),
            278: ("I", height),
            279: ("I", len(sensor)),
            33421: ("H", 2, 2),
            33422: ("B", 0, 1, 1, 2),
            50717: ("I", 4095),
        },
    )
    details_at = sensor_directory_at + len(sensor_directory)
    details = _directory(details_at, {ORIGINAL: ("s", taken), SERIAL: ("s", serial)})
    first_at = details_at + len(details)
    first = _directory(
        first_at,
        {
            254: ("I", 1),
            256: ("I", image.width),
            257: ("I", image.height),
            258: ("H", 8, 8, 8),
            259: ("H", 7),
            262: ("H", 6),
            271: ("s", "Maker"),
            MODEL: ("s", "Model One"),
            273: ("I", 8),
            277: ("H", 3),
            278: ("I", image.height),
            279: ("I", len(data.getvalue())),
            330: ("I", sensor_directory_at),
            34665: ("I", details_at),
            50706: ("B", 1, 4, 0, 0),
            50708: ("s", "Model One"),
            50778: ("H", 21),
        },
    )
    head = b"II*\0" + struct.pack("<I", first_at)
    path.write_bytes(head + picture + sensor + sensor_directory + details + first)
    return path


_TYPES = {"B": 1, "s": 2, "H": 3, "I": 4}


def _directory(at: int, tags: dict[int, tuple[object, ...]]) -> bytes:
    """A TIFF directory that begins at the offset `at`, with the values that do not fit in it behind it."""
    entries, behind = struct.pack("<H", len(tags)), b""
    for tag, (kind, *values) in sorted(tags.items()):
        assert isinstance(kind, str)
        text = str(values[0]).encode() + b"\0"
        value = text if kind == "s" else struct.pack(f"<{len(values)}{kind}", *values)
        count = len(text) if kind == "s" else len(values)
        field = value.ljust(4, b"\0")
        if len(value) > 4:
            field = struct.pack("<I", at + 2 + 12 * len(tags) + 4 + len(behind))
            behind += value + b"\0" * (len(value) % 2)
        entries += struct.pack("<HHI", tag, _TYPES[kind], count) + field
    return entries + b"\0" * 4 + behind
