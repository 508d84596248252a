"""Whether this machine is ready for a shoot: readers of files, fonts, terminal, space on the disk."""

from __future__ import annotations

import shutil
import sqlite3
import sys
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path

LEAST_FREE = 2_000_000_000
"""Bytes that should be free on the shoot's disk: previews of 30,000 frames take 1.5 GB, at 50 kB each."""

_LEAST_SCREEN = (80, 24)
"""Columns and lines that the screens need."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that was checked."""

    what: str
    says: str
    """How it is, in words."""
    remedy: str = ""
    """What to do about it; empty where all is well."""


def check_machine(folder: Path) -> list[Finding]:
    """What was found about this machine; `folder` is the shoot's, or where one may be made."""
    return [_database(), _files(), _fonts(), _terminal(), check_space(folder)]


def _database() -> Finding:
    return Finding("database", f"SQLite {sqlite3.sqlite_version}")


def _files() -> Finding:
    readers = {"raw files": ("rawpy", "raw"), "HEIC": ("pillow_heif", "heif")}
    missing = {name: extra for name, (module, extra) in readers.items() if find_spec(module) is None}
    if not missing:
        return Finding("files", "JPEG, TIFF, raw files and HEIC can be read")
    extras = ",".join(missing.values())
    return Finding(
        "files",
        f"{' and '.join(missing)} cannot be looked into",
        f"If a camera writes them: pip install 'onsite[{extras}]'",
    )


def _fonts() -> Finding:
    from onsite.slates.slate_fonts import can_shape

    if can_shape():
        return Finding("fonts", "every script is shaped, where a font has it")
    return Finding(
        "fonts",
        "Pillow cannot shape Arabic, Hebrew and Indic names here",
        "Install libraqm, or Pillow from PyPI; until then such names are printed in Latin letters.",
    )


def _terminal() -> Finding:
    if not sys.stdout.isatty():
        return Finding("terminal", "none here: the screens need one")
    size = shutil.get_terminal_size()
    says = f"{size.columns} columns, {size.lines} lines"
    columns, lines = _LEAST_SCREEN
    if size.columns < columns or size.lines < lines:
        return Finding("terminal", says, f"Make the window larger: {columns} by {lines} at least.")
    return Finding("terminal", says)


def check_space(folder: Path) -> Finding:
    """How much is free on the disk of a folder, which may not be there yet."""
    there = next(path for path in (folder.absolute(), *folder.absolute().parents) if path.exists())
    free = shutil.disk_usage(there).free
    says = f"{free / 1e9:,.1f} GB free"
    if free < LEAST_FREE:
        return Finding("disk", says, f"Free some space: {LEAST_FREE / 1e9:.0f} GB at least for a day.")
    return Finding("disk", says)
