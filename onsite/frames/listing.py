"""Listing a folder that is watched: quick, since it is done over and over."""

from __future__ import annotations

import os
from dataclasses import dataclass, field
from pathlib import Path

from onsite.frames.found import file_kind_of_name

Stamp = tuple[int, int]
"""A file's size and its time of change in nanoseconds."""


@dataclass(frozen=True, slots=True)
class FolderListing:
    """`files` are those that may be frames', by path. `identity` tells the folder from another one of the
    same name. `unlisted` are folders below it that do not open, with the reason."""

    identity: tuple[int, int]
    files: dict[str, Stamp] = field(default_factory=dict)
    unlisted: dict[str, str] = field(default_factory=dict)


def list_files(folder: Path, leave: Path) -> FolderListing:
    """All regular files below `folder` whose names are frames'; the folder to `leave` alone is left out.

    Raises OSError where the folder itself cannot be listed.
    """
    now = folder.stat()
    listing = FolderListing((now.st_dev, now.st_ino))
    folders = [str(folder)]
    while folders:
        top = folders.pop()
        try:
            if os.path.basename(top) == leave.name and Path(top).resolve() == leave.resolve():  # noqa: PTH119
                continue
            with os.scandir(top) as entries:
                for entry in entries:
                    _note(entry, listing, folders)
        except FileNotFoundError:
            if top == str(folder):
                raise
        except OSError as error:
            if top == str(folder):
                raise
            listing.unlisted[top] = error.strerror or str(error)
    return listing


def is_passed_over(name: str) -> bool:
    """Whether a file or folder is hidden or somebody's temporary one."""
    return name.startswith((".", "~"))


def _note(entry: os.DirEntry[str], listing: FolderListing, folders: list[str]) -> None:
    if is_passed_over(entry.name):
        return
    if entry.is_dir(follow_symlinks=False):
        folders.append(entry.path)
    elif file_kind_of_name(entry.name) is not None:
        try:
            if entry.is_file():
                now = entry.stat()
                listing.files[entry.path] = now.st_size, now.st_mtime_ns
        except OSError:
            return  # gone already
