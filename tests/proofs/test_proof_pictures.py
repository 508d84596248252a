"""What a frame becomes before it goes out: small, sRGB, the right way up, and nothing else in the file."""

from __future__ import annotations

import io
import json
import shutil
import subprocess
from pathlib import Path

import pytest
from coloraide import Color
from PIL import Image

from onsite.files.atomic_write import sha256_of
from onsite.frames.examine_frame import fingerprint
from onsite.frames.find_frame_files import FileKind
from onsite.frames.frame_previews import save_preview
from onsite.frames.frame_to_srgb import srgb_profile
from onsite.proofs.proof_picture import LONG_SIDE, NoProofPicture, ProofPicture, proof_picture
from onsite.reconcile.frame_ownership import ProofFrame, ProofSource
from tests.proofs.studio import ADOBE_RGB, DISPLAY_P3, frame


def proof(path: Path, shoot_folder: Path | None = None) -> ProofPicture:
    return proof_picture(ProofFrame(1, "A:0001", (source(path),)), shoot_folder or path.parent)


def source(path: Path) -> ProofSource:
    now = fingerprint(path)
    return ProofSource(path, FileKind.JPEG, sha256_of(path), now.size, now.head)


def opened(made: ProofPicture) -> Image.Image:
    return Image.open(io.BytesIO(made.jpeg))


def test_nothing_of_the_camera_is_left_in_it(tmp_path: Path) -> None:
    if not shutil.which("exiftool"):
        pytest.skip("exiftool is not installed")
    taken = frame(tmp_path / "IMG_0001.JPG")
    (tmp_path / "out.jpg").write_bytes(proof(taken).jpeg)
    before, after = (
        json.loads(subprocess.check_output(["exiftool", "-j", "-G1", "-a", str(path)]))[0]
        for path in (taken, tmp_path / "out.jpg")
    )
    assert (before["GPS:GPSLatitudeRef"], before["ExifIFD:SerialNumber"]) == ("North", "SERIAL-77")
    groups = {name.split(":")[0] for name in after} - {"SourceFile", "ExifTool", "System", "Composite"}
    assert groups <= {"File", "JFIF", "ICC-header", "ICC_Profile", "ICC-chrm"}
    assert "File:Comment" not in after
    assert after["ICC_Profile:ProfileDescription"].startswith("sRGB")


def test_it_is_small_and_marked(tmp_path: Path) -> None:
    large = frame(tmp_path / "IMG_0001.JPG", (200, 200, 200), (6000, 4000))
    made = proof(large)
    assert (made.width, made.height) == opened(made).size == (LONG_SIDE, LONG_SIDE * 2 // 3)
    foot = opened(made).convert("L").crop((LONG_SIDE // 4, 520, LONG_SIDE * 3 // 4, 620))
    darkest, lightest = foot.getextrema()
    assert darkest < 180 < 215 < lightest


# EXIF 2.32 (CIPA DC-008-2019), Orientation: where the stored picture's left edge, dark here, is to be seen.
@pytest.mark.parametrize(
    ("orientation", "dark"), [(1, "left"), (3, "right"), (6, "top"), (8, "bottom"), (2, "right"), (5, "top")]
)
def test_it_is_the_right_way_up(tmp_path: Path, orientation: int, dark: str) -> None:
    made = opened(proof(frame(tmp_path / "IMG_0001.JPG", (160, 160, 160), orientation=orientation)))
    width, height = made.size
    assert (width > height) == (orientation < 5)
    edges = {"left": (5, 20), "right": (width - 5, 20), "top": (20, 5), "bottom": (20, height - 5)}
    assert made.convert("L").getpixel(edges[dark]) < 60


@pytest.mark.parametrize(("profile", "space"), [(ADOBE_RGB, "a98-rgb"), (DISPLAY_P3, "display-p3")])
def test_colours_of_another_profile_are_converted(tmp_path: Path, profile: bytes, space: str) -> None:
    stored = (150, 110, 90)
    made = opened(proof(frame(tmp_path / "IMG_0001.JPG", stored, profile=profile)))
    wanted = Color(space, [part / 255 for part in stored]).convert("srgb").coords()
    seen = made.getpixel((made.width - 10, 10))
    assert isinstance(seen, tuple)
    assert made.info["icc_profile"] == srgb_profile()
    assert [abs(a - b * 255) <= 2 for a, b in zip(seen, wanted, strict=True)] == [True] * 3
    assert max(abs(a - b) for a, b in zip(seen, stored, strict=True)) > 4  # taken as it is, it would be wrong


@pytest.mark.parametrize("profile", [b"no profile at all", ADOBE_RGB[:200]])
def test_a_damaged_profile_is_left_aside(tmp_path: Path, profile: bytes) -> None:
    made = opened(proof(frame(tmp_path / "IMG_0001.JPG", (150, 110, 90), profile=profile)))
    assert [abs(a - b) <= 3 for a, b in zip(made.getpixel((230, 10)), (150, 110, 90), strict=True)] == [
        True
    ] * 3  # type: ignore[arg-type]


@pytest.mark.parametrize("mode", ["L", "CMYK"])
def test_grey_and_cmyk_come_out_in_colour(tmp_path: Path, mode: str) -> None:
    path = tmp_path / "IMG_0001.JPG"
    Image.new(mode, (240, 160), 128 if mode == "L" else (0, 0, 0, 128)).save(path, "JPEG")
    assert opened(proof(path)).mode == "RGB"


def test_the_same_frame_gives_the_same_bytes(tmp_path: Path) -> None:
    taken = frame(tmp_path / "IMG_0001.JPG")
    assert proof(taken).jpeg == proof(taken).jpeg


def test_another_picture_under_the_same_name_is_never_taken(tmp_path: Path) -> None:
    taken = frame(tmp_path / "IMG_0001.JPG")
    known = ProofFrame(1, "A:0001", (source(taken),))
    frame(taken, (10, 200, 10))  # the card was used again
    with pytest.raises(NoProofPicture, match="another file now"):
        proof_picture(known, tmp_path)


def test_a_preview_serves_where_the_original_is_gone(tmp_path: Path) -> None:
    taken = frame(tmp_path / "IMG_0001.JPG", (10, 200, 10))
    known = ProofFrame(1, "A:0001", (source(taken),))
    save_preview(tmp_path, known.sources[0].sha256, taken.read_bytes())
    taken.unlink()
    made = proof_picture(known, tmp_path)
    assert made.from_preview
    assert made.width == 240


def test_a_damaged_frame_without_a_preview_says_so(tmp_path: Path) -> None:
    taken = frame(tmp_path / "IMG_0001.JPG", size=(2400, 1600))
    taken.write_bytes(taken.read_bytes()[:6000])
    with pytest.raises(NoProofPicture, match="damaged"):
        proof(taken)
