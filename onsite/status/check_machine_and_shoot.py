"""Whether this machine is ready for a shoot, and whether a shoot is sound."""

from __future__ import annotations

import os
import shutil
import sqlite3
import sys
from dataclasses import dataclass
from datetime import UTC, datetime
from importlib.util import find_spec
from pathlib import Path

from sqlmodel import func, select

from onsite.core.text import plural
from onsite.core.times import format_duration
from onsite.store.backups import EVERY, newest_backup
from onsite.store.check_event_record import find_damage
from onsite.store.schema import EventRow, File, Frame, Person
from onsite.store.settings import SETTINGS_FILE, SQLITE_FILE
from onsite.store.shoot import Shoot

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
    database = Finding("database", f"SQLite {sqlite3.sqlite_version}")
    return [database, _files(), _fonts(), _terminal(), check_space(folder)]


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


def check_shoot(shoot: Shoot) -> list[Finding]:
    """What was found about a shoot that opened. Raises Problem where its database is damaged."""
    if not shoot.settings.store and (damage := find_damage(shoot.folder)):
        raise damage
    found = [_record(shoot), _frames(shoot), _privacy(shoot.folder)]
    return found if shoot.settings.store else [*found, _backups(shoot, datetime.now(UTC))]


def _record(shoot: Shoot) -> Finding:
    with shoot.reading() as session:
        people, events = (
            session.exec(select(func.count(column))).one() for column in (Person.id, EventRow.id)
        )
    held = f"{plural(people, 'person', 'people')}, {plural(events, 'event')}"
    return Finding("record", f"sound: {held}" if not shoot.settings.store else held)


def _frames(shoot: Shoot) -> Finding:
    with shoot.reading() as session:
        frames = session.exec(select(func.count(Frame.id))).one()
        empty = session.exec(select(func.count(Frame.id)).where(Frame.id.not_in(select(File.frame_id)))).one()
    if empty:
        return Finding("frames", f"{plural(empty, 'frame')} without a file", "Ingest the cards again.")
    return Finding("frames", f"{plural(frames, 'frame')}, each with its file")


def _privacy(folder: Path) -> Finding:
    if os.name == "nt":
        return Finding("privacy", "the folder has the permissions of the one that it is in")
    open_to_others = [
        path
        for path in (folder, folder / SETTINGS_FILE, folder / SQLITE_FILE)
        if path.exists() and path.stat().st_mode & 0o077
    ]
    if not open_to_others:
        return Finding("privacy", "only you can read the folder")
    if folder not in open_to_others:
        return Finding("privacy", "only you can open the folder")
    return Finding(
        "privacy", "other users of this machine can read the shoot", f"Close it: chmod 700 {folder}"
    )


def _backups(shoot: Shoot, now: datetime) -> Finding:
    last = newest_backup(shoot.folder)
    with shoot.reading() as session:
        since = last.newest_event if last else 0
        events = session.exec(select(func.count(EventRow.id)).where(EventRow.id > since)).one()
    if last is None:
        says = "none yet"
    else:
        age = now - last.made
        says = f"the last {format_duration(age.total_seconds())} ago, {plural(events, 'event')} since"
    if events and (last is None or age > 2 * EVERY):
        return Finding("backups", says, "Make one now: onsite backup")
    if missing := [folder for folder in shoot.backups_elsewhere if not folder.is_dir()]:
        return Finding("backups", f"{says}; not there: {missing[0]}", "Plug that disk in.")
    if not shoot.backups_elsewhere:
        says += f"; all on the shoot's disk, until backups names a folder elsewhere in {SETTINGS_FILE}"
    return Finding("backups", says)
