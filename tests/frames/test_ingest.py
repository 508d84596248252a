"""Ingest: every file is in the shoot, once, or told; originals are left alone; copies are verified."""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from PIL import Image
from sqlmodel import select

from onsite.core.errors import Problem
from onsite.frames import ingest as ingesting
from onsite.frames.ingest import IngestResult, ingest
from onsite.store.events import EventKind, read_events
from onsite.store.schema import Camera, File, FilePlace, Frame
from onsite.store.shoot import Shoot
from tests.frames.pictures import huge_header, jpeg, raw

NINE = "2026:06:13 09:00:00"
TEN = "2026:06:13 10:00:00"


@pytest.fixture
def card(tmp_path: Path) -> Path:
    folder = tmp_path / "card"
    folder.mkdir()
    return folder


def frames(shoot: Shoot) -> list[Frame]:
    with shoot.reading() as session:
        return list(session.exec(select(Frame).order_by(Frame.name, Frame.id)))  # type: ignore[arg-type]


def files(shoot: Shoot) -> list[tuple[int, str]]:
    with shoot.reading() as session:
        return sorted((file.frame_id, file.name) for file in session.exec(select(File)))


def labels(shoot: Shoot) -> list[tuple[str, str]]:
    with shoot.reading() as session:
        return sorted((camera.label, camera.serial) for camera in session.exec(select(Camera)))


def counts(done: IngestResult) -> tuple[int, int, int, int]:
    return done.frames, done.files, done.known, done.repeated


def test_trees_are_read_to_the_bottom(shoot: Shoot, card: Path) -> None:
    jpeg(card / "DCIM" / "100CHOIR" / "IMG_0001.JPG", 1)
    jpeg(card / "DCIM" / "101CHOIR" / "deep" / "IMG_0002.jpeg", 2)
    jpeg(card / "DCIM" / ".hidden" / "IMG_0003.JPG", 3)
    (card / "DCIM" / "._IMG_0001.JPG").write_bytes(b"\0\5\x16\7AppleDouble")
    (card / "DCIM" / "notes.txt").write_text("tuning at nine")
    (card / "INDEX").touch()
    done = ingest(shoot, [card])
    assert [frame.name for frame in frames(shoot)] == ["IMG_0001", "IMG_0002"]
    assert done.others == {".txt": 1, "without ending": 1}
    assert done.refused == []


def test_raw_and_jpeg_of_one_exposure_are_one_frame(shoot: Shoot, card: Path) -> None:
    raw(card / "DSC_0001.DNG", taken=NINE, serial="42")
    jpeg(card / "DSC_0001.JPG", taken=NINE, serial="42", model="Model One")
    done = ingest(shoot, [card])
    assert counts(done) == (1, 2, 0, 0)
    (frame,) = frames(shoot)
    assert (frame.trouble, frame.width) == ("", 96)
    assert frame.look is not None
    assert done.troubled == []


def test_raw_and_jpeg_of_one_name_and_two_times_are_two_frames(shoot: Shoot, card: Path) -> None:
    pytest.importorskip("rawpy", reason="the reader for raw files is not installed here")
    raw(card / "DSC_0001.DNG", taken=NINE, serial="42")
    jpeg(card / "DSC_0001.JPG", taken=TEN, serial="42", model="Model One")
    assert ingest(shoot, [card]).frames == 2
    assert [frame.trouble for frame in frames(shoot)] == ["", ""]
    assert all(frame.look for frame in frames(shoot))


