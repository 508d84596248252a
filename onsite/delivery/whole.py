"""Writing a file whole or not at all, and nothing left behind that the next try does not use."""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path


def write_whole(place: Path, content: bytes) -> None:
    """Writes a file, has it on the disk, and only then gives it its name. Raises OSError."""
    part = place.with_name(f".{place.name}.part")
    try:
        with part.open("wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        part.replace(place)
    finally:
        part.unlink(missing_ok=True)


def sync_folders(folders: Iterable[Path]) -> None:
    """Has the names in these folders on the disk too, where the system can do that."""
    for folder in folders:
        try:
            handle = os.open(folder, os.O_RDONLY)
        except OSError:  # Windows opens no folders
            continue
        try:
            os.fsync(handle)
        except OSError:  # some network shares cannot
            pass
        finally:
            os.close(handle)
