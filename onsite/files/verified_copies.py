"""Verified copies: a copy counts only when it reads back with the same SHA-256."""

from __future__ import annotations

import os
import shutil
from collections.abc import Collection
from contextlib import suppress
from itertools import count
from pathlib import Path
from secrets import token_hex
from threading import Lock

from onsite.core.errors import Problem
from onsite.files.atomic_write import sha256_of, sweep_drafts
from onsite.files.file_names import LONGEST, draft_of, fits_limit, truncate_bytes

_moving = Lock()

_DRAFTS = ".*." + "[0-9a-f]" * 8 + ".part"
"""Pattern of unfinished copies, specific enough for a folder that holds other files too."""


class CopyFailed(Exception):  # noqa: N818
    """No copy was made; the original is unchanged."""


def check_destination(destination: Path, roots: list[Path]) -> None:
    """Create the folder for copies and remove unfinished copies left by a killed process.

    Raises Problem where the folder cannot be created or lies inside a folder that is copied.
    """
    inside = [root for root in roots if destination.resolve().is_relative_to(root.resolve())]
    if inside:
        raise Problem(
            f"{destination} lies inside {inside[0]}, which is being copied.", "Choose a folder elsewhere."
        )
    try:
        destination.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise Problem(
            f"{destination} cannot be made: {error.strerror}.", "Choose a folder elsewhere."
        ) from error
    with suppress(OSError):  # leftovers do no harm
        sweep_drafts(destination, _DRAFTS)


def copy_verified(
    path: Path,
    root: Path,
    destination: Path,
    sha256: str,
    replaces: str = "",
    made_before: Collection[str] = (),
) -> Path:
    """Copy `path` to the same place below `destination` as it has below `root`; return the copy's path.

    Existing files are never overwritten: one with the same content is verified and kept, one with other
    content makes the copy take a numbered name. Two exceptions: the copy of a file that was copied before it
    was whole, `replaces` being its SHA-256, is replaced; and a copy that has changed since it was made is
    reported: `made_before` are the resolved paths of the copies of this content. Raises CopyFailed.
    """
    return copy_verified_as(path, destination / path.relative_to(root), sha256, replaces, made_before)


def copy_verified_as(
    path: Path, wanted: Path, sha256: str, replaces: str = "", made_before: Collection[str] = ()
) -> Path:
    """Copy `path` to the full path `wanted`, as `copy_verified` does."""
    try:
        for number in count(1):
            place = wanted if number == 1 else _numbered(wanted, number)
            if not place.exists() and _copy(path, place, sha256):
                return place
            there = sha256_of(place)
            if there == sha256 or (there == replaces and _copy(path, place, sha256, over=True)):
                return place
            if str(place.resolve()) in made_before:
                raise CopyFailed(_damaged_copy(path, place, sha256, there))
    except OSError as error:
        raise CopyFailed(f"no copy in {wanted.parent}: {error.strerror or error}") from error
    raise AssertionError("count() does not end")


def changed_unseen(was: str, now: str) -> str:
    """Why a file is damaged whose content is no longer what was read or written."""
    return f"its content has changed by itself: its SHA-256 was {was} and is {now}"


def _damaged_copy(path: Path, place: Path, sha256: str, there: str) -> str:
    if sha256_of(path) != sha256:
        return f"the original and its copy {place} are both damaged"
    damage = changed_unseen(sha256, there)
    return f"its copy {place} is damaged: {damage}; the original is good: delete that copy, and ingest again"


def _numbered(wanted: Path, number: int) -> Path:
    """Return the path with a number after its stem, which is shortened where the name gets too long."""
    ending = f"-{number}{wanted.suffix}"
    place = wanted.with_name(wanted.stem + ending)
    return (
        place if fits_limit(place.name) else wanted.with_name(truncate_bytes(wanted.stem, LONGEST) + ending)
    )


def _copy(path: Path, place: Path, sha256: str, over: bool = False) -> bool:
    """Copy and verify; return False where another file took `place` meanwhile, unless it goes `over` it."""
    place.parent.mkdir(parents=True, exist_ok=True)
    part = draft_of(place, f".{token_hex(4)}")
    try:
        _copy_to_disk(path, part)
        if sha256_of(part) != sha256:  # a copy that has the hash of the original proves both
            if (read := sha256_of(path)) != sha256:
                raise CopyFailed(f"the original is damaged: {changed_unseen(sha256, read)}")
            raise CopyFailed(f"the copy in {place.parent} does not read back as it was written")
        taken = path.stat()
        os.utime(part, ns=(taken.st_atime_ns, taken.st_mtime_ns))  # last, since old drafts are swept away
        if over:
            part.replace(place)
        return over or _moved(part, place)
    finally:
        part.unlink(missing_ok=True)


def _copy_to_disk(path: Path, part: Path) -> None:
    """Copy a file to the disk and out of the system's memory, so that it is read back from the disk."""
    shutil.copyfile(path, part)
    with part.open("r+b") as written:
        os.fsync(written.fileno())
        if hasattr(os, "posix_fadvise"):
            os.posix_fadvise(written.fileno(), 0, 0, os.POSIX_FADV_DONTNEED)


def _moved(part: Path, place: Path) -> bool:
    """Give a finished copy its name without overwriting; return False where the name is taken."""
    with _moving:
        try:
            place.hardlink_to(part)  # atomic: fails where the name is taken
        except FileExistsError:
            return False
        except OSError:  # memory cards and many drives have no hard links
            if place.exists():
                return False
            part.rename(place)
        return True
