"""Copies of frames: what a kill has left half copied goes at the next ingest."""

import os
import time
from pathlib import Path

import pytest

from onsite.files.atomic_write import sha256_of
from onsite.files.verified_copies import check_destination, copy_verified_as


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
