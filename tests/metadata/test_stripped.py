"""Metadata taken out of JPEGs and TIFFs: exiftool and exiv2 find nothing left; Pillow and tifffile see
the same picture, profile and orientation."""

from __future__ import annotations

import io
import json
import shutil
import subprocess
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile
from hypothesis import example, given
from hypothesis import strategies as st
from PIL import Image, ImageCms

from onsite.metadata.strip_metadata import CannotStrip, strip_jpeg, strip_tiff
from tests.conftest import CAMERA_FILES
from tests.frames.pictures import multi_picture

PROFILE = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
SECRET = "Ana Horvat"

SHOWN_BY = {
    *("Orientation", "ColorSpace", "InteropIndex", "JFIFVersion", "ResolutionUnit", "XResolution"),
    *("YResolution", "DCTEncodeVersion", "APP14Flags0", "APP14Flags1", "ColorTransform"),
}
"""All that may be left of a camera's JPEG, by exiftool's names."""
EXIV2_SHOWN_BY = {
    *("Exif.Image.Orientation", "Exif.Image.ExifTag", "Exif.Photo.ColorSpace"),
    *("Exif.Photo.InteroperabilityTag", "Exif.Iop.InteroperabilityIndex"),
}
"""The same by exiv2's."""
STRUCTURE = {
    *("ImageWidth", "ImageHeight", "BitsPerSample", "Compression", "PhotometricInterpretation"),
    *("StripOffsets", "SamplesPerPixel", "RowsPerStrip", "StripByteCounts", "PlanarConfiguration"),
    *("Predictor", "TileWidth", "TileLength", "TileOffsets", "TileByteCounts", "SampleFormat"),
    *("YCbCrSubSampling", "YCbCrPositioning", "ReferenceBlackWhite", "JPEGTables", "SubfileType"),
}
CAMERAS = sorted(
    path
    for folder in ("exif", "orientation")
    for path in (CAMERA_FILES / folder).glob("*.jp*g")
    if path.name != "corrupted.jpg"  # its segments are damaged
)


def named(path: Path) -> set[str]:
    """The names of what exiftool finds in a file, apart from the profile and the file itself."""
    if shutil.which("exiftool") is None:
        pytest.skip("exiftool is not installed")
    done = subprocess.run(
        ["exiftool", "-json", "-a", "-u", "-G1", "-ee", path], capture_output=True, check=True, text=True
    )
    found: dict[str, Any] = json.loads(done.stdout)[0]
    groups = ("ExifTool", "File", "System", "Composite")
    return {
        name.partition(":")[2]
        for name in found
        if ":" in name and name.partition(":")[0] not in groups and not name.startswith("ICC")
    }


def exiv2(path: Path) -> set[str]:
    """The keys of the EXIF, IPTC and XMP metadata that exiv2 finds, and of its previews."""
    if shutil.which("exiv2") is None:
        pytest.skip("exiv2 is not installed")
    keys = subprocess.run(["exiv2", "-pa", path], capture_output=True, text=True).stdout
    assert not subprocess.run(["exiv2", "-pp", path], capture_output=True, text=True).stdout
    assert not subprocess.run(["exiv2", "-pc", path], capture_output=True, text=True).stdout.strip()
    return {line.split()[0] for line in keys.splitlines()}


def test_there_are_files_of_real_cameras(camera_files: Path) -> None:
    assert len(CAMERAS) > 15, camera_files


@pytest.mark.long
@pytest.mark.parametrize("path", CAMERAS, ids=lambda path: path.stem)
def test_a_camera_file_keeps_picture_profile_and_orientation_alone(path: Path, tmp_path: Path) -> None:
    before = path.read_bytes()
    after = strip_jpeg(before)
    place = tmp_path / "stripped.jpg"
    place.write_bytes(after)
    with Image.open(io.BytesIO(before)) as one, Image.open(place) as other:
        assert (one.mode, one.size) == (other.mode, other.size)
        assert one.getexif().get(0x0112, 1) == other.getexif().get(0x0112, 1)
        assert one.info.get("icc_profile") == other.info.get("icc_profile")
        assert one.tobytes() == other.tobytes()
    assert named(place) <= SHOWN_BY
    assert exiv2(place) <= EXIV2_SHOWN_BY
    assert strip_jpeg(after) == after


@pytest.mark.skipif(shutil.which("exiftool") is None, reason="exiftool is not installed")
def test_nothing_that_exiftool_can_write_is_left(tmp_path: Path) -> None:
    """Names, places and cameras in every form: EXIF, IIM, XMP, comments, a thumbnail, data behind the end."""
    place = tmp_path / "told.jpg"
    Image.effect_noise((400, 300), 60).convert("RGB").save(place, progressive=True, icc_profile=PROFILE)
    small = io.BytesIO()
    Image.new("RGB", (40, 30)).save(small, "JPEG")
    (tmp_path / "small.jpg").write_bytes(small.getvalue())
    long = tmp_path / "long.txt"
    long.write_text(f"{SECRET} " * 9000)  # an extended packet: more than one segment of XMP
    fields = (
        *(f"-Artist={SECRET}", "-GPSLatitude=48.2", "-GPSLatitudeRef=N", "-SerialNumber=77", "-Make=Maker"),
        *(f"-OwnerName={SECRET}", f"-IPTC:By-line={SECRET}", f"-XMP-dc:Title={SECRET}", f"-Comment={SECRET}"),
        *(f"-XMP-iptcExt:PersonInImage={SECRET}", f"-XMP-dc:Description<={long}", "-Orientation#=6"),
        *(f"-ThumbnailImage<={tmp_path / 'small.jpg'}", "-XMP-aux:LensSerialNumber=9", "-Model=Model 9"),
    )
    done = subprocess.run(["exiftool", "-q", "-overwrite_original", *fields, place], capture_output=True)
    assert done.returncode == 0, done.stderr
    with place.open("ab") as file:
        file.write(small.getvalue() + SECRET.encode())
    assert place.read_bytes().count(SECRET.encode()) > 8000
    after = strip_jpeg(place.read_bytes())
    with Image.open(place) as one, Image.open(io.BytesIO(after)) as other:
        assert one.tobytes() == other.tobytes()
        assert other.getexif().get(0x0112) == 6
        assert other.info["icc_profile"] == PROFILE
    for telling in (SECRET, "Horvat", "Maker", "Model 9", "JFXX", "http"):
        assert telling.encode() not in after
    assert after.count(b"\xff\xd8\xff") == 1
    place.write_bytes(after)
    assert named(place) <= SHOWN_BY
    assert exiv2(place) <= EXIV2_SHOWN_BY


