from __future__ import annotations

import os
from pathlib import Path

import pytest

from onsite.core.errors import Problem
from onsite.files.atomic_write import atomic_file, sweep_drafts


def test_a_file_takes_the_place_of_the_one_before_it(tmp_path: Path) -> None:
    path = tmp_path / "sheet.pdf"
    path.write_bytes(b"before")
    with atomic_file(path) as stream:
        stream.write(b"after")
        assert path.read_bytes() == b"before"
    assert path.read_bytes() == b"after"
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("failure", [RuntimeError, KeyboardInterrupt])
def test_what_fails_halfway_leaves_everything_as_it_was(tmp_path: Path, failure: type[BaseException]) -> None:
    path = tmp_path / "sheet.pdf"
    path.write_bytes(b"before")

    def fail_halfway() -> None:
        with atomic_file(path) as stream:
            stream.write(b"af")
            raise failure

    with pytest.raises(failure):
        fail_halfway()
    assert path.read_bytes() == b"before"
    assert list(tmp_path.iterdir()) == [path]


def test_a_full_disk_is_a_problem_in_words(tmp_path: Path) -> None:
    with pytest.raises(Problem, match="No space left"), atomic_file(tmp_path / "sheet.pdf"):
        raise OSError(28, "No space left on device")
    assert not list(tmp_path.iterdir())


def test_a_missing_folder_and_a_folder_in_the_way_are_problems(tmp_path: Path) -> None:
    for path in (tmp_path / "nowhere" / "sheet.pdf", tmp_path):
        with pytest.raises(Problem), atomic_file(path):
            pytest.fail("must not be reached")
    assert not list(tmp_path.iterdir())


def test_drafts_that_a_killed_process_left_are_swept_and_fresh_ones_stay(tmp_path: Path) -> None:
    old, fresh, made = tmp_path / ".a.part", tmp_path / ".b.part", tmp_path / "part"
    for path in (old, fresh, made, tmp_path / "previews" / ".c.part", tmp_path / ".d.part" / "onsite.db"):
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(b"half")
    for path in (old, made, tmp_path / "previews" / ".c.part", tmp_path / ".d.part"):
        os.utime(path, (1, 1))
    sweep_drafts(tmp_path)
    left = {path.relative_to(tmp_path).as_posix() for path in tmp_path.rglob("*")}
    assert left == {".b.part", "part", "previews"}
