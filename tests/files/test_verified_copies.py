"""Copies of frames: what a kill has left half copied goes at the next ingest."""

import os
import time
from pathlib import Path

import pytest

from onsite.files import verified_copies
from onsite.files.atomic_write import sha256_of
from onsite.files.verified_copies import CopyFailed, check_destination, copy_verified, copy_verified_as


@pytest.mark.parametrize(
    ("name", "idle", "stays"),
    [
        (".IMG_0001.JPG.0a1b2c3d.part", 3600, False),
        (".IMG_0001.JPG.0a1b2c3d.part", 5, True),
        (".somebody-elses.part", 3600, True),
        ("IMG_0001.JPG.0a1b2c3d.part", 3600, True),
    ],
)
def test_a_draft_that_nobody_writes_to_is_removed(tmp_path: Path, name: str, idle: int, stays: bool) -> None:
    draft = tmp_path / "DCIM" / name
    draft.parent.mkdir()
    draft.write_bytes(b"half a pict")
    then = time.time() - idle
    os.utime(draft, (then, then))
    check_destination(tmp_path, [])
    assert draft.exists() is stays


def test_a_copy_has_the_time_of_its_original_and_leaves_no_draft(tmp_path: Path) -> None:
    original = tmp_path / "IMG_0001.JPG"
    original.write_bytes(b"a picture")
    os.utime(original, (1_000_000_000, 1_000_000_000))
    place = copy_verified_as(original, tmp_path / "backup" / "IMG_0001.JPG", sha256_of(original))
    assert place.stat().st_mtime == 1_000_000_000
    assert [path.name for path in place.parent.iterdir()] == ["IMG_0001.JPG"]


def test_a_copy_that_does_not_read_back_as_it_was_written_is_none(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The disk that it goes to changes one bit."""
    original = tmp_path / "IMG_0001.JPG"
    original.write_bytes(b"a picture")
    write = verified_copies._copy_to_disk

    def write_to_bad_disk(path: Path, part: Path) -> None:
        write(path, part)
        part.write_bytes(b"a pictuse")

    monkeypatch.setattr(verified_copies, "_copy_to_disk", write_to_bad_disk)
    with pytest.raises(CopyFailed, match="does not read back as it was written"):
        copy_verified(original, tmp_path, tmp_path / "copies", sha256_of(original))
    assert list((tmp_path / "copies").iterdir()) == []
