"""Multi-picture JPEGs: the main picture counts; its preview is what is left where that is damaged."""

from __future__ import annotations

import io
import random
import shutil
import subprocess
from pathlib import Path

import pytest
from PIL import Image

from onsite.frames.examine_frame import ExaminedFile, examine_file
from onsite.frames.find_frame_files import CandidateFile, FileKind
from onsite.frames.frame_measures import PictureMeasures
from onsite.frames.frame_previews import embedded_preview
from onsite.slates.slate_image import ticket_image
from onsite.slates.slate_layout import Ticket
from tests.frames.pictures import OTHER_PICTURE, PREVIEW, multi_picture

CODE = "NXAJTP47KDKP"


def slate(size: tuple[int, int] = (1800, 1200)) -> Image.Image:
    """Somebody's slate before a wall that takes many bytes."""
    noise = Image.frombytes(
        "RGB", (size[0] // 4, size[1] // 4), random.Random(1).randbytes(size[0] * size[1] * 3 // 16)
    )
    picture = noise.resize(size)
    card = ticket_image(Ticket(CODE, "Ana Horvat"), width_px=600).convert("RGB")
    picture.paste(card, ((size[0] - card.width) // 2, (size[1] - card.height) // 2))
    return picture


def small(picture: Image.Image) -> Image.Image:
    return picture.resize((1500, 1000), Image.Resampling.BOX)


def spoil(path: Path) -> None:
    """A block of the main picture as from a failing card; the second picture stays whole."""
    content = bytearray(path.read_bytes())
    middle = content.index(b"\xff\xda") + 50_000  # ITU-T T.81: a while after the start of the scan
    content[middle : middle + 4096] = random.Random(2).randbytes(4096)
    path.write_bytes(content)


def examined(path: Path) -> ExaminedFile:
    outcome = examine_file(CandidateFile(path, path.parent, FileKind.JPEG))
    assert isinstance(outcome, ExaminedFile)
    return outcome


def test_the_main_picture_is_looked_at_and_not_its_preview(tmp_path: Path) -> None:
    outcome = examined(multi_picture(tmp_path / "a.jpg", slate(), Image.new("RGB", (1500, 1000))))
    assert (outcome.width, outcome.height) == (1800, 1200)
    assert [symbol.text for symbol in outcome.symbols] == [CODE]
    assert (outcome.looked, outcome.trouble) == (True, "")


def test_a_damaged_main_picture_is_told_and_its_slate_read_from_the_preview(tmp_path: Path) -> None:
    path = multi_picture(tmp_path / "a.jpg", slate(), small(slate()))
    spoil(path)
    outcome = examined(path)
    assert "damaged" in outcome.trouble
    assert not outcome.looked
    assert [symbol.text for symbol in outcome.symbols] == [CODE]
    assert outcome.look is not None
    assert outcome.measures == PictureMeasures()
    with Image.open(io.BytesIO(outcome.preview)) as preview:
        assert preview.size == (500, 333)


@pytest.mark.parametrize(
    ("second", "kind"),
    [
        (Image.new("L", (900, 600)), OTHER_PICTURE),  # such as a map of lights
        (Image.new("RGB", (640, 480)), PREVIEW),  # of another shape: bars at its edges, or a part only
    ],
)
def test_what_is_no_preview_of_all_of_it_is_left_alone(
    tmp_path: Path, second: Image.Image, kind: int
) -> None:
    path = multi_picture(tmp_path / "a.jpg", slate(), second, kind)
    with Image.open(path) as picture:
        assert embedded_preview(path, picture) is None
    spoil(path)
    outcome = examined(path)
    assert outcome.trouble
    assert (outcome.symbols, outcome.look, outcome.preview) == ((), None, b"")


@pytest.mark.parametrize("rest", [0, 2, 500])
def test_a_preview_that_is_damaged_too_changes_nothing(tmp_path: Path, rest: int) -> None:
    path = multi_picture(tmp_path / "a.jpg", slate(), small(slate()))
    spoil(path)
    content = path.read_bytes()
    path.write_bytes(content[: content.rindex(b"\xff\xd8") + rest])
    outcome = examined(path)
    assert "damaged" in outcome.trouble
    assert (outcome.symbols, outcome.look, outcome.preview) == ((), None, b"")


@pytest.mark.long
def test_an_index_that_makes_no_sense_is_no_preview(tmp_path: Path) -> None:
    path = multi_picture(tmp_path / "a.jpg", slate(), small(slate()))
    content = bytearray(path.read_bytes())
    index = content.index(b"MPF\0")
    for at in range(index + 8, index + 100, 3):
        broken = bytearray(content)
        broken[at] ^= 0xFF
        path.write_bytes(broken)
        assert [symbol.text for symbol in examined(path).symbols] == [CODE]
        spoil(path)
        assert examined(path).trouble


def test_the_files_of_these_tests_are_what_another_reader_takes_them_for(tmp_path: Path) -> None:
    if shutil.which("exiftool") is None:
        pytest.skip("exiftool is not installed here")
    path = multi_picture(tmp_path / "a.jpg", slate(), small(slate()))
    told = subprocess.run(
        ["exiftool", "-s3", "-MPImageType", str(path)], capture_output=True, text=True, check=True
    )
    assert told.stdout.strip() == "Large Thumbnail (full HD equivalent)"
