"""When a file that is being written is complete."""

from __future__ import annotations

import io
import random
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from onsite.frames.find_frame_files import FileKind
from onsite.frames.watched_folder_changes import (
    BETWEEN_LOOKS,
    QUIET,
    STALLED,
    FileEnding,
    FileState,
    ending_of,
    is_complete,
)
from tests.frames.pictures import jpeg

NOW = 1000.0


@pytest.mark.parametrize(
    ("ending", "seconds"),
    [(FileEnding.WHOLE, BETWEEN_LOOKS), (FileEnding.UNKNOWN, QUIET), (FileEnding.CUT, STALLED)],
)
def test_a_file_is_complete_when_it_has_lain_still(ending: FileEnding, seconds: float) -> None:
    first = FileState(2_800_000, 7, NOW)
    assert not is_complete(first, FileState(2_800_000, 7, NOW + seconds * 0.9), ending)
    assert is_complete(first, FileState(2_800_000, 7, NOW + seconds * 1.1), ending)


@given(st.integers(0, 10), st.integers(0, 10), st.floats(0, 1e6), st.sampled_from(FileEnding))
def test_a_file_that_changed_or_is_empty_is_never_complete(
    grown: int, later: int, seconds: float, ending: FileEnding
) -> None:
    first = FileState(0 if grown == later else 9, 7, NOW)
    now = FileState(first.size + grown, 7 + later, NOW + seconds)
    if grown or later or not first.size:
        assert not is_complete(first, now, ending)


def picture(exif_preview: bool = False, **options: object) -> bytes:
    noise = Image.frombytes("RGB", (200, 150), random.Random(1).randbytes(90_000))
    data = io.BytesIO()
    if exif_preview:
        small = io.BytesIO()
        noise.resize((100, 75)).save(small, "JPEG")
        options["exif"] = b"Exif\0\0" + small.getvalue()
    noise.save(data, "JPEG", **options)  # type: ignore[arg-type]
    return data.getvalue()


@pytest.mark.parametrize("padding", [b"", b"\0" * 700, b"\0" * 40_000])
@pytest.mark.parametrize("progressive", [False, True])
def test_a_jpeg_ends_with_the_end_of_the_image(tmp_path: Path, padding: bytes, progressive: bool) -> None:
    path = tmp_path / "a.jpg"
    path.write_bytes(picture(progressive=progressive) + padding)
    assert ending_of(path, FileKind.JPEG) is FileEnding.WHOLE


def test_a_jpeg_broken_off_anywhere_is_cut(tmp_path: Path) -> None:
    content, path = picture(), tmp_path / "a.jpg"
    for length in [*range(1, 700), *range(700, len(content), 499), len(content) - 1]:
        path.write_bytes(content[:length])
        assert ending_of(path, FileKind.JPEG) is FileEnding.CUT, length


def test_the_end_of_the_preview_in_the_head_is_not_the_end(tmp_path: Path) -> None:
    content, path = picture(exif_preview=True), tmp_path / "a.jpg"
    end_of_preview = content.index(b"\xff\xd9") + 2
    assert end_of_preview < len(content) - 1000
    path.write_bytes(content[:end_of_preview])
    assert ending_of(path, FileKind.JPEG) is FileEnding.CUT
    path.write_bytes(content[:end_of_preview].ljust(len(content), b"\0"))  # room taken beforehand
    assert ending_of(path, FileKind.JPEG) is FileEnding.CUT
    path.write_bytes(content)
    assert ending_of(path, FileKind.JPEG) is FileEnding.WHOLE


def test_files_of_real_cameras_are_whole(camera_files: Path) -> None:
    files = sorted((camera_files / "orientation").rglob("*.jpg"))
    assert files
    assert {ending_of(path, FileKind.JPEG) for path in files} == {FileEnding.WHOLE}


def test_a_heic_ends_with_its_last_box(tmp_path: Path) -> None:
    heif = pytest.importorskip("pillow_heif", reason="the reader for HEIC is not installed here")
    heif.register_heif_opener()
    path = tmp_path / "a.heic"
    Image.new("RGB", (64, 64), "navy").save(path)
    content = path.read_bytes()
    assert ending_of(path, FileKind.HEIF) is FileEnding.WHOLE
    for length in (20, len(content) // 2, len(content) - 1):
        path.write_bytes(content[:length])
        assert ending_of(path, FileKind.HEIF) is FileEnding.CUT


def test_what_has_no_end_to_be_told(tmp_path: Path) -> None:
    (tmp_path / "a.tif").write_bytes(b"II*\0" + bytes(100))
    assert ending_of(tmp_path / "a.tif", FileKind.TIFF) is FileEnding.UNKNOWN
    (tmp_path / "a.jpg").write_text("Dear choir")
    assert ending_of(tmp_path / "a.jpg", FileKind.JPEG) is FileEnding.UNKNOWN


def test_a_jpeg_under_a_raws_name_ends_like_a_jpeg(tmp_path: Path) -> None:
    assert ending_of(jpeg(tmp_path / "a.nef"), FileKind.RAW) is FileEnding.WHOLE