def test_a_damaged_jpeg_is_made_up_for_by_its_raw(shoot: Shoot, card: Path) -> None:
    pytest.importorskip("rawpy", reason="the reader for raw files is not installed here")
    raw(card / "DSC_0001.DNG", Image.new("RGB", (300, 200)), taken=NINE, serial="42")
    broken = jpeg(card / "DSC_0001.JPG", size=(2000, 1000), taken=NINE, serial="42", model="Model One")
    broken.write_bytes(broken.read_bytes()[: -broken.stat().st_size // 2])
    done = ingest(shoot, [card])
    (frame,) = frames(shoot)
    assert (frame.width, frame.height, frame.trouble) == (300, 200, "")
    assert {path.name for path, _ in done.troubled} == {"DSC_0001.JPG"}


def test_the_same_content_twice_is_one_frame(shoot: Shoot, card: Path) -> None:
    first = jpeg(card / "a" / "IMG_0001.JPG")
    (card / "b").mkdir()
    shutil.copy2(first, card / "b" / "OTHER.JPG")
    assert counts(ingest(shoot, [card])) == (1, 1, 0, 1)
    with shoot.reading() as session:
        assert len(session.exec(select(FilePlace)).all()) == 2


def test_one_name_and_two_contents_are_two_frames(shoot: Shoot, card: Path) -> None:
    jpeg(card / "a" / "IMG_0001.JPG", 1)
    jpeg(card / "b" / "IMG_0001.JPG", 2)
    assert counts(ingest(shoot, [card])) == (2, 2, 0, 0)


def test_running_again_adds_nothing(shoot: Shoot, card: Path) -> None:
    for number in range(5):
        jpeg(card / f"IMG_000{number}.JPG", number)
    assert counts(ingest(shoot, [card])) == (5, 5, 0, 0)
    assert counts(ingest(shoot, [card, card])) == (0, 0, 5, 0)
    with shoot.reading() as session:
        assert len(read_events(session, [EventKind.INGESTED])) == 1


def test_a_file_that_was_replaced_is_read_again(shoot: Shoot, card: Path) -> None:
    jpeg(card / "IMG_0001.JPG", 1)
    ingest(shoot, [card])
    jpeg(card / "IMG_0001.JPG", 2)
    assert ingest(shoot, [card]).frames == 1


def test_originals_are_left_alone_and_may_be_read_only(shoot: Shoot, card: Path, tmp_path: Path) -> None:
    path = jpeg(card / "IMG_0001.JPG")
    path.chmod(0o444)
    card.chmod(0o555)
    before = path.stat().st_mtime_ns, path.stat().st_mode, hashlib.sha256(path.read_bytes()).digest()
    try:
        assert ingest(shoot, [card], copy_to=[tmp_path / "copies"]).copies == 1
        assert list(card.iterdir()) == [path]
    finally:
        card.chmod(0o755)
    after = path.stat().st_mtime_ns, path.stat().st_mode, hashlib.sha256(path.read_bytes()).digest()
    assert after == before


def test_odd_files_are_kept_and_told_or_refused_and_told(shoot: Shoot, card: Path) -> None:
    jpeg(card / "good.jpg", taken=NINE)
    jpeg(card / "no facts.jpg", 1)
    jpeg(card / "old.jpg", 2, taken="1970:01:01 00:00:00")
    jpeg(card / "late.jpg", 3, taken="2099:12:31 23:59:59")
    half = jpeg(card / "half.jpg", 4, size=(900, 900))
    half.write_bytes(half.read_bytes()[: half.stat().st_size // 2])
    (card / "empty.jpg").touch()
    (card / "letter.jpg").write_text("Dear choir")
    huge_header(card / "huge.jpg")
    done = ingest(shoot, [card])
    assert {frame.name for frame in frames(shoot)} == {"good", "no facts", "old", "late", "half"}
    assert {path.name for path, _ in done.refused} == {"empty.jpg", "letter.jpg", "huge.jpg"}
    assert {path.name for path, _ in done.troubled} == {"half.jpg"}
    years = {frame.name: frame.taken and frame.taken.year for frame in frames(shoot)}
    assert years == {"good": 2026, "no facts": None, "old": 1970, "late": 2099, "half": None}


def test_names_with_anything_in_them(shoot: Shoot, card: Path) -> None:
    names = ["Zoë's [bold] 100%", "line\nbreak", "\x1b[31mred", "‮txet", "'; DROP TABLE frame; --"]
    for number, name in enumerate(names):
        jpeg(card / f"{name}.jpg", number)
    assert ingest(shoot, [card]).frames == 5
    assert {frame.name for frame in frames(shoot)} == set(names)


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux lets names be any bytes")
def test_a_name_that_is_not_in_utf_8_is_told(shoot: Shoot, card: Path) -> None:
    jpeg(card / "IMG_0001.JPG")
    shutil.copy(card / "IMG_0001.JPG", os.fsencode(card) + b"/IMG_\xff.JPG")
    done = ingest(shoot, [card])
    assert done.frames == 1
    ((path, reason),) = done.refused
    assert path.name == "IMG_\ufffd.JPG"
    assert "rename" in reason


def test_a_folder_that_is_missing(shoot: Shoot, card: Path) -> None:
    jpeg(card / "IMG_0001.JPG")
    with pytest.raises(Problem, match="does not exist"):
        ingest(shoot, [card, card / "gone"])
    assert frames(shoot) == []


def test_a_file_that_vanishes_before_it_is_read_is_told(
    shoot: Shoot, card: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    jpeg(card / "IMG_0001.JPG", 1)
    going = jpeg(card / "IMG_0002.JPG", 2)
    jpeg(card / "IMG_0003.JPG", 3)
    find = ingesting.find_picture_files

    def find_then_lose(paths: list[Path], leave: Path) -> object:
        found = find(paths, leave)
        going.unlink()
        return found

    monkeypatch.setattr(ingesting, "find_picture_files", find_then_lose)
    done = ingest(shoot, [card])
    assert [frame.name for frame in frames(shoot)] == ["IMG_0001", "IMG_0003"]
    assert [path for path, _ in done.refused] == [going]


def test_progress_counts_every_file(shoot: Shoot, card: Path) -> None:
    for number in range(3):
        jpeg(card / f"IMG_000{number}.JPG", number)
    told: list[tuple[int, int]] = []
    ingest(shoot, [card], progress=lambda done, total: told.append((done, total)))
    assert told == [(1, 3), (2, 3), (3, 3)]


# Copies


def test_copies_are_the_same_and_keep_their_tree_and_time(shoot: Shoot, card: Path, tmp_path: Path) -> None:
    path = jpeg(card / "DCIM" / "IMG_0001.JPG")
    os.utime(path, (1_781_336_467, 1_781_336_467))
    done = ingest(shoot, [card], copy_to=[tmp_path / "one", tmp_path / "two"])
    assert done.copies == 2
    for where in ("one", "two"):
        copy = tmp_path / where / "DCIM" / "IMG_0001.JPG"
        assert copy.read_bytes() == path.read_bytes()
        assert int(copy.stat().st_mtime) == 1_781_336_467
    assert sorted(p.name for p in (tmp_path / "one").rglob("*")) == ["DCIM", "IMG_0001.JPG"]
    with shoot.reading() as session:
        assert len([place for place in session.exec(select(FilePlace)) if place.is_copy]) == 2


def test_other_content_at_the_copys_place_is_not_written_over(
    shoot: Shoot, card: Path, tmp_path: Path
) -> None:
    path = jpeg(card / "IMG_0001.JPG")
    (tmp_path / "copies").mkdir()
    (tmp_path / "copies" / "IMG_0001.JPG").write_text("somebody else's")
    for _ in range(2):
        ingest(shoot, [card], copy_to=[tmp_path / "copies"])
    assert (tmp_path / "copies" / "IMG_0001.JPG").read_text() == "somebody else's"
    assert (tmp_path / "copies" / "IMG_0001-2.JPG").read_bytes() == path.read_bytes()
    assert len(list((tmp_path / "copies").iterdir())) == 2


def test_cards_with_the_same_names_are_all_copied(shoot: Shoot, tmp_path: Path) -> None:
    cards = [tmp_path / f"card {number}" for number in range(8)]
    for number, card in enumerate(cards):
        for name in ("IMG_0001.JPG", "IMG_0002.JPG"):
            jpeg(card / name, number * 2 + (name == "IMG_0002.JPG"))
    done = ingest(shoot, cards, copy_to=[tmp_path / "copies"], workers=8)
    assert (done.frames, done.copies, done.refused) == (16, 16, [])
    originals = {path.read_bytes() for card in cards for path in card.iterdir()}
    assert {path.read_bytes() for path in (tmp_path / "copies").iterdir()} == originals


def test_a_known_file_that_rotted_is_told_and_not_copied(shoot: Shoot, card: Path, tmp_path: Path) -> None:
    path = jpeg(card / "IMG_0001.JPG")
    path.write_bytes(path.read_bytes() + b"\0" * 100_000)
    ingest(shoot, [card])
    time = path.stat().st_mtime_ns
    path.write_bytes(path.read_bytes()[:-1] + b"\1")
    os.utime(path, ns=(time, time))
    done = ingest(shoot, [card], copy_to=[tmp_path / "copies"])
    assert done.copies == 0
    assert [where for where, _ in done.refused] == [path]
    assert list((tmp_path / "copies").iterdir()) == []


@pytest.mark.parametrize("inside", ["", "copies", "a/../copies"])
def test_copies_into_what_is_copied_are_refused(shoot: Shoot, card: Path, inside: str) -> None:
    jpeg(card / "IMG_0001.JPG")
    with pytest.raises(Problem, match="lies inside"):
        ingest(shoot, [card], copy_to=[card / inside])
    assert frames(shoot) == []


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    where = tmp_path / "small"
    where.mkdir()
    if not sys.platform.startswith("linux") or os.geteuid() != 0:
        pytest.skip("mounting a small disk needs Linux and root")
    command = ["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", str(where)]
    if subprocess.run(command, capture_output=True, check=False).returncode:
        pytest.skip("a small disk cannot be mounted here")
    yield where
    subprocess.run(["umount", "-l", str(where)], check=True)


def test_a_full_destination_is_told_and_nothing_is_lost(shoot: Shoot, card: Path, small_disk: Path) -> None:
    for number in range(6):
        with jpeg(card / f"IMG_000{number}.JPG", number).open("ab") as file:
            file.write(b"\0" * 20_000)
    done = ingest(shoot, [card], copy_to=[small_disk], workers=1)
    assert done.frames == 6
    assert done.copies + len(done.refused) == 6
    assert done.copies in {1, 2, 3}
    assert all("No space" in reason for _, reason in done.refused)
    for copy in small_disk.iterdir():
        assert copy.read_bytes() == (card / copy.name).read_bytes()


# Cameras


def test_a_body_is_told_by_its_serial_number(shoot: Shoot, card: Path) -> None:
    jpeg(card / "a" / "IMG_0001.JPG", 1, serial="1", model="Model One")
    jpeg(card / "b" / "IMG_0001.JPG", 2, serial="2", model="Model One")
    jpeg(card / "c" / "IMG_0002.JPG", 3, serial="1", model="Model One")
    assert ingest(shoot, [card]).cameras == ["A", "B"]
    assert labels(shoot) == [("A", "1"), ("B", "2")]


def test_bodies_without_a_serial_number_are_told_by_model_and_else_by_folder(
    shoot: Shoot, tmp_path: Path
) -> None:
    jpeg(tmp_path / "one" / "a.jpg", 1, model="Model One")
    jpeg(tmp_path / "one" / "b.jpg", 2, model="Model Two")
    jpeg(tmp_path / "one" / "c.jpg", 3)
    jpeg(tmp_path / "two" / "d.jpg", 4)
    assert ingest(shoot, [tmp_path / "one", tmp_path / "two"]).cameras == ["A", "B", "C", "D"]


def test_a_label_is_given_to_a_body(shoot: Shoot, card: Path) -> None:
    jpeg(card / "a.jpg", 1, serial="1")
    assert ingest(shoot, [card], label="left").cameras == ["left"]
    jpeg(card / "b.jpg", 2, serial="1")
    assert ingest(shoot, [card], label="right").cameras == ["right"]


def test_the_label_of_another_body_is_not_taken_over(shoot: Shoot, tmp_path: Path) -> None:
    jpeg(tmp_path / "one" / "a.jpg", 1, serial="1")
    jpeg(tmp_path / "two" / "b.jpg", 2, serial="2")
    ingest(shoot, [tmp_path / "one"], label="left")
    ingest(shoot, [tmp_path / "two"], label="left")
    assert labels(shoot) == [("A", "2"), ("left", "1")]


def test_a_label_does_not_join_two_models(shoot: Shoot, card: Path) -> None:
    jpeg(card / "a.jpg", 1, model="Model One")
    jpeg(card / "b.jpg", 2, model="Model Two")
    jpeg(card / "c.jpg", 3, model="Model One")
    ingest(shoot, [card], label="left")
    cameras = {frame.name: frame.camera_id for frame in frames(shoot)}
    assert cameras["a"] == cameras["c"] != cameras["b"]
