"""Files that change after they were read, half copied, cut off or rotten: no frame twice, and none lost."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

import pytest
from PIL import Image
from sqlmodel import select

from onsite.files.atomic_write import sha256_of
from onsite.frames.find_frames import find_frame
from onsite.frames.ingest import IngestResult, ingest
from onsite.frames.verify_frames import verify_files
from onsite.reconcile.current_match import current_verdicts
from onsite.reconcile.overrides import give_frames
from onsite.store.schema import File, Frame, Person
from onsite.store.shoot import Shoot
from tests.frames.pictures import exif, jpeg


def noise(path: Path, size: tuple[int, int] = (400, 300)) -> Path:
    """A JPEG of about a hundred kilobytes, more than the beginning that is remembered of a file."""
    path.parent.mkdir(parents=True, exist_ok=True)
    picture = Image.effect_noise(size, 90).convert("RGB")
    picture.save(path, "JPEG", quality=95, exif=exif(taken="2026:06:13 09:00:00", serial="7"))
    return path


def frames(shoot: Shoot) -> list[tuple[int, str, str]]:
    with shoot.reading() as session:
        rows = session.exec(select(Frame.id, Frame.trouble, File.sha256).where(File.frame_id == Frame.id))
        return sorted(tuple(row) for row in rows)  # type: ignore[misc]


def rot(path: Path, at: int) -> None:
    """Change a byte and nothing else."""
    before = path.stat().st_mtime_ns
    content = bytearray(path.read_bytes())
    content[at] ^= 1
    path.write_bytes(content)
    os.utime(path, ns=(before, before))


def reasons(done: IngestResult) -> str:
    return "\n".join(reason for _, reason in done.refused)


@pytest.mark.parametrize("part", [0.01, 0.5, 0.9])
def test_a_file_that_was_read_half_copied_is_replaced_by_its_whole(
    shoot: Shoot, tmp_path: Path, part: float
) -> None:
    whole = noise(tmp_path / "IMG_0001.JPG").read_bytes()
    card, copies = tmp_path / "card", tmp_path / "copies"
    card.mkdir()
    (card / "IMG_0001.JPG").write_bytes(whole[: round(len(whole) * part)])
    ingest(shoot, [card], "A", copy_to=[copies])
    ((frame, trouble, _),) = frames(shoot)
    assert trouble
    with shoot.writing() as session:
        session.add(Person(id=1, key="1", name="Ana Horvat", code="one"))
    give_frames(shoot, [frame], 1, "set-A")
    (card / "IMG_0001.JPG").write_bytes(whole)
    done = ingest(shoot, [card], "A", copy_to=[copies])
    assert (done.frames, done.files, done.completed, done.refused) == (0, 0, 1, [])
    assert frames(shoot) == [(frame, "", sha256_of(card / "IMG_0001.JPG"))]
    assert current_verdicts(shoot)[frame].person == 1
    assert find_frame(shoot, "A:1") == frame
    assert [path.read_bytes() for path in copies.iterdir()] == [whole]
    assert ingest(shoot, [card], "A", copy_to=[copies]).known == 1
    assert verify_files(shoot).whole == 2


def test_a_file_that_lost_its_end_is_no_new_frame(shoot: Shoot, tmp_path: Path) -> None:
    path = noise(tmp_path / "card" / "IMG_0001.JPG")
    ingest(shoot, [tmp_path / "card"], copy_to=[tmp_path / "copies"])
    before = frames(shoot)
    path.write_bytes(path.read_bytes()[:-20_000])
    done = ingest(shoot, [tmp_path / "card"], copy_to=[tmp_path / "copies"])
    assert "has lost its end" in reasons(done)
    assert f"a whole copy is {tmp_path / 'copies' / 'IMG_0001.JPG'}" in reasons(done)
    assert frames(shoot) == before


def test_an_original_that_rotted_is_told_with_both_hashes(shoot: Shoot, tmp_path: Path) -> None:
    path = noise(tmp_path / "card" / "IMG_0001.JPG")
    ingest(shoot, [tmp_path / "card"], copy_to=[tmp_path / "copies"])
    before, was = frames(shoot), sha256_of(path)
    rot(path, 5_000)
    done = ingest(shoot, [tmp_path / "card"], copy_to=[tmp_path / "copies"])
    assert was in reasons(done)
    assert sha256_of(path) in reasons(done)
    assert f"a whole copy is {tmp_path / 'copies' / 'IMG_0001.JPG'}" in reasons(done)
    assert frames(shoot) == before
    assert len(list((tmp_path / "copies").iterdir())) == 1


def test_a_copy_that_rotted_is_told_and_gets_no_second_beside_it(shoot: Shoot, tmp_path: Path) -> None:
    path = noise(tmp_path / "card" / "IMG_0001.JPG")
    ingest(shoot, [tmp_path / "card"], copy_to=[tmp_path / "copies"])
    copy = tmp_path / "copies" / "IMG_0001.JPG"
    rot(copy, 80_000)
    done = ingest(shoot, [tmp_path / "card"], copy_to=[tmp_path / "copies"])
    assert sha256_of(path) in reasons(done)
    assert sha256_of(copy) in reasons(done)
    assert "the original is good" in reasons(done)
    assert list(copy.parent.iterdir()) == [copy]


def test_verifying_tells_what_is_missing_changed_and_extra(shoot: Shoot, tmp_path: Path) -> None:
    card = tmp_path / "card"
    for number in range(1, 5):
        jpeg(card / "DCIM" / f"IMG_000{number}.JPG", number)
    ingest(shoot, [card], copy_to=[tmp_path / "one", tmp_path / "two"])
    verified = verify_files(shoot)
    assert (verified.whole, [(state.unsafe, state.one_disk) for state in verified.cards]) == (12, [(0, 4)])
    rot(card / "DCIM" / "IMG_0001.JPG", 400)
    (card / "DCIM" / "IMG_0002.JPG").unlink()
    rot(tmp_path / "two" / "DCIM" / "IMG_0003.JPG", 400)
    jpeg(card / "DCIM" / "IMG_0005.JPG", 5)
    verified = verify_files(shoot)
    assert verified.missing == [card / "DCIM" / "IMG_0002.JPG"]
    assert verified.extra == [card / "DCIM" / "IMG_0005.JPG"]
    assert [(one.file.name, one.good and one.good.parent.parent.name) for one in verified.changed] == [
        ("IMG_0001.JPG", "one"),
        ("IMG_0003.JPG", "card"),
    ]
    assert [(state.files, state.unsafe, state.one_disk) for state in verified.cards] == [(5, 2, 3)]
    rot(tmp_path / "one" / "DCIM" / "IMG_0003.JPG", 400)
    assert {one.good for one in verify_files(shoot, copies_only=True).changed} == {
        card / "DCIM" / "IMG_0003.JPG"
    }
    shutil.rmtree(card)
    assert verify_files(shoot, copies_only=True).missing == []


def test_a_picture_that_was_not_read_keeps_a_card_from_being_formatted(shoot: Shoot, tmp_path: Path) -> None:
    card = tmp_path / "card"
    jpeg(card / "IMG_0001.JPG", 1)
    ingest(shoot, [card], copy_to=[tmp_path / "one", tmp_path / "two"])
    (card / "MVI_0002.MOV").touch()
    (state,) = verify_files(shoot, copies_only=True).cards
    assert (state.safe_to_format, state.others) == (True, {".mov": 1})
    jpeg(card / "IMG_0003.JPG", 3)  # as where the card was pulled before it was read
    (state,) = verify_files(shoot, copies_only=True).cards
    assert (state.safe_to_format, state.files, state.unsafe) == (False, 2, 1)
    shutil.rmtree(card)
    (state,) = verify_files(shoot, copies_only=True).cards
    assert (state.safe_to_format, state.others) == (True, None)


def test_copies_on_one_disk_are_told_from_copies_on_two(shoot: Shoot, tmp_path: Path) -> None:
    jpeg(tmp_path / "card" / "IMG_0001.JPG", 1)
    ingest(shoot, [tmp_path / "card"], copy_to=[tmp_path / "one", tmp_path / "two"])
    assert [(state.unsafe, state.one_disk) for state in verify_files(shoot).cards] == [(0, 1)]
    (tmp_path / "three").mkdir()
    if subprocess.run(["mount", "-t", "tmpfs", "tmpfs", tmp_path / "three"], capture_output=True).returncode:
        pytest.skip("nothing can be mounted here")
    try:
        ingest(shoot, [tmp_path / "card"], copy_to=[tmp_path / "three"])
        assert [(state.unsafe, state.one_disk) for state in verify_files(shoot).cards] == [(0, 0)]
    finally:
        subprocess.run(["umount", tmp_path / "three"], check=True)


def test_a_manifest_is_what_sha256sum_takes(shoot: Shoot, tmp_path: Path) -> None:
    card = tmp_path / "card"
    names = ("IMG_0001.JPG", "Zoë 100%.JPG", "line\nbreak.JPG", "back\\slash.JPG")
    for number, name in enumerate(names):
        jpeg(card / "DCIM" / name, number)
    ingest(shoot, [card])
    (state,) = verify_files(shoot).cards
    command = ["sha256sum", "-c", "--strict", str(state.manifest)]  # GNU coreutils
    if shutil.which("sha256sum") is None:
        pytest.skip("sha256sum is not here")
    checked = subprocess.run(command, cwd=card, capture_output=True, check=False)
    assert checked.returncode == 0, checked.stderr
    assert checked.stdout.count(b": OK\n") == len(names)
