"""A batch goes out whole or not at all, and nothing twice."""

from __future__ import annotations

import csv
import hashlib
import os
import shutil
import signal
import subprocess
import sys
import zipfile
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

import pytest
from PIL import Image
from python_calamine import CalamineWorkbook

from onsite.core.errors import Problem
from onsite.retouch.accept_or_reject import again
from onsite.retouch.batch_contents import BatchOrder
from onsite.retouch.batch_folder import OWN_FILES
from onsite.retouch.receive_batch import receive_batch
from onsite.retouch.send_batch import send_batch
from onsite.status.batch_status import read_batches
from onsite.store.events import EventKind, read_events
from onsite.store.shoot import Shoot
from tests.retouch.prints import pick, portrait, retouched, shoot_day

OUTSIDE = BatchOrder(retoucher="A service", named=False)


def pictures(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir() if path.name not in OWN_FILES)


def contents(folder: Path) -> dict[Path, str]:
    files = (path for path in folder.rglob("*") if path.is_file())
    return {path: hashlib.sha256(path.read_bytes()).hexdigest() for path in files}


def test_a_batch_holds_only_the_picks_and_changes_no_original(picked: Shoot, tmp_path: Path) -> None:
    before = contents(tmp_path / "card")
    sent = send_batch(picked, tmp_path / "batch", OUTSIDE)
    assert len(sent.items) == 3
    assert pictures(tmp_path / "batch") == ["0001_f1.jpg", "0002_f3.jpg", "0003_f5.jpg"]
    assert contents(tmp_path / "card") == before
    assert {before[item.source.path] for item in sent.items} <= set(contents(tmp_path / "batch").values())


def test_in_house_files_are_named_by_the_pattern_of_the_shoot(picked: Shoot, tmp_path: Path) -> None:
    send_batch(picked, tmp_path / "batch", BatchOrder())
    assert pictures(tmp_path / "batch")[0] == "Singer1_Ana_Altos_0001_f1.jpg"


def test_nothing_of_a_name_goes_to_another_hand(picked: Shoot, tmp_path: Path) -> None:
    send_batch(picked, tmp_path / "batch", OUTSIDE)
    for path in (tmp_path / "batch").rglob("*"):
        assert "Singer" not in path.name
        assert b"Singer" not in path.read_bytes()
        if zipfile.is_zipfile(path):
            with zipfile.ZipFile(path) as workbook:
                assert not [part for part in workbook.namelist() if b"Singer" in workbook.read(part)]


def test_the_manifest_is_what_sha256sum_checks(picked: Shoot, tmp_path: Path) -> None:
    if shutil.which("sha256sum") is None:
        pytest.skip("sha256sum is not installed")
    send_batch(picked, tmp_path / "batch", BatchOrder())
    told = subprocess.run(
        ["sha256sum", "-c", "manifest-sha256.txt"], cwd=tmp_path / "batch", capture_output=True, text=True
    )
    assert told.returncode == 0
    assert told.stdout.count(": OK") == 3 + len(OWN_FILES) - 1


