"""Strips a JPEG of metadata about people, places and cameras; its compressed picture stays, byte for byte.

An allow list names the segments that are needed to show the picture, so that unknown segments go too.
"""

from __future__ import annotations

import io
from collections.abc import Iterator

# Markers: ITU-T T.81, table B.1.
_START, _END, _SCAN, _COMMENT = 0xD8, 0xD9, 0xDA, 0xFE
_WITHOUT_LENGTH = frozenset({0x01, *range(0xD0, 0xD8)})
"""Markers without a segment."""
_NEEDED = frozenset({*range(0xC0, 0xD0), *range(0xDA, 0xE0)})
"""Frames, tables, scans: everything needed to decode the picture."""
_APP0, _APP1, _APP2, _APP14 = 0xE0, 0xE1, 0xE2, 0xEE

_JFIF = b"JFIF\0"  # ITU-T T.871, 10.1
_JFIF_LENGTH = 12  # up to the size of the thumbnail
_ICC = b"ICC_PROFILE\0"  # ICC.1, annex B.4
_COLOURS = b"Adobe"  # ITU-T T.872, 6.5.3: meaning of the components
_COLOURS_LENGTH = 12

# CIPA DC-008: tables 4 and 5, and 4.6.3
_ORIENTATION, _EXIF_IFD, _COLOUR_SPACE, _INTEROP_IFD, _INDEX = 0x0112, 0x8769, 0xA001, 0xA005, 1


class CannotStrip(Exception):  # noqa: N818
    """The metadata of a file cannot be stripped; the text says why, in a few words."""


def strip_jpeg(content: bytes) -> bytes:
    """The same picture with its colour profile and orientation, and no other metadata: no preview, no maker
    notes, no comment, nothing after its end. Raises CannotStrip."""
    kept = [b"\xff\xd8"]
    display = _display_exif(content)
    for marker, segment in _segments(content):
        if marker == _APP0 and segment.startswith(_JFIF):
            kept.append(_segment(_APP0, segment[:_JFIF_LENGTH] + b"\0\0"))
        elif marker == _APP14 and segment.startswith(_COLOURS):
            kept.append(_segment(_APP14, segment[:_COLOURS_LENGTH]))
        elif marker == _APP2 and segment.startswith(_ICC):
            kept.append(_segment(_APP2, segment))
        elif marker in _NEEDED:
            if display:  # after JFIF, which comes first (ITU-T T.871, 6.1), and before the picture
                kept.append(_segment(_APP1, display))
                display = b""
            kept.append(_segment(marker, segment))
        elif marker == 0:
            kept.append(segment)
    return b"".join([*kept, b"\xff\xd9"])


def _display_exif(content: bytes) -> bytes:
    """An EXIF block with only the orientation and the colour space of the picture's EXIF; empty where it has
    neither, or is damaged."""
    from PIL import Image

    try:
        with Image.open(io.BytesIO(content)) as picture:
            said = picture.getexif()
            details, index = dict(said.get_ifd(_EXIF_IFD)), said.get_ifd(_INTEROP_IFD).get(_INDEX)
    except Exception:  # damaged EXIF fails in many ways; here, too, the picture is shown without it
        return b""
    kept = Image.Exif()
    if said.get(_ORIENTATION) in range(2, 9):
        kept[_ORIENTATION] = said[_ORIENTATION]
    if isinstance(space := details.get(_COLOUR_SPACE), int):
        kept.get_ifd(_EXIF_IFD)[_COLOUR_SPACE] = space
    if index in ("R03", "R98", "THM"):
        kept.get_ifd(_EXIF_IFD)[_INTEROP_IFD] = {_INDEX: index}
    return kept.tobytes() if kept or kept.get_ifd(_EXIF_IFD) else b""


def _segment(marker: int, content: bytes) -> bytes:
    return bytes([0xFF, marker]) + (len(content) + 2).to_bytes(2, "big") + content


def _segments(content: bytes) -> Iterator[tuple[int, bytes]]:
    """(marker, content) of every segment up to the end of the picture; marker 0 for compressed data."""
    if content[:2] != bytes([0xFF, _START]):
        raise CannotStrip("it is no JPEG")
    at, has_picture = 2, False
    while True:
        marker, at = _marker(content, at)
        if marker == _END:
            if not has_picture:
                raise CannotStrip("there is no picture in it")
            return
        if marker in _WITHOUT_LENGTH:
            continue
        length = int.from_bytes(content[at : at + 2], "big")
        segment = content[at + 2 : at + length]
        if length < 2 or len(segment) != length - 2:
            raise CannotStrip("it breaks off")
        yield marker, segment
        at += length
        if marker == _SCAN:
            has_picture = True
            end = _end_of_scan(content, at)
            yield 0, content[at:end]
            at = end


def _marker(content: bytes, at: int) -> tuple[int, int]:
    """(the marker at a position, the position after it); any number of fill bytes FF may precede it."""
    if content[at : at + 1] != b"\xff":
        raise CannotStrip("it breaks off" if at >= len(content) else "its segments are damaged")
    while content[at : at + 1] == b"\xff":
        at += 1
    if at >= len(content):
        raise CannotStrip("it breaks off")
    return content[at], at + 1


def _end_of_scan(content: bytes, at: int) -> int:
    """The end of compressed data: the first marker in them that is no restart (ITU-T T.81, B.1.1.5)."""
    while (found := content.find(b"\xff", at)) >= 0 and found + 1 < len(content):
        following = content[found + 1]
        if following == 0xFF:
            at = found + 1
        elif following == 0 or following in _WITHOUT_LENGTH:
            at = found + 2
        else:
            return found
    raise CannotStrip("it breaks off")
