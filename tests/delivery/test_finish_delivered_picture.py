"""Finished files: their colours, their size, their bytes, and nothing in them that is not meant to be.

Colours are held against their own coordinates: sRGB by IEC 61966-2-1 and Adobe RGB (1998) by its encoding.
"""

from __future__ import annotations

import io
import json
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import tifffile
from PIL import Image, ImageCms

from onsite.delivery.finish_delivered_picture import (
    LEAST_QUALITY,
    FinishedPicture,
    FinishTerms,
    finish_picture,
)
from onsite.frames.frame_to_srgb import adobe_rgb_profile, srgb_profile
from onsite.frames.open_frame_picture import NotAPicture, UnreadablePicture
from onsite.metadata.xmp_fields import MetadataFields
from onsite.metadata.xmp_packet import packet_of
from tests.delivery.choices import drawn
from tests.delivery.inks import cmyk_profile, colour_of

PLAIN = FinishTerms(ratio=None, long_side=0, quality=95, most_bytes=0)
ANA = MetadataFields(title="Ana")


def finished(path: Path, content: bytes, terms: FinishTerms = PLAIN) -> tuple[FinishedPicture, Image.Image]:
    path.write_bytes(content)
    done = finish_picture(path, terms, ANA)
    return done, Image.open(io.BytesIO(done.content))


def flat(colour: tuple[int, ...], mode: str = "RGB", form: str = "JPEG", **how: object) -> bytes:
    content = io.BytesIO()
    if form == "JPEG":
        how["quality"] = 100
    Image.new(mode, (64, 48), colour).save(content, form, **how)  # type: ignore[arg-type]
    return content.getvalue()


