"""A shoot with a few invented people and real files, given to them by hand; and colour profiles for them."""

from __future__ import annotations

import struct
from dataclasses import replace
from pathlib import Path

from coloraide import Color
from PIL import Image

from onsite.frames.ingest import ingest
from onsite.reconcile.overrides import give
from onsite.roster.load_roster import load_list
from onsite.store.shoot import Shoot

HOSTILE = "<script>alert(1)</script>"

ROSTER = f"""key,given,family,group,email,consent
S-1,Mira,Okafor,Soprano,mira@example.org,yes
S-2,Tomas,Brandl,Bass,tomas@example.org,no
S-3,{HOSTILE},Larkfield,Alto,,yes
S-4,Анна,Линдквист,Alto,,
S-5,Anna,Lindqvist,Tenor,,maybe
"""
NAMES = {
    "S-1": ["IMG_0001.JPG", "IMG_0002.JPG", "IMG_0003.JPG", "IMG_0004.JPG"],
    "S-2": ["IMG_0011.JPG", "IMG_0012.JPG"],
    "S-3": ["IMG_0021.JPG", "IMG_0022.JPG"],
    "S-4": ["IMG_0031.JPG"],
}
"""Key -> the names of their frames."""

GPS, ORIENTATION, SERIAL = 0x8825, 0x0112, 0xA431


def frame(
    path: Path,
    colour: tuple[int, int, int] = (120, 130, 140),
    size: tuple[int, int] = (240, 160),
    orientation: int = 1,
    profile: bytes | None = None,
) -> Path:
    """A JPEG as a camera writes it, with a serial number and the place where it was taken; its left third is
    darker than the rest, so that it is seen which way round it lies."""
    path.parent.mkdir(parents=True, exist_ok=True)
    picture = Image.new("RGB", size, colour)
    picture.paste(tuple(part // 4 for part in colour), (0, 0, size[0] // 3, size[1]))
    tags = Image.Exif()
    tags[ORIENTATION] = orientation
    tags.get_ifd(0x8769)[SERIAL] = "SERIAL-77"
    tags.get_ifd(GPS).update({1: "N", 2: (48.0, 12.0, 30.0), 3: "E", 4: (16.0, 22.0, 0.0)})
    picture.save(path, "JPEG", quality=95, exif=tags, comment=f"{path} {colour}", icc_profile=profile)
    return path


def photographed(shoot: Shoot, folder: Path, frames: dict[str, list[str]], roster: str = ROSTER) -> None:
    """Loads the list, and takes frames of these names for each key."""
    (folder / "list.csv").write_text(roster, encoding="utf-8")
    load_list(shoot, folder / "list.csv")
    for number, (key, names) in enumerate(frames.items()):
        for place, name in enumerate(names):
            frame(folder / "card" / name, (60 + 20 * number, 90 + 15 * place, 120))
        if names:
            ingest(shoot, [folder / "card"], "A")
            give(shoot, [Path(name).name for name in names], key)


def agreed(shoot: Shoot, picks: int) -> Shoot:
    """The same shoot with so many pictures agreed for each person."""
    terms = replace(shoot.settings.agreed, picks=picks)
    return replace(shoot, settings=replace(shoot.settings, agreed=terms))


def profile_of(space: str, curve: bytes) -> bytes:
    """A display profile (ICC.1:2022, 8.3: three components, matrix) of an RGB space that coloraide knows."""
    columns = {
        tag: Color(space, primary).convert("xyz-d50").coords()
        for tag, primary in ((b"rXYZ", [1, 0, 0]), (b"gXYZ", [0, 1, 0]), (b"bXYZ", [0, 0, 1]))
    }
    columns[b"wtpt"] = [0.9642, 1.0, 0.8249]
    name = space.encode()
    tags = {
        b"desc": b"desc\0\0\0\0" + struct.pack(">I", len(name) + 1) + name + b"\0" * 79,
        b"cprt": b"text\0\0\0\0none\0",
        **{tag: b"XYZ \0\0\0\0" + b"".join(map(_fixed, values)) for tag, values in columns.items()},
        **dict.fromkeys((b"rTRC", b"gTRC", b"bTRC"), curve),
    }
    table, content, at = b"", b"", 128 + 4 + 12 * len(tags)
    for tag, value in tags.items():
        value += b"\0" * (-len(value) % 4)
        table += tag + struct.pack(">II", at + len(content), len(value))
        content += value
    head = struct.pack(
        ">I4sI4s4s4s12s4s", at + len(content), b"", 0x02400000, b"mntr", b"RGB ", b"XYZ ", b"", b"acsp"
    )
    head = head.ljust(68, b"\0") + b"".join(map(_fixed, [0.9642, 1.0, 0.8249]))
    return head.ljust(128, b"\0") + struct.pack(">I", len(tags)) + table + content


def _fixed(value: float) -> bytes:
    """s15Fixed16Number (ICC.1:2022, 4.6)."""
    return struct.pack(">i", round(value * 65536))


ADOBE_RGB = profile_of("a98-rgb", b"curv\0\0\0\0" + struct.pack(">IH", 1, round(563 / 256 * 256)))
"""Gamma 563/256 (Adobe RGB (1998) Color Image Encoding, 4.3.1.2)."""

DISPLAY_P3 = profile_of(
    "display-p3",
    b"para\0\0\0\0" + struct.pack(">HH", 3, 0)
    + b"".join(map(_fixed, [2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045])),
)  # fmt: skip
"""The curve of IEC 61966-2-1, with the primaries of SMPTE EG 432-1."""