def test_a_second_picture_in_a_file_goes(tmp_path: Path) -> None:
    path = multi_picture(
        tmp_path / "two.jpg", Image.new("RGB", (64, 48), "red"), Image.new("RGB", (640, 480))
    )
    after = strip_jpeg(path.read_bytes())
    assert after.count(b"\xff\xd8\xff") == 1
    assert b"MPF" not in after


def telling_tiff(**how: Any) -> bytes:
    exif = Image.Exif()
    exif[0x0112], exif[0x010F], exif[0x013B], exif[0x010E] = 6, "Maker", SECRET, SECRET
    exif.get_ifd(0x8769)[0xA431] = "SERIAL 7"
    exif.get_ifd(0x8825)[1] = "N"
    exif[700] = f"<x:xmpmeta xmlns:x='adobe:ns:meta/'>{SECRET}</x:xmpmeta>".encode()
    content = io.BytesIO()
    picture = Image.effect_noise((300, 200), 60).convert("RGB")
    picture.save(content, "TIFF", exif=exif, icc_profile=PROFILE, **how)
    return content.getvalue()


@pytest.mark.parametrize("compression", [None, "tiff_lzw", "tiff_deflate", "jpeg", "packbits"])
def test_a_tiff_keeps_picture_profile_and_orientation_alone(compression: str | None, tmp_path: Path) -> None:
    before = telling_tiff(compression=compression)
    assert SECRET.encode() in before
    after = strip_tiff(before)
    with Image.open(io.BytesIO(before)) as one, Image.open(io.BytesIO(after)) as other:
        assert one.tag_v2[0x0112] == other.tag_v2[0x0112] == 6  # type: ignore[attr-defined]
        assert one.tobytes() == other.tobytes()
        assert other.info["icc_profile"] == PROFILE
    for telling in (SECRET, "Maker", "SERIAL", "xmpmeta"):
        assert telling.encode() not in after
    place = tmp_path / "stripped.tif"
    place.write_bytes(after)
    strip = {"PreviewImage", "PreviewImageStart", "PreviewImageLength"}  # what exiftool takes a strip for
    assert named(place) <= SHOWN_BY | STRUCTURE | (strip if compression == "jpeg" else set())
    assert not {key for key in exiv2(place) if not key.startswith("Exif.Image.")}
    assert strip_tiff(after) == after


@pytest.mark.parametrize("big", [False, True])
@pytest.mark.parametrize("order", ["<", ">"])
@pytest.mark.parametrize("how", [{}, {"tile": (64, 64)}, {"compression": "zlib", "predictor": True}])
def test_sixteen_bits_tiles_and_either_order_of_bytes(
    big: bool, order: str, how: dict[str, Any], tmp_path: Path
) -> None:
    values = np.random.default_rng(1).integers(0, 65536, (200, 300, 3), dtype=np.uint16)
    place = tmp_path / "deep.tif"
    telling = [(315, 2, 0, SECRET, True)]
    with tifffile.TiffWriter(place, bigtiff=big, byteorder=order) as writer:
        writer.write(values, photometric="rgb", description=SECRET, extratags=telling, **how)
        writer.write(values[::2], photometric="rgb", description=SECRET)  # a second picture
    after = strip_tiff(place.read_bytes())
    assert SECRET.encode() not in after
    with tifffile.TiffFile(io.BytesIO(after)) as file:
        assert len(file.pages) == 1
        assert np.array_equal(file.asarray(), values)


@given(
    st.binary(max_size=400), st.sampled_from([b"", b"\xff\xd8\xff", b"II*\0", b"MM\0+", b"II+\0\x08\0\0\0"])
)
@example(content=b"\xd9", head=b"\xff\xd8\xff")  # a beginning and an end, and no picture between them
def test_rubbish_is_refused_with_a_reason(content: bytes, head: bytes) -> None:
    for strip in (strip_jpeg, strip_tiff):
        with pytest.raises(CannotStrip):
            strip(head + content)


@given(st.integers(0, 20_000))
def test_a_file_that_breaks_off_is_refused(kept: int) -> None:
    whole = io.BytesIO()
    Image.linear_gradient("L").resize((320, 240)).save(whole, "JPEG", progressive=True)
    content = whole.getvalue()
    with pytest.raises(CannotStrip):
        strip_jpeg(content[: min(kept, len(content) - 2)])
