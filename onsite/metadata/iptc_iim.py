"""IPTC metadata in the older form, IIM 4.2 in a JPEG segment, for programs that read no XMP.

IIM fields are short. Longer texts are cut between characters; the XMP beside them is complete.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator

from onsite.metadata.xmp_fields import MetadataFields
from onsite.metadata.xmp_packet import legible

_UTF8 = b"\x1b%G"
"""Coded character set (IIM 4.2, 1:90): ISO 2022 for UTF-8."""

_VERSION = b"\x00\x04"
_TITLE, _KEYWORD, _CREATED, _CREATOR, _DESCRIPTION = 5, 25, 55, 80, 120  # IIM 4.2, chapter 6
_MOST = {_TITLE: 64, _KEYWORD: 64, _CREATED: 8, _CREATOR: 32, _DESCRIPTION: 2000}
"""Most bytes of a field of record 2 (IIM 4.2, chapter 6)."""

_SEGMENT = b"Photoshop 3.0\0"
_RESOURCE = b"8BIM\x04\x04\0\0"
"""A JPEG carries IIM in an APP13 segment, image resource 0x0404 (common practice, from memory)."""


def iim_segment(fields: MetadataFields) -> bytes:
    """The APP13 segment with these fields, including its marker and length."""
    records = _dataset(1, 90, _UTF8) + _dataset(2, 0, _VERSION)
    records += b"".join(_dataset(2, number, content) for number, content in _contents(legible(fields)))
    resource = _RESOURCE + struct.pack(">I", len(records)) + records + bytes(len(records) % 2)
    return b"\xff\xed" + struct.pack(">H", 2 + len(_SEGMENT) + len(resource)) + _SEGMENT + resource


def _contents(fields: MetadataFields) -> Iterator[tuple[int, bytes]]:
    texts = [
        (_TITLE, fields.title),
        *((_KEYWORD, keyword) for keyword in fields.keywords),
        (_CREATED, fields.created.replace("-", "")),
        (_CREATOR, fields.creator),
        (_DESCRIPTION, fields.description),
    ]
    for number, text in texts:
        content = text.encode()[: _MOST[number]].decode(errors="ignore").encode()
        if content:
            yield number, content


def _dataset(record: int, number: int, content: bytes) -> bytes:
    return struct.pack(">BBBH", 0x1C, record, number, len(content)) + content
