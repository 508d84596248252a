"""Previews: small, upright, whole or not there; never in the way of a frame."""

from __future__ import annotations

import hashlib
import shutil
from pathlib import Path

import pytest
from PIL import Image
from sqlmodel import select

from onsite.frames.frame_previews import (
    FOLDER,
    existing_previews,
    preview_place,
    read_or_make_preview,
    save_preview,
)
from onsite.frames.ingest import ingest
from onsite.frames.save_frames import measures_of
from onsite.store.schema import MeasureRow
from onsite.store.shoot import Shoot
from tests.frames.pictures import jpeg, raw

CORNER = (250, 20, 20)


@pytest.fixture
def card(tmp_path: Path) -> Path:
    (tmp_path / "card").mkdir()
    return tmp_path / "card"


def paths(shoot: Shoot, *frame_ids: int) -> dict[int, Path]:
    with shoot.reading() as session:
        return existing_previews(shoot, session, frame_ids)


def test_every_frame_has_a_preview_under_the_hash_of_its_file(shoot: Shoot, card: Path) -> None:
    one = jpeg(card / "IMG_0001.JPG", 1, size=(1500, 1000))
    jpeg(card / "IMG_0002.JPG", 2)
    ingest(shoot, [card])
    told = paths(shoot, 1, 2, 3)
    assert set(told) == {1, 2}
    sha256 = hashlib.sha256(one.read_bytes()).hexdigest()
    assert told[1] == shoot.folder / "previews" / sha256[:2] / f"{sha256}.jpg"
    with Image.open(told[1]) as small, Image.open(told[2]) as smaller:
        assert (small.format, small.size, smaller.size) == ("JPEG", (500, 333), (96, 64))
        assert not small.getexif()


@pytest.mark.parametrize("width", [300, 480, 500, 540, 900, 1368, 1500, 2064, 2376])
def test_previews_are_of_about_one_size(shoot: Shoot, card: Path, width: int) -> None:
    jpeg(card / "IMG_0001.JPG", 1, size=(width, width * 2 // 3))
    ingest(shoot, [card])
    with Image.open(paths(shoot, 1)[1]) as small:
        assert min(width, 480) <= small.width <= 528
        assert small.height == pytest.approx(small.width * 2 / 3, abs=1)


# EXIF 2.32 (CIPA DC-008-2019), Orientation: where the stored picture's first row and column are when shown.
@pytest.mark.parametrize(
    ("orientation", "corner"),
    [
        (1, "top left"),
        (2, "top right"),
        (3, "bottom right"),
        (4, "bottom left"),
        (5, "top left"),
        (6, "top right"),
        (7, "bottom right"),
        (8, "bottom left"),
    ],
)
def test_previews_are_upright(shoot: Shoot, card: Path, orientation: int, corner: str) -> None:
    picture = Image.new("RGB", (900, 600), "grey")
    picture.paste(CORNER, (0, 0, 150, 150))
    exif = Image.Exif()
    exif[0x0112] = orientation
    picture.save(card / "a.jpg", exif=exif, quality=95)
    ingest(shoot, [card])
    with Image.open(paths(shoot, 1)[1]) as small:
        assert small.size == ((480, 320) if orientation < 5 else (320, 480))
        x = 20 if "left" in corner else small.width - 20
        y = 20 if "top" in corner else small.height - 20
        assert small.getpixel((x, y)) == pytest.approx(CORNER, abs=25)


def test_a_raw_has_its_preview_too_and_only_one_with_its_jpeg(shoot: Shoot, card: Path) -> None:
    pytest.importorskip("rawpy", reason="the reader for raw files is not installed here")
    raw(card / "DSC_0001.DNG", Image.new("RGB", (700, 500)), "2026:06:13 09:00:00", "42")
    raw(card / "DSC_0002.DNG", taken="2026:06:13 09:01:00", serial="42")
    jpeg(card / "DSC_0002.JPG", 2, taken="2026:06:13 09:01:00", serial="42", model="Model One")
    ingest(shoot, [card])
    assert set(paths(shoot, 1, 2)) == {1, 2}
    assert len(list((shoot.folder / FOLDER).rglob("*.jpg"))) == 2


def test_a_missing_or_damaged_preview_is_made_anew(shoot: Shoot, card: Path) -> None:
    jpeg(card / "IMG_0001.JPG", 1)
    ingest(shoot, [card])
    place = paths(shoot, 1)[1]
    before = place.read_bytes()
    place.write_bytes(before[:100])
    assert read_or_make_preview(shoot, 1) == place
    assert place.read_bytes() == before
    place.unlink()
    assert read_or_make_preview(shoot, 1) == place
    assert place.read_bytes() == before


def test_no_preview_without_the_original_or_with_another_one(shoot: Shoot, card: Path) -> None:
    jpeg(card / "IMG_0001.JPG", 1)
    ingest(shoot, [card])
    shutil.rmtree(shoot.folder / FOLDER)
    jpeg(card / "IMG_0001.JPG", 2)
    assert read_or_make_preview(shoot, 1) is None
    (card / "IMG_0001.JPG").unlink()
    assert read_or_make_preview(shoot, 1) is None
    assert read_or_make_preview(shoot, 77) is None


def test_where_no_preview_can_be_written_the_frame_is_kept(shoot: Shoot, card: Path) -> None:
    (shoot.folder / FOLDER).write_text("in the way")
    jpeg(card / "IMG_0001.JPG", 1)
    assert ingest(shoot, [card]).frames == 1
    assert paths(shoot, 1) == {}
    assert read_or_make_preview(shoot, 1) is None


def test_a_preview_that_cannot_be_finished_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def break_off(_self: Path, _target: Path) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", break_off)
    assert save_preview(tmp_path, "ab" * 32, b"picture") is None
    assert list(preview_place(tmp_path, "ab" * 32).parent.iterdir()) == []


def test_previews_are_not_read_in_as_frames(shoot: Shoot, card: Path) -> None:
    shutil.move(card, shoot.folder / "card")
    jpeg(shoot.folder / "card" / "IMG_0001.JPG", 1)
    assert ingest(shoot, [shoot.folder]).frames == 1
    assert ingest(shoot, [shoot.folder]).frames == 0


def test_frames_are_measured_and_damaged_ones_are_not(shoot: Shoot, card: Path) -> None:
    jpeg(card / "IMG_0001.JPG", 1, size=(1500, 1000))
    half = jpeg(card / "IMG_0002.JPG", 2, size=(1500, 1000))
    half.write_bytes(half.read_bytes()[: half.stat().st_size // 2])
    ingest(shoot, [card])
    with shoot.reading() as session:
        measures = measures_of(session, [1, 2, 3])
        assert len(session.exec(select(MeasureRow)).all()) == 2
    assert measures[1].brightness == pytest.approx(0.0164, abs=0.002)  # 0.0722 of the light of blue 128
    assert measures[1].backdrop is not None
    assert measures[2].brightness is None
    assert set(measures) == {1, 2}
