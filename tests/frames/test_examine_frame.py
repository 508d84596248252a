"""Hashes and fingerprints, and what is kept, told or refused."""

from __future__ import annotations

import hashlib
import os
import random
import shutil
import subprocess
import sys
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import pytest
from PIL import Image

from onsite.files.atomic_write import sha256_of
from onsite.frames.examine_frame import ExaminedFile, RefusedFile, examine_file, fingerprint
from onsite.frames.find_frame_files import CandidateFile, FileKind
from onsite.frames.frame_exif import ExifFacts
from onsite.frames.frame_measures import sharpness
from onsite.frames.open_frame_picture import scale_for
from onsite.slates.reader import read_slates
from onsite.slates.reader.seen_symbol import SymbolSeen
from tests.frames.pictures import huge_header, jpeg, raw

# FIPS 180-4's examples for SHA-256, as published by NIST ("SHA256.pdf", Cryptographic Standards and
# Guidelines: one block, two blocks); the million times "a" is from FIPS 180-2, appendix B.3.
EXAMPLES = [
    (b"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
    (
        b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
        "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
    ),
    (b"a" * 1_000_000, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"),
]


@pytest.mark.parametrize(("content", "digest"), EXAMPLES)
def test_the_hash_is_sha_256(tmp_path: Path, content: bytes, digest: str) -> None:
    path = tmp_path / "file"
    path.write_bytes(content)
    assert sha256_of(path) == digest


def test_the_hash_is_that_of_sha256sum(tmp_path: Path) -> None:
    if shutil.which("sha256sum") is None:
        pytest.skip("sha256sum is not installed here")
    path = tmp_path / "file"
    path.write_bytes(os.urandom(3_000_001))  # more than one piece, and a broken one
    told = subprocess.run(["sha256sum", str(path)], capture_output=True, text=True, check=True)
    assert sha256_of(path) == told.stdout.split()[0]


def test_a_fingerprint_changes_with_size_time_and_head(tmp_path: Path) -> None:
    path = jpeg(tmp_path / "a.jpg")
    first = fingerprint(path)
    assert first == fingerprint(path)
    assert first.head == hashlib.sha256(path.read_bytes()).hexdigest()
    os.utime(path, ns=(first.mtime_ns, first.mtime_ns + 1_000_000_000))
    assert fingerprint(path) != first


def looked_into(path: Path, kind: FileKind = FileKind.JPEG) -> ExaminedFile | RefusedFile:
    return examine_file(CandidateFile(path, path.parent, kind))


def refused(path: Path, kind: FileKind = FileKind.JPEG) -> str:
    outcome = looked_into(path, kind)
    assert isinstance(outcome, RefusedFile)
    assert "\n" not in outcome.reason
    return outcome.reason


def kept(path: Path, kind: FileKind = FileKind.JPEG) -> ExaminedFile:
    outcome = looked_into(path, kind)
    assert isinstance(outcome, ExaminedFile)
    return outcome


def test_a_good_frame(tmp_path: Path) -> None:
    outcome = kept(jpeg(tmp_path / "IMG_0042.JPG", size=(96, 64), serial="7"))
    assert (outcome.width, outcome.height, outcome.counter) == (96, 64, 42)
    assert outcome.looked
    assert outcome.look is not None
    assert (outcome.trouble, outcome.symbols, outcome.facts.serial) == ("", (), "7")


def test_an_empty_file(tmp_path: Path) -> None:
    (tmp_path / "a.jpg").touch()
    assert "empty" in refused(tmp_path / "a.jpg")


@pytest.mark.parametrize(
    ("name", "kind"), [("a.jpg", FileKind.JPEG), ("a.heic", FileKind.HEIF), ("a.tif", FileKind.TIFF)]
)
def test_a_letter_named_like_a_picture(tmp_path: Path, name: str, kind: FileKind) -> None:
    (tmp_path / name).write_text("Dear choir, the rehearsal is at nine.")
    assert "is not a" in refused(tmp_path / name, kind)


def test_a_header_that_promises_more_than_any_camera_makes(tmp_path: Path) -> None:
    assert "more than any camera" in refused(huge_header(tmp_path / "a.jpg"))


def test_a_file_that_is_gone(tmp_path: Path) -> None:
    assert "cannot be read" in refused(tmp_path / "gone.jpg")


def test_a_pipe_named_like_a_picture_is_not_waited_for(tmp_path: Path) -> None:
    if not hasattr(os, "mkfifo"):
        pytest.skip("no pipes here")
    os.mkfifo(tmp_path / "a.jpg")
    assert "regular" in refused(tmp_path / "a.jpg")


@pytest.mark.parametrize("part", [0.3, 0.6, 0.9])
def test_a_frame_cut_short_is_kept_and_told(tmp_path: Path, part: float) -> None:
    noise = Image.frombytes("RGB", (200, 200), random.Random(1).randbytes(120_000))
    path = tmp_path / "a.jpg"
    noise.save(path)
    content = path.read_bytes()
    path.write_bytes(content[: int(len(content) * part)])
    outcome = kept(path)
    assert "damaged" in outcome.trouble
    assert not outcome.looked
    assert outcome.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()


@pytest.mark.parametrize("length", range(3, 40, 4))
def test_a_frame_of_a_few_bytes_is_told_and_not_stumbled_over(tmp_path: Path, length: int) -> None:
    path = jpeg(tmp_path / "a.jpg")
    path.write_bytes(path.read_bytes()[:length])
    outcome = looked_into(path)
    assert isinstance(outcome, RefusedFile) or outcome.trouble


@pytest.mark.parametrize(
    ("sensor", "scale"),  # width and height of sensors of 12, 20, 24, 45, 60 and 100 megapixels
    [
        ((4256, 2832), 2),
        ((5472, 3648), 4),
        ((6000, 4000), 4),
        ((8256, 5504), 4),
        ((9504, 6336), 4),
        ((11648, 8736), 8),
        ((800, 600), 1),
    ],
)
def test_the_first_look_is_as_small_as_sharpness_allows(sensor: tuple[int, int], scale: int) -> None:
    assert scale_for(sensor) == scale_for(sensor[::-1]) == scale
    noise = Image.frombytes("L", (60, 40), random.Random(1).randbytes(2400))
    grey = noise.resize((-(-sensor[0] // scale), -(-sensor[1] // scale)))
    assert (sharpness(grey) is not None) == (scale > 1)


@pytest.mark.long
@pytest.mark.parametrize(
    ("name", "kind"), [("a.jpg", FileKind.JPEG), ("a.tif", FileKind.TIFF), ("a.heic", FileKind.HEIF)]
)
def test_slates_are_looked_for_in_a_small_grey_picture_and_the_large_one_made_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, kind: FileKind
) -> None:
    if kind is FileKind.HEIF:
        pytest.importorskip("pillow_heif").register_heif_opener()
    Image.new("RGB", (2800, 1840), "teal").save(tmp_path / name)
    asked: list[tuple[Image.Image, Image.Image, Image.Image]] = []

    def read(
        small: Image.Image, full: Callable[[], Image.Image], *_: object, **__: object
    ) -> tuple[SymbolSeen, ...]:
        asked.append((small, full(), full()))
        return ()

    monkeypatch.setattr(read_slates, "read_symbols", read)
    outcome = kept(tmp_path / name, kind)
    ((small, large, again),) = asked
    assert (small.mode, small.size, large.mode, large.size) == ("L", (1400, 920), "L", (2800, 1840))
    assert large is again
    assert (outcome.width, outcome.height) == (2800, 1840)


def test_a_raw_is_seen_through_its_preview(tmp_path: Path) -> None:
    pytest.importorskip("rawpy", reason="the reader for raw files is not installed here")
    path = raw(tmp_path / "DSC_0001.DNG", Image.new("RGB", (300, 200), "navy"), "2026:06:13 09:41:07", "42")
    outcome = kept(path, FileKind.RAW)
    assert (outcome.width, outcome.height, outcome.looked, outcome.trouble) == (300, 200, True, "")
    assert outcome.facts == ExifFacts(datetime(2026, 6, 13, 9, 41, 7), serial="42", model="Model One")


@pytest.mark.parametrize("part", [0.1, 0.5, 0.99])
def test_a_raw_cut_short_is_kept_and_told(tmp_path: Path, part: float) -> None:
    pytest.importorskip("rawpy", reason="the reader for raw files is not installed here")
    path = raw(tmp_path / "DSC_0001.DNG")
    path.write_bytes(path.read_bytes()[: int(path.stat().st_size * part)])
    assert kept(path, FileKind.RAW).trouble


def test_a_raw_whose_preview_is_damaged_is_kept_and_told(tmp_path: Path) -> None:
    pytest.importorskip("rawpy", reason="the reader for raw files is not installed here")
    path = raw(tmp_path / "DSC_0001.DNG", serial="42")
    content = bytearray(path.read_bytes())
    content[40:300] = b"\xaa" * 260
    path.write_bytes(content)
    outcome = kept(path, FileKind.RAW)
    assert outcome.trouble
    assert outcome.facts.serial == "42"


def test_a_jpeg_under_a_raws_name_is_seen_as_what_it_is(camera_files: Path) -> None:
    outcome = kept(camera_files / "raw" / "one.nef", FileKind.RAW)  # exiftool: File Type JPEG
    assert outcome.looked
    assert outcome.width > 1000


def test_without_the_reader_for_raws_they_are_kept_and_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "rawpy", None)
    path = raw(tmp_path / "DSC_0001.DNG", serial="42")
    outcome = kept(path, FileKind.RAW)
    assert "onsite[raw]" in outcome.trouble
    assert outcome.facts.serial == "42"
    beside_its_jpeg = examine_file(
        CandidateFile(path, tmp_path, FileKind.RAW, has_picture_partner=True), look=False
    )
    assert isinstance(beside_its_jpeg, ExaminedFile)
    assert beside_its_jpeg.trouble == ""
