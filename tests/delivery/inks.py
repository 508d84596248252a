"""A colour profile of four inks, made here: each ink takes away its own third of the light, and black all."""

from __future__ import annotations

import struct
from itertools import product

from coloraide import Color


def colour_of(c: int, m: int, y: int, k: int) -> tuple[int, int, int]:
    """sRGB of inks that are each full (1) or absent (0)."""
    red, green, blue = (255 * (1 - ink) * (1 - k) for ink in (c, m, y))
    return red, green, blue


def cmyk_profile() -> bytes:
    """An output profile with a table from CMYK to CIE L*a*b*: two steps an ink, between them linear.

    Layout: ICC.1:2001-04, clauses 6.1 (header), 6.2 (tags), 6.5.8 (lut8Type) and 6.3.4.2 (L*a*b* in 8 bits).
    """
    table = bytes(value for inks in product((0, 1), repeat=4) for value in _lab(colour_of(*inks)))
    straight = bytes(range(256))
    unity = struct.pack(">9i", *(65536 * (row == column) for row in range(3) for column in range(3)))
    lut = b"mft1\0\0\0\0" + bytes((4, 3, 2, 0)) + unity + straight * 4 + table + straight * 3
    text = b"Four inks\0"
    tags = {
        b"desc": b"desc\0\0\0\0" + struct.pack(">I", len(text)) + text + bytes(78),
        b"cprt": b"text\0\0\0\0No copyright\0",
        b"wtpt": b"XYZ \0\0\0\0" + struct.pack(">3i", 63190, 65536, 54061),  # D50
        b"A2B0": lut,
    }
    listed, data, start = b"", b"", 128 + 4 + 12 * len(tags)
    for name, content in tags.items():
        listed += name + struct.pack(">2I", start + len(data), len(content))
        data += content + bytes(-len(content) % 4)
    size = start + len(data)
    head = struct.pack(
        ">I4sI4s4s4s6H4s", size, bytes(4), 0x02400000, b"prtr", b"CMYK", b"Lab ", 2000, 1, 1, 0, 0, 0, b"acsp"
    )
    head += bytes(28) + struct.pack(">3i", 63190, 65536, 54061)
    return head + bytes(128 - len(head)) + struct.pack(">I", len(tags)) + listed + data


def _lab(rgb: tuple[int, int, int]) -> tuple[int, int, int]:
    light, a, b = Color("srgb", [value / 255 for value in rgb]).convert("lab").coords()
    return round(light * 2.55), round(a + 128), round(b + 128)
