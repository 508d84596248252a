"""Atomic writes: a file or a folder is written completely or not at all."""

from __future__ import annotations

import hashlib
import os
import secrets
import shutil
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import BinaryIO

from onsite.core.errors import Problem
from onsite.files.file_names import draft_of

_ABANDONED = 600.0
"""Seconds without a write after which a draft counts as abandoned."""


def require_ending(path: Path, ending: str) -> None:
    """Raises Problem if the file name does not end in `ending`.

    A slip in typing must not overwrite a frame, a database or a client's workbook.
    """
    if path.suffix.lower() != ending:
        raise Problem(f"{path} does not end in {ending}", f"Name a file that ends in {ending}.")


@contextmanager
def atomic_file(path: Path) -> Iterator[BinaryIO]:
    """A stream whose content replaces `path` at the end; if anything fails, `path` stays as it was.

    Raises Problem when the folder is missing, cannot be written, or the disk is full.
    """
    if not path.parent.is_dir():
        raise Problem(f"There is no folder {path.parent}", "Make it first, or name another one.")
    if path.is_dir():
        raise Problem(f"{path} is a folder", "Name a file in it.")
    try:
        with _draft_file(path.with_name(f".{secrets.token_hex(8)}.part"), path) as stream:
            yield stream
    except OSError as error:
        raise write_problem(path, error) from error


def write_atomic(path: Path, content: bytes) -> None:
    """Writes `content` to `path` atomically. Raises OSError.

    The draft has a fixed name, so that what a killed process leaves behind is reused by the next try.
    """
    with _draft_file(draft_of(path), path) as stream:
        stream.write(content)


@contextmanager
def _draft_file(draft: Path, path: Path) -> Iterator[BinaryIO]:
    """A stream to a draft that is synced to the disk before it is renamed to `path`."""
    draft.unlink(missing_ok=True)
    try:
        with draft.open("xb") as stream:
            yield stream
            stream.flush()
            os.fsync(stream.fileno())
        draft.replace(path)
    finally:
        draft.unlink(missing_ok=True)


def sweep_drafts(folder: Path, named: str = ".*.part", below: bool = True) -> None:
    """Removes the drafts that killed processes left in the folder and `below`. Raises OSError.

    `named` is the pattern of their names. A draft written to a moment ago stays: another station may be using
    it.
    """
    for draft in list(folder.rglob(named) if below else folder.glob(named)):
        with suppress(FileNotFoundError):  # it has just been renamed
            if time.time() - draft.stat().st_mtime > _ABANDONED:
                shutil.rmtree(draft) if draft.is_dir() else draft.unlink()


@contextmanager
def draft_folder(draft: Path) -> Iterator[None]:
    """A folder to write into. The caller renames it before the end; otherwise it is removed.

    What an interrupted earlier try left in it is removed first. Raises OSError if it cannot be made.
    """
    shutil.rmtree(draft, ignore_errors=True)
    try:
        draft.mkdir(parents=True)
        yield
    finally:
        shutil.rmtree(draft, ignore_errors=True)


def sync_folders(folders: Iterable[Path]) -> None:
    """Syncs the names in these folders to the disk, where the system can do that."""
    for folder in folders:
        try:
            handle = os.open(folder, os.O_RDONLY)
        except OSError:  # Windows cannot open folders
            continue
        try:
            os.fsync(handle)
        except OSError:  # some network shares cannot
            pass
        finally:
            os.close(handle)


def write_problem(path: Path, error: OSError) -> Problem:
    """The Problem for a path that cannot be written."""
    return Problem(
        f"{path} cannot be written: {error.strerror or error}", "Free the disk or choose another folder."
    )


def sha256_of(path: Path) -> str:
    """SHA-256 of a file's content, in hex (FIPS 180-4). Raises OSError."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