def test_the_list_says_what_is_to_be_done_and_holds_no_formula(picked: Shoot, tmp_path: Path) -> None:
    send_batch(picked, tmp_path / "batch", BatchOrder(due="2026-07-01", price=Decimal("4.20")))
    with (tmp_path / "batch" / "list.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))
    book = CalamineWorkbook.from_path(str(tmp_path / "batch" / "list.xlsx")).get_sheet_by_index(0).to_python()
    assert rows[0][:2] == ["file", "original"]
    assert [row[4] for row in rows[1:]] == ["'=stray hair"] * 3
    assert [[str(cell) for cell in row] for row in book] == rows
    notes = (tmp_path / "batch" / "notes.txt").read_text(encoding="utf-8")
    assert "Back by: 1 July 2026" in notes
    assert "Price: 12.60 EUR (4.20 each)" in notes
    assert "=stray hair" in notes


def test_the_record_says_who_has_what(picked: Shoot, tmp_path: Path) -> None:
    send_batch(
        picked,
        tmp_path / "batch",
        BatchOrder(retoucher="Another", due="2026-07-01", price=Decimal(2), named=False),
        "desk",
    )
    with picked.reading() as session:
        batch, *sent = read_events(session, [EventKind.BATCH, EventKind.SENT])
    assert batch.details == {
        "batch": "batch-1",
        "hand": "Another",
        "folder": str(tmp_path / "batch"),
        "due": "2026-07-01",
        "price": "6",
        "currency": "EUR",
    }
    assert [(one.person_id, one.frame_id) for one in sent] == [(1, 1), (2, 3), (3, 5)]
    assert sent[0].details == {"batch": "batch-1", "file": "0001_f1.jpg", "version": 1}


def test_what_is_out_does_not_go_out_again(picked: Shoot, tmp_path: Path) -> None:
    first = send_batch(picked, tmp_path / "one", BatchOrder(group="Altos"))
    second = send_batch(picked, tmp_path / "two", OUTSIDE)
    assert [item.due.person.id for item in first.items] == [1, 3]
    assert [item.due.person.id for item in second.items] == [2]
    with pytest.raises(Problem, match="No pick waits"):
        send_batch(picked, tmp_path / "three", OUTSIDE)
    assert not (tmp_path / "three").exists()


def test_only_named_frames(picked: Shoot, tmp_path: Path) -> None:
    sent = send_batch(picked, tmp_path / "batch", BatchOrder(frames=("f3", "f2")))
    assert [item.due.frame for item in sent.items] == [3]
    assert [(one.frame, one.why) for one in sent.not_out] == [(2, "nobody picked it")]


def test_a_dry_run_sends_nothing(picked: Shoot, tmp_path: Path) -> None:
    assert send_batch(picked, tmp_path / "batch", BatchOrder(price=Decimal(4)), dry_run=True).price == 12
    assert not (tmp_path / "batch").exists()
    with picked.reading() as session:
        assert not read_events(session, [EventKind.BATCH, EventKind.SENT])


def test_a_folder_that_holds_something_is_left_alone(picked: Shoot, tmp_path: Path) -> None:
    (tmp_path / "batch").mkdir()
    (tmp_path / "batch" / "mine.txt").write_text("mine")
    with pytest.raises(Problem, match="not an empty folder"):
        send_batch(picked, tmp_path / "batch", BatchOrder())
    assert contents(tmp_path / "batch").keys() == {tmp_path / "batch" / "mine.txt"}


def test_picks_that_vanished_or_changed_do_not_go_out_and_are_told(picked: Shoot, tmp_path: Path) -> None:
    (tmp_path / "card" / "_FCA0010.JPG").unlink()
    with (tmp_path / "card" / "_FCA0020.JPG").open("ab") as file:
        file.write(b"more")
    sent = send_batch(picked, tmp_path / "batch", OUTSIDE)
    assert pictures(tmp_path / "batch") == ["0003_f5.jpg"]
    whys = {one.frame: one.why for one in sent.not_out}
    assert "cannot be read" in whys[1]
    assert "not what it was" in whys[3]


@pytest.mark.long
def test_developed_files_go_out_where_they_show_the_picture(picked: Shoot, tmp_path: Path) -> None:
    developed = tmp_path / "developed"
    developed.mkdir()
    retouched(portrait(1)).save(developed / "_fca0010.tif")
    portrait(1).save(developed / "_FCA0020.jpg")  # another person under that name
    sent = send_batch(picked, tmp_path / "batch", BatchOrder(developed=developed, named=False))
    assert pictures(tmp_path / "batch") == ["0001_f1.tif", "0003_f5.jpg"]
    assert [one.frame for one in sent.not_out] == [3]
    assert "does not show the same picture" in sent.not_out[0].why
    assert "the original goes out" in sent.items[1].source.remark


@pytest.mark.long
def test_two_developed_files_of_one_frame_settle_nothing(picked: Shoot, tmp_path: Path) -> None:
    developed = tmp_path / "developed"
    for folder in ("a", "b"):
        (developed / folder).mkdir(parents=True)
        portrait(1).save(developed / folder / "_FCA0010.jpg")
    sent = send_batch(picked, tmp_path / "batch", BatchOrder(developed=developed, frames=("f1", "f3")))
    assert [item.due.frame for item in sent.items] == [3]
    assert "2 developed files" in sent.not_out[0].why


def test_what_was_sent_back_goes_out_with_the_next_batch_as_a_second_version(
    picked: Shoot, tmp_path: Path
) -> None:
    send_batch(picked, tmp_path / "one", OUTSIDE)
    (tmp_path / "back").mkdir()
    retouched(Image.open(tmp_path / "one" / "0001_f1.jpg")).save(tmp_path / "back" / "0001_f1.jpg")
    receive_batch(picked, tmp_path / "back")
    again(picked, ["f1"], "too smooth")
    sent = send_batch(picked, tmp_path / "two", BatchOrder(retoucher="Another", named=False))
    assert [(item.due.version, item.due.reason) for item in sent.items] == [(2, "too smooth")]
    assert "too smooth" in (tmp_path / "two" / "notes.txt").read_text(encoding="utf-8")
    with picked.reading() as session:
        batches = read_batches(session)
    assert [(out.frame, out.version) for out in batches[1].frames] == [(1, 2)]


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of 64 KiB; the test is skipped where none can be mounted."""
    disk = tmp_path / "disk"
    disk.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", str(disk)]
    if shutil.which("mount") is None or subprocess.run(mount, capture_output=True).returncode:
        pytest.skip("nothing can be mounted here")
    yield disk
    subprocess.run(["umount", str(disk)], check=True)


def test_a_full_disk_leaves_nothing(picked: Shoot, tmp_path: Path, small_disk: Path) -> None:
    with pytest.raises(Problem, match="cannot be written"):
        send_batch(picked, small_disk / "batch", BatchOrder())
    assert list(small_disk.iterdir()) == []
    with picked.reading() as session:
        assert not read_events(session, [EventKind.BATCH, EventKind.SENT])
    assert len(send_batch(picked, tmp_path / "batch", BatchOrder()).items) == 3


def test_a_disk_that_cannot_be_written_leaves_nothing(picked: Shoot, small_disk: Path) -> None:
    subprocess.run(["mount", "-o", "remount,ro", str(small_disk)], check=True)
    with pytest.raises(Problem, match="cannot be written"):
        send_batch(picked, small_disk / "batch", BatchOrder())
    with picked.reading() as session:
        assert not read_events(session, [EventKind.BATCH, EventKind.SENT])


SENDER = """
import sys
from pathlib import Path
from onsite.retouch import batch_folder
from onsite.retouch import send_batch as sending
from onsite.store.shoot import open_shoot
real = batch_folder.copy_verified_as
def slowly(*arguments):
    done = real(*arguments)
    print("copied", flush=True)
    sys.stdin.readline()
    return done
batch_folder.copy_verified_as = slowly
sending.send_batch(open_shoot(Path(sys.argv[1])), Path(sys.argv[2]), sending.BatchOrder())
"""


def sender(shoot: Shoot, folder: Path) -> subprocess.Popen[str]:
    """A process that is in the middle of sending: one file is copied."""
    process = subprocess.Popen(
        [sys.executable, "-c", SENDER, str(shoot.folder), str(folder)],
        env=os.environ | {"PYTHONPATH": os.pathsep.join(filter(None, sys.path))},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    assert process.stdout.readline() == "copied\n"
    return process


def end(process: subprocess.Popen[str]) -> None:
    process.send_signal(signal.SIGKILL)
    process.communicate()


@pytest.mark.long
def test_a_send_that_is_killed_leaves_no_batch_and_can_be_done_again(picked: Shoot, tmp_path: Path) -> None:
    end(sender(picked, tmp_path / "batch"))
    assert not (tmp_path / "batch").exists()
    with picked.reading() as session:
        assert not read_events(session, [EventKind.BATCH, EventKind.SENT])
    assert len(send_batch(picked, tmp_path / "batch", BatchOrder()).items) == 3
    assert not [path for path in tmp_path.iterdir() if path.name.endswith(".part")]


@pytest.mark.long
def test_two_batches_at_once_do_not_send_a_pick_twice(picked: Shoot, tmp_path: Path) -> None:
    process = sender(picked, tmp_path / "one")
    try:
        with pytest.raises(Problem, match="Another batch"):
            send_batch(picked, tmp_path / "two", BatchOrder())
    finally:
        end(process)
    assert not (tmp_path / "two").exists()


def test_a_batch_without_a_record_is_told(picked: Shoot, tmp_path: Path) -> None:
    send_batch(picked, tmp_path / "batch", BatchOrder(group="Altos"))
    shutil.copytree(tmp_path / "batch", tmp_path / "unrecorded")
    with pytest.raises(Problem, match="not in the record"):
        send_batch(picked, tmp_path / "unrecorded", BatchOrder())


def test_a_frame_that_went_to_somebody_else_does_not_go_out(shoot: Shoot, tmp_path: Path) -> None:
    theirs = shoot_day(shoot, tmp_path / "card", people=2)
    pick(shoot, 1, theirs[2][:1])
    with pytest.raises(Problem, match="not under the name"):
        send_batch(shoot, tmp_path / "batch", BatchOrder())
