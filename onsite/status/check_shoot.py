"""Whether a shoot is sound: its record, its frames, its backups, and who can read its folder."""

from __future__ import annotations

import os
from datetime import UTC, datetime
from pathlib import Path

from sqlmodel import func, select

from onsite.core.text import plural
from onsite.core.times import format_duration
from onsite.status.check_machine import Finding
from onsite.store.backups import EVERY, newest_backup
from onsite.store.check_event_record import find_damage
from onsite.store.schema import EventRow, File, Frame, Person
from onsite.store.settings import SETTINGS_FILE, SQLITE_FILE
from onsite.store.shoot import Shoot


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
