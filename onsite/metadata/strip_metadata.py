"""Strips pictures of metadata about people, places and cameras; the picture stays as stored, byte for byte.

Allow lists name the JPEG segments and TIFF tags that are needed to show the picture, so that unknown ones go
too. Of several pictures in a TIFF only the first stays: it is the one that is shown, and the others are
previews and layers.
"""

from __future__ import annotations

import io
import struct
from collections.abc import Iterator
from dataclasses import dataclass

# Markers: ITU-T T.81, table B.1.
_START, _END, _SCAN, _COMMENT = 0xD8, 0xD9, 0xDA, 0xFE
_WITHOUT_LENGTH = frozenset({0x01, *range(0xD0, 0xD8)})
"""Markers without a segment."""
_NEEDED_MARKERS = frozenset({*range(0xC0, 0xD0), *range(0xDA, 0xE0)})
"""Frames, tables, scans: everything needed to decode the picture."""
_APP0, _APP1, _APP2, _APP14 = 0xE0, 0xE1, 0xE2, 0xEE

_JFIF = b"JFIF\0"  # ITU-T T.871, 10.1
_JFIF_LENGTH = 12  # up to the size of the thumbnail
_ICC_SEGMENT = b"ICC_PROFILE\0"  # ICC.1, annex B.4
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
        elif marker == _APP2 and segment.startswith(_ICC_SEGMENT):
            kept.append(_segment(_APP2, segment))
        elif marker in _NEEDED_MARKERS:
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


# Tags and types: TIFF 6.0, sections 2 to 23; BigTIFF for the longer types (from memory).
_OFFSETS, _COUNTS, _TILES, _TILE_COUNTS = 273, 279, 324, 325
_COMPRESSION, _OLD_STYLE_JPEG, _JPEG = 259, 6, 7
_ICC = 34675  # ICC.1, annex B.3
_NEEDED_TAGS = frozenset(
    {254, 255, 256, 257, 258, 259, 262, 263, 266, 273, 274, 277, 278, 279, 280, 281, 282, 283, 284, 290, 291}
    | {292, 293, 296, 301, 317, 318, 319, 320, 322, 323, 324, 325, 332, 334, 338, 339, 340, 341, 342, 347}
    | {529, 530, 531, 532, _ICC}
)
"""Size, samples, colours, compression, strips and tiles, orientation, resolution, profile."""
_SIZES = {
    1: 1,
    2: 1,
    3: 2,
    4: 4,
    5: 8,
    6: 1,
    7: 1,
    8: 2,
    9: 4,
    10: 8,
    11: 4,
    12: 8,
    13: 4,
    16: 8,
    17: 8,
    18: 8,
}
_WHOLE = {1: "B", 3: "H", 4: "I", 13: "I", 16: "Q", 18: "Q"}


@dataclass(frozen=True, slots=True)
class _TiffFormat:
    """Byte order and number sizes of a file, with the formats of its parts for `struct`."""

    order: str
    big: bool
    place: str  # an offset
    count: str  # the number of entries
    entry: str  # the beginning of an entry
    inline: int  # bytes of a value that fit into an entry
    head: bytes  # the file's first bytes

    @classmethod
    def of(cls, order: str, big: bool) -> _TiffFormat:
        start = b"II" if order == "<" else b"MM"
        if big:
            head = start + struct.pack(f"{order}3H", 43, 8, 0)
            return cls(order, True, f"{order}Q", f"{order}Q", f"{order}HHQ", 8, head)
        return cls(
            order, False, f"{order}I", f"{order}H", f"{order}HHI", 4, start + struct.pack(f"{order}H", 42)
        )


@dataclass(frozen=True, slots=True)
class _TagValue:
    kind: int
    number: int
    content: bytes


def strip_tiff(content: bytes) -> bytes:
    """The same picture with its colour profile and orientation, and no other metadata. Raises CannotStrip."""
    try:
        return _strip(content)
    except (struct.error, KeyError, IndexError, OverflowError, ValueError) as error:
        raise CannotStrip("its directory is damaged") from error


def _strip(content: bytes) -> bytes:
    form = _tiff_format(content)
    start = struct.unpack_from(form.place, content, 8 if form.big else 4)[0]
    tags = {tag: value for tag, value in _directory(content, form, start).items() if tag in _NEEDED_TAGS}
    compression = _numbers(form, tags[_COMPRESSION])[0] if _COMPRESSION in tags else 1
    if compression == _OLD_STYLE_JPEG:
        raise CannotStrip("its compression is an old form of JPEG")
    offsets, counts = (_TILES, _TILE_COUNTS) if _TILES in tags else (_OFFSETS, _COUNTS)
    parts = [
        _part(content, at, length)
        for at, length in zip(_numbers(form, tags[offsets]), _numbers(form, tags[counts]), strict=True)
    ]
    if compression == _JPEG:  # each part is a JPEG, and may hold any JPEG metadata
        parts = [strip_jpeg(part) for part in parts]
    return _tiff_bytes(form, tags, offsets, counts, parts)


def _tiff_format(content: bytes) -> _TiffFormat:
    for order, start in (("<", b"II"), (">", b"MM")):
        if content[:2] == start and (number := struct.unpack_from(order + "H", content, 2)[0]) in (42, 43):
            return _TiffFormat.of(order, number == 43)
    raise CannotStrip("it is no TIFF")


def _directory(content: bytes, form: _TiffFormat, at: int) -> dict[int, _TagValue]:
    found: dict[int, _TagValue] = {}
    entries = struct.unpack_from(form.count, content, at)[0]
    at += struct.calcsize(form.count)
    for _ in range(entries):
        tag, kind, number = struct.unpack_from(form.entry, content, at)
        at += struct.calcsize(form.entry)
        if tag in _NEEDED_TAGS:
            size = _SIZES[kind] * number
            place = at if size <= form.inline else struct.unpack_from(form.place, content, at)[0]
            found[tag] = _TagValue(kind, number, _part(content, place, size))
        at += form.inline
    return found


def _numbers(form: _TiffFormat, value: _TagValue) -> tuple[int, ...]:
    return struct.unpack(f"{form.order}{value.number}{_WHOLE[value.kind]}", value.content)


def _part(content: bytes, at: int, length: int) -> bytes:
    part = content[at : at + length]
    if len(part) != length:
        raise CannotStrip("it breaks off")
    return part


def _tiff_bytes(
    form: _TiffFormat, tags: dict[int, _TagValue], offsets: int, counts: int, parts: list[bytes]
) -> bytes:
    """A file with one directory: the head, the strips or tiles, the values that are too long for their entry,
    and the entries in the order of their tags."""
    out = bytearray(form.head) + bytes(struct.calcsize(form.place))
    starts = []
    for part in parts:
        starts.append(len(out))
        out += part + bytes(len(part) % 2)
    for tag, numbers in ((offsets, starts), (counts, [len(part) for part in parts])):
        packed = struct.pack(f"{form.order}{len(numbers)}{form.place[1]}", *numbers)
        tags = tags | {tag: _TagValue(16 if form.big else 4, len(numbers), packed)}
    entries = b""
    for tag, value in sorted(tags.items()):
        inside = value.content
        if len(inside) > form.inline:
            inside = struct.pack(form.place, len(out))
            out += value.content + bytes(len(value.content) % 2)
        entries += struct.pack(form.entry, tag, value.kind, value.number) + inside.ljust(form.inline, b"\0")
    out += bytes(-len(out) % 8)
    struct.pack_into(form.place, out, len(form.head), len(out))
    return bytes(out + struct.pack(form.count, len(tags)) + entries + struct.pack(form.place, 0))