def middle(picture: Image.Image) -> tuple[int, ...]:
    found = picture.convert("RGB").getpixel((picture.width // 2, picture.height // 2))
    assert isinstance(found, tuple)
    return tuple(int(value) for value in found)


def to_srgb(adobe: tuple[int, int, int]) -> list[float]:
    """Adobe RGB (1998) to sRGB by their published matrices, both for D65 (from memory)."""
    linear = [(value / 255) ** (563 / 256) for value in adobe]
    to_xyz = [
        [0.57667, 0.18556, 0.18823],
        [0.29734, 0.62736, 0.07529],
        [0.02703, 0.07069, 0.99134],
    ]
    to_rgb = [[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]]
    light = np.clip(np.array(to_rgb) @ np.array(to_xyz) @ np.array(linear), 0, 1)
    coded = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    return list(coded * 255)


@pytest.mark.parametrize("colour", [(90, 120, 60), (128, 128, 128), (180, 120, 100), (60, 90, 140)])
def test_adobe_rgb_comes_out_as_srgb(tmp_path: Path, colour: tuple[int, int, int]) -> None:
    _, picture = finished(tmp_path / "a.jpg", flat(colour, icc_profile=adobe_rgb_profile()))
    assert middle(picture) == pytest.approx(to_srgb(colour), abs=3)
    assert "sRGB" in ImageCms.getProfileDescription(
        ImageCms.ImageCmsProfile(io.BytesIO(picture.info["icc_profile"]))
    )


def test_adobe_rgb_that_only_exif_tells(tmp_path: Path) -> None:
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0xA005] = {1: "R03"}
    _, picture = finished(tmp_path / "a.jpg", flat((90, 120, 60), exif=exif))
    assert middle(picture) == pytest.approx(to_srgb((90, 120, 60)), abs=3)


@pytest.mark.parametrize("how", [{}, {"icc_profile": srgb_profile()}], ids=["no profile", "sRGB"])
def test_srgb_stays_as_it_is(tmp_path: Path, how: dict[str, object]) -> None:
    _, picture = finished(tmp_path / "a.jpg", flat((90, 120, 60), **how))
    assert middle(picture) == pytest.approx((90, 120, 60), abs=2)


LAYOUTS: list[dict[str, object]] = [
    {},
    {"compression": "zlib"},
    {"compression": "zlib", "predictor": True},
    {"byteorder": ">"},
    {"bigtiff": True},
    {"tile": (32, 32)},
    {"planarconfig": "separate"},
    {"planarconfig": "separate", "byteorder": ">"},
    {"planarconfig": "separate", "tile": (32, 32)},
    {"planarconfig": "separate", "compression": "zlib"},
]


@pytest.mark.parametrize("how", LAYOUTS, ids=lambda how: " ".join(map(str, how.values())) or "plain")
@pytest.mark.parametrize("channels", [3, 4], ids=["RGB", "opaque"])
def test_sixteen_bits_a_channel(tmp_path: Path, channels: int, how: dict[str, object]) -> None:
    values = np.full((48, 64, channels), 65535, np.uint16)
    values[..., 0], values[..., 1] = np.linspace(300, 65000, 64), np.linspace(50000, 100, 48)[:, None]
    values[..., 2] = 30840 + np.arange(64)  # high bytes alike, low bytes not
    stored = np.moveaxis(values, -1, 0) if "planarconfig" in how else values
    extra = {"extrasamples": ["unassalpha"]} if channels == 4 else {}
    tifffile.imwrite(tmp_path / "a.tif", stored, photometric="rgb", **extra, **how)
    _, picture = finished(tmp_path / "a.tif", (tmp_path / "a.tif").read_bytes())
    difference = np.abs(np.asarray(picture).astype(int) - values[..., :3] / 257)
    assert difference.mean() < 1
    assert difference.max() < 6  # JPEG


@pytest.mark.parametrize("how", [{}, {"byteorder": ">"}, {"compression": "zlib"}])
def test_sixteen_bits_of_grey(tmp_path: Path, how: dict[str, str]) -> None:
    values = np.linspace(0, 65535, 64 * 48).astype(np.uint16).reshape(48, 64)
    tifffile.imwrite(tmp_path / "a.tif", values, **how)
    _, picture = finished(tmp_path / "a.tif", (tmp_path / "a.tif").read_bytes())
    assert np.abs(np.asarray(picture.convert("L")).astype(int) - values / 257).max() < 3


@pytest.mark.parametrize(
    ("values", "how", "why"),
    [
        (np.zeros((8, 8), np.uint16), {"photometric": "miniswhite"}, "stored as a negative"),
        (np.zeros((8, 8), np.float32), {}, "32 bits a channel: save it with 16 or 8"),
        (np.zeros((8, 8, 3), np.float32), {"photometric": "rgb"}, "save it as RGB with 8 or 16 bits"),
        (np.zeros((8, 8, 3), np.uint32), {"photometric": "rgb"}, "save it as RGB with 8 or 16 bits"),
        (np.zeros((8, 8, 3), np.uint16), {"photometric": "cielab"}, "save it as RGB with 8 or 16 bits"),
        (np.zeros((8, 8, 4), np.uint16), {"photometric": "separated"}, "CMYK without a profile"),
    ],
    ids=["negative", "grey float", "float", "32 bits", "Lab", "CMYK"],
)
def test_what_would_come_out_wrong_is_refused(
    tmp_path: Path, values: np.ndarray, how: dict[str, str], why: str
) -> None:
    tifffile.imwrite(tmp_path / "a.tif", values, **how)
    with pytest.raises((NotAPicture, UnreadablePicture), match=why):
        finish_picture(tmp_path / "a.tif", PLAIN, ANA)


@pytest.mark.parametrize(("mode", "colour"), [("L", 120), ("RGBA", (120, 120, 120, 255)), ("LA", (120, 255))])
def test_other_kinds_of_pixels(tmp_path: Path, mode: str, colour: tuple[int, ...]) -> None:
    _, picture = finished(tmp_path / "a.tif", flat(colour, mode, "TIFF"))
    assert picture.mode == "RGB"
    assert middle(picture) == pytest.approx((120, 120, 120), abs=2)


def test_what_is_transparent_is_white(tmp_path: Path) -> None:
    _, picture = finished(tmp_path / "a.tif", flat((0, 0, 0, 0), "RGBA", "TIFF"))
    assert middle(picture) == (255, 255, 255)


@pytest.mark.parametrize("form", ["JPEG", "TIFF"])
@pytest.mark.parametrize("inks", [(0, 0, 0, 0), (1, 0, 0, 0), (0, 1, 1, 0), (0, 0, 0, 1)])
def test_cmyk_by_its_profile(tmp_path: Path, inks: tuple[int, int, int, int], form: str) -> None:
    full = tuple(255 * ink for ink in inks)
    content = flat(full, "CMYK", form, icc_profile=cmyk_profile())
    _, picture = finished(tmp_path / ("a.jpg" if form == "JPEG" else "a.tif"), content)
    assert picture.mode == "RGB"
    assert middle(picture) == pytest.approx(colour_of(*inks), abs=6)


def test_cmyk_without_a_profile_is_refused(tmp_path: Path) -> None:
    with pytest.raises(UnreadablePicture, match="CMYK without a profile"):
        finished(tmp_path / "a.jpg", flat((0, 0, 0, 0), "CMYK"))


def test_a_profile_that_does_not_fit_is_told(tmp_path: Path) -> None:
    with pytest.raises(UnreadablePicture, match="colour profile"):
        finished(tmp_path / "a.jpg", flat((1, 2, 3), icc_profile=b"no profile" * 20))


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("form", ["JPEG", "TIFF"])
def test_the_right_way_up(tmp_path: Path, orientation: int, form: str) -> None:
    upright = Image.open(io.BytesIO(drawn(3, (90, 60), form="PNG")))
    undo = {2: 0, 3: 3, 4: 1, 5: 5, 6: 2, 7: 6, 8: 4}  # by Image.Transpose: what a camera so held would store
    stored = upright if orientation == 1 else upright.transpose(Image.Transpose(undo[orientation]))
    exif = Image.Exif()
    exif[0x0112] = orientation
    content = io.BytesIO()
    stored.save(content, form, exif=exif, **({"quality": 98} if form == "JPEG" else {}))
    _, picture = finished(tmp_path / f"a.{form.lower()}", content.getvalue())
    assert picture.size == (90, 60)
    assert picture.getexif().get(0x0112, 1) == 1
    difference = np.abs(np.asarray(picture.convert("RGB"), int) - np.asarray(upright, int))
    assert difference.mean() < 4


def test_cropped_to_the_ratio_and_the_agreed_size(tmp_path: Path) -> None:
    terms = replace(PLAIN, ratio=0.8, long_side=100)
    done, picture = finished(tmp_path / "a.jpg", drawn(1, (600, 400)), terms)
    assert done.size == picture.size == (80, 100)


def test_a_small_picture_is_not_enlarged(tmp_path: Path) -> None:
    assert finished(tmp_path / "a.jpg", drawn(1, (60, 40)), replace(PLAIN, ratio=0.8, long_side=3000))[
        1
    ].size == (
        32,
        40,
    )


def noise(size: tuple[int, int] = (400, 300)) -> bytes:
    values = np.random.default_rng(1).integers(0, 256, (size[1], size[0], 3), np.uint8)
    content = io.BytesIO()
    Image.fromarray(values).save(content, "PNG")
    picture = io.BytesIO()
    Image.open(content).save(picture, "TIFF")
    return picture.getvalue()


def test_the_best_quality_that_keeps_to_the_bytes(tmp_path: Path) -> None:
    most = 120_000
    done, _ = finished(tmp_path / "a.tif", noise(), replace(PLAIN, most_bytes=most))
    assert len(done.content) <= most
    assert LEAST_QUALITY <= done.quality < 95
    better = finish_picture(tmp_path / "a.tif", replace(PLAIN, quality=done.quality + 1), ANA)
    assert len(better.content) > most


def test_what_cannot_fit_is_refused(tmp_path: Path) -> None:
    with pytest.raises(UnreadablePicture, match="do not fit into 10 kB"):
        finished(tmp_path / "a.tif", noise(), replace(PLAIN, most_bytes=10_000))


def test_sharpening_makes_edges_steeper(tmp_path: Path) -> None:
    picture = Image.new("RGB", (64, 64), (80, 80, 80))
    picture.paste((160, 160, 160), (32, 0, 64, 64))
    content = io.BytesIO()
    picture.save(content, "TIFF")
    _, plain = finished(tmp_path / "a.tif", content.getvalue())
    _, sharp = finished(tmp_path / "a.tif", content.getvalue(), replace(PLAIN, sharpen=True))

    def steepest(image: Image.Image) -> int:
        row = np.asarray(image.convert("L"), int)[32]
        return int(np.abs(np.diff(row)).max())

    assert steepest(sharp) > steepest(plain)


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("a.jpg", b"only a text"),
        ("a.jpg", b""),
        ("a.tif", drawn(1)),
        ("a.jpg", drawn(1)[:700]),
        ("a.txt", b"only a text"),
        ("a.cr3", drawn(1)),
    ],
    ids=["text", "empty", "JPEG as TIFF", "truncated", "no picture", "raw"],
)
def test_what_is_no_whole_picture_is_refused(tmp_path: Path, name: str, content: bytes) -> None:
    with pytest.raises((NotAPicture, UnreadablePicture)):
        finished(tmp_path / name, content)


