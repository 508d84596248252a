"""Strips a TIFF of metadata about people, places and cameras; its stored picture stays, byte for byte.

An allow list names the tags that are needed to show the picture, so that unknown tags go too. Of several
pictures in a file only the first stays: it is the one that is shown, and the others are previews and layers.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass

from onsite.metadata.strip_jpeg import CannotStrip, strip_jpeg

# Tags and types: TIFF 6.0, sections 2 to 23; BigTIFF for the longer types (from memory).
_OFFSETS, _COUNTS, _TILES, _TILE_COUNTS = 273, 279, 324, 325
_COMPRESSION, _OLD_STYLE_JPEG, _JPEG = 259, 6, 7
_ICC = 34675  # ICC.1, annex B.3
_NEEDED = frozenset(
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

    @property
    def place(self) -> str:
        """Format of an offset."""
        return self.order + ("Q" if self.big else "I")

    @property
    def count(self) -> str:
        """Format of the number of entries."""
        return self.order + ("Q" if self.big else "H")

    @property
    def entry(self) -> str:
        """Format of the beginning of an entry."""
        return self.order + ("HHQ" if self.big else "HHI")

    @property
    def inline(self) -> int:
        """Bytes of a value that fit into an entry."""
        return 8 if self.big else 4

    @property
    def head(self) -> bytes:
        """The file's first bytes."""
        version = (43, 8, 0) if self.big else (42,)
        return (b"II" if self.order == "<" else b"MM") + struct.pack(f"{self.order}{len(version)}H", *version)


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
    tags = {tag: value for tag, value in _directory(content, form, start).items() if tag in _NEEDED}
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
            return _TiffFormat(order, number == 43)
    raise CannotStrip("it is no TIFF")


def _directory(content: bytes, form: _TiffFormat, at: int) -> dict[int, _TagValue]:
    found: dict[int, _TagValue] = {}
    entries = struct.unpack_from(form.count, content, at)[0]
    at += struct.calcsize(form.count)
    for _ in range(entries):
        tag, kind, number = struct.unpack_from(form.entry, content, at)
        at += struct.calcsize(form.entry)
        if tag in _NEEDED:
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
