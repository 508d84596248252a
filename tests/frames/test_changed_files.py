"""Files that change after they were read, half copied, cut off or rotten: no frame twice, and none lost."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from PIL import Image
from sqlmodel import select

from onsite.files import physical_disks
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
    assert (verified.whole, [(state.unsafe, state.one_disk) for state in verified.cards]) == (12, [(4, 4)])
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
    assert [(state.files, state.unsafe, state.one_disk) for state in verified.cards] == [(5, 5, 3)]
    rot(tmp_path / "one" / "DCIM" / "IMG_0003.JPG", 400)
    assert {one.good for one in verify_files(shoot, copies_only=True).changed} == {
        card / "DCIM" / "IMG_0003.JPG"
    }
    shutil.rmtree(card)
    assert verify_files(shoot, copies_only=True).missing == []


@pytest.mark.parametrize(
    ("disks", "safe", "one_disk"),
    [
        ({"card": "sdb", "one": "sda", "two": "sdc"}, True, 0),
        ({"card": "sdb", "one": "sda", "two": "sda"}, False, 1),
        ({"card": "sdb", "one": "sda", "two": "sdb"}, False, 1),  # on the card itself
        ({"card": "sda", "one": "sda", "two": "sdc"}, False, 1),  # a folder on the laptop's disk
    ],
)
@pytest.mark.skipif(sys.platform != "linux", reason="the tables of Linux")
def test_a_card_is_safe_to_format_with_copies_on_two_other_disks(
    shoot: Shoot,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    disks: dict[str, str],
    safe: bool,
    one_disk: int,
) -> None:
    table = tmp_path / "mountinfo"
    table.write_text("")
    for number, (folder, disk) in enumerate(disks.items()):
        (tmp_path / "block" / disk).mkdir(parents=True, exist_ok=True)
        (tmp_path / "block" / f"8:{number}").symlink_to(tmp_path / "block" / disk)
        with table.open("a") as mounts:
            mounts.write(f"4{number} 1 8:{number} / {tmp_path / folder} rw - exfat /dev/{disk}1 rw\n")
    monkeypatch.setattr(physical_disks, "MOUNTS", table)
    monkeypatch.setattr(physical_disks, "BLOCK_DEVICES", tmp_path / "block")
    jpeg(tmp_path / "card" / "IMG_0001.JPG", 1)
    ingest(shoot, [tmp_path / "card"], copy_to=[tmp_path / "one", tmp_path / "two"])
    (state,) = verify_files(shoot).cards
    assert (state.safe_to_format, state.one_disk, state.disks_known) == (safe, one_disk, True)
    (tmp_path / "card" / "MVI_0002.MOV").touch()
    (state,) = verify_files(shoot, copies_only=True).cards
    assert (state.safe_to_format, state.others) == (safe, {".mov": 1})
    jpeg(tmp_path / "card" / "IMG_0003.JPG", 3)  # as where the card was pulled before it was read
    (state,) = verify_files(shoot, copies_only=True).cards
    assert (state.safe_to_format, state.files, state.unsafe) == (False, 2, 1 + (not safe))
    shutil.rmtree(tmp_path / "card")  # as with the card put away: its folder is no disk of its own
    (state,) = verify_files(shoot, copies_only=True).cards
    assert (state.safe_to_format, state.others) == (disks["one"] != disks["two"], None)


@pytest.mark.skipif(sys.platform != "linux", reason="the tables of Linux")
def test_copies_on_real_mounts(shoot: Shoot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    jpeg(tmp_path / "card" / "IMG_0001.JPG", 1)
    (tmp_path / "one").mkdir()
    mounted = subprocess.run(["mount", "-t", "tmpfs", "tmpfs", tmp_path / "one"], capture_output=True)
    if mounted.returncode:
        pytest.skip("nothing can be mounted here")
    (tmp_path / "two").mkdir()
    subprocess.run(["mount", "-t", "tmpfs", "tmpfs", tmp_path / "two"], check=True)
    try:
        ingest(shoot, [tmp_path / "card"], copy_to=[tmp_path / "one", tmp_path / "two"])
        assert [(state.unsafe, state.one_disk) for state in verify_files(shoot).cards] == [(1, 1)]
        monkeypatch.setattr(physical_disks, "IN_MEMORY", frozenset())  # as two disks that nobody knows
        (state,) = verify_files(shoot).cards
        assert (state.safe_to_format, state.disks_known) == (True, False)
    finally:
        for folder in ("one", "two"):
            subprocess.run(["umount", tmp_path / folder], check=True)


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