def test_the_same_picture_is_the_same_file(tmp_path: Path) -> None:
    one, _ = finished(tmp_path / "a.jpg", drawn(1))
    again, _ = finished(tmp_path / "a.jpg", drawn(1))
    assert one.content == again.content


@pytest.mark.long
@pytest.mark.skipif(shutil.which("exiftool") is None, reason="exiftool is not installed")
def test_no_place_and_no_serial_number_go_out(tmp_path: Path) -> None:
    exif = Image.Exif()
    exif[0x010F] = "Maker"
    exif.get_ifd(0x8769)[0xA431] = "SERIAL-1"
    exif.get_ifd(0x8825)[2] = (48.0, 12.0, 30.0)
    content = drawn(1, exif=exif, comment=b"a comment", xmp=packet_of(MetadataFields(title="somebody else")))
    (tmp_path / "before.jpg").write_bytes(content)
    done, _ = finished(tmp_path / "a.jpg", content)
    (tmp_path / "after.jpg").write_bytes(done.content)

    def told(name: str) -> dict[str, object]:
        ran = subprocess.run(
            ["exiftool", "-json", "-G1", "-a", tmp_path / name], capture_output=True, check=True, text=True
        )
        found: dict[str, object] = json.loads(ran.stdout)[0]
        return found

    assert {"GPS:GPSLatitude", "ExifIFD:SerialNumber", "File:Comment"} <= told("before.jpg").keys()
    groups = {key.partition(":")[0] for key in told("after.jpg")}
    assert groups <= {
        "SourceFile",
        "ExifTool",
        "System",
        "File",
        "JFIF",
        "XMP-dc",
        "IPTC",
        "Photoshop",
        "Composite",
    } | {group for group in groups if group.startswith("ICC")}
    assert told("after.jpg")["XMP-dc:Title"] == "Ana"
