"""Backups of a shoot's SQLite database: made while stations write, each one file, kept by age.

They lie in the folder `backups` of the shoot, and besides in the folder that `backups` in `shoot.toml` names:
on another disk, they outlive the shoot's. A backup counts only once it was checked (`database_damage`).
"""

from __future__ import annotations

import os
import re
import shutil
import sqlite3
from collections.abc import Iterable, Sequence
from contextlib import closing, suppress
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from secrets import token_hex

from onsite.core.errors import Problem
from onsite.store.database_damage import NO_ROOM, damage_found, unreadable_text
from onsite.store.read_database_file import reading_database
from onsite.store.settings import SETTINGS_FILE, SQLITE_FILE

FOLDER = "backups"

EVERY = timedelta(minutes=10)
"""Between two backups that are made by themselves: as much of a day as a lost disk may cost. Own choice."""

_NAME = re.compile(r"(\d{8}T\d{6}Z)-event-(\d+)\.db", re.ASCII)
_TIME = "%Y%m%dT%H%M%SZ"  # ISO 8601, basic format
_HOUR, _DAY = timedelta(hours=1), timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Backup:
    """A backup. Its file's name says when it was made and how far the record goes."""

    path: Path
    made: datetime
    """Aware."""
    newest_event: int
    """The id of the newest event in it; 0 for none."""


def backup_at(path: Path) -> Backup | None:
    """The backup that a path names; None where it is not the name of one."""
    named = _NAME.fullmatch(path.name)
    return Backup(path, _time(named[1]), int(named[2])) if named else None


def list_backups(folder: Path) -> list[Backup]:
    """The backups in a folder, newest first; none where it cannot be read."""
    try:
        found = [backup for path in folder.iterdir() if (backup := backup_at(path)) is not None]
    except OSError:
        return []
    return sorted(found, key=lambda backup: (backup.made, backup.newest_event), reverse=True)


def newest_backup(shoot: Path) -> Backup | None:
    """The newest backup in the folder of a shoot, None where it has none."""
    return next(iter(list_backups(shoot / FOLDER)), None)


def worth_keeping(backups: Iterable[Backup], now: datetime) -> set[Backup]:
    """The backups that are kept: all of the last hour, the last of each hour for a day, and the last of each
    day (UTC) for good."""
    last: dict[str, Backup] = {}
    for backup in sorted(backups, key=lambda backup: (backup.made, backup.newest_event)):
        age = now - backup.made
        slot = "%Y-%m-%d %H:%M:%S" if age <= _HOUR else "%Y-%m-%d %H" if age <= _DAY else "%Y-%m-%d"
        last[backup.made.strftime(slot)] = backup
    return set(last.values())


def step_back(shoot: Path) -> str:
    """What to do where the database is lost or damaged: the remedy of a Problem."""
    newest = newest_backup(shoot)
    if newest is None:
        return "Keep the shoot's folder as it is, and go on in the last copy of it."
    return f"Go back to the backup of {newest.made.astimezone():%d %B %H:%M} with: onsite restore 1"


def damaged_problem(shoot: Path, where: str) -> Problem:
    """The Problem for a damaged database; its remedy is the newest backup, where there is one."""
    return Problem(f"The shoot's database is damaged: {where}.", step_back(shoot))


def make_backup(shoot: Path, into: Path, now: datetime) -> Backup:
    """Makes a backup of the shoot's database in the folder `into`, which is created if missing.

    Nobody waits for it: a writer writes on meanwhile. Raises Problem where the database is damaged, or the
    folder cannot be written.
    """
    if not (shoot / SQLITE_FILE).is_file():  # a folder that was renamed is not made again
        raise Problem(f"The shoot's database is gone: {shoot / SQLITE_FILE}.", "Put its folder back.")
    draft = into / f".{token_hex(8)}.part"
    try:
        into.mkdir(mode=0o700, parents=True, exist_ok=True)
        os.close(os.open(draft, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
        newest = _copy_database(shoot / SQLITE_FILE, draft)
        place = into / f"{now.astimezone(UTC).strftime(_TIME)}-event-{newest}.db"
        _sync(draft)
        draft.replace(place)
        _keep_settings(shoot, into)
    except OSError as error:
        raise Problem(
            f"No backup can be made in {into}: {error.strerror or error}.",
            "Free some space there, or name another folder.",
        ) from error
    except sqlite3.Error as error:
        has_no_room = getattr(error, "sqlite_errorname", "").startswith(NO_ROOM)
        raise Problem(
            f"No backup of the shoot's database can be made: {error}.",
            "Name a folder on another disk." if has_no_room else "Look into it with: onsite check",
        ) from error
    finally:
        with suppress(OSError):  # a name too long, a disk that is gone: said already
            for ending in ("", "-journal"):
                draft.with_name(draft.name + ending).unlink(missing_ok=True)
    return Backup(place, _time(place.name[:16]), newest)


def back_up(shoot: Path, elsewhere: Sequence[Path], now: datetime) -> list[Backup]:
    """Makes a backup in the shoot's folder and in each folder `elsewhere`, which must be there, and lets
    those go that are not worth keeping, and those from before somebody was forgotten: also where that was
    interrupted, or the folder was not there then. Raises Problem."""
    made = []
    for into in (shoot / FOLDER, *elsewhere):
        if into in elsewhere and not into.is_dir():
            raise Problem(
                f"The folder for backups is not there: {into}.",
                f"Plug its disk in, or set backups in {SETTINGS_FILE} anew.",
            )
        made.append(make_backup(shoot, into, now))
        everything, forgotten = list_backups(into), _last_forgotten(made[-1])
        kept = worth_keeping((backup for backup in everything if backup.newest_event >= forgotten), now)
        for backup in set(everything) - kept:
            backup.path.unlink(missing_ok=True)
    return made


def _last_forgotten(backup: Backup) -> int:
    """The last event in a backup that blanked a person's data (`events.BLANKED`), 0 for none."""
    with reading_database(backup.path) as database:
        asked = "SELECT coalesce(max(id), 0) FROM event WHERE json_type(details, '$.blanked') = 'array'"
        event: int = database.execute(asked).fetchone()[0]
    return event


def back_up_if_due(shoot: Path, elsewhere: Sequence[Path], now: datetime, newest_event: int) -> list[Backup]:
    """Makes the backups that are due: something was recorded since the last, and that is `EVERY` ago. Raises
    Problem."""
    last = newest_backup(shoot)
    if newest_event == (last.newest_event if last else 0) or (last and now - last.made < EVERY):
        return []
    return back_up(shoot, elsewhere, now)


def _copy_database(database: Path, draft: Path) -> int:
    """Copies a database with SQLite's online backup (https://www.sqlite.org/backup.html) in one step, which
    reads one state of it; returns the id of the newest event. Raises Problem if the copy is damaged."""
    with reading_database(database) as source, closing(sqlite3.connect(draft)) as copy:
        source.backup(copy)
        copy.execute("PRAGMA journal_mode = DELETE")  # one file, without a write-ahead log beside it
        if damage := damage_found(copy) or unreadable_text(copy):
            raise damaged_problem(database.parent, damage)
        newest: int = copy.execute("SELECT coalesce(max(id), 0) FROM event").fetchone()[0]
    return newest


def _keep_settings(shoot: Path, into: Path) -> None:
    """Copies `shoot.toml` beside the backups: both together are a shoot."""
    kept = into / SETTINGS_FILE
    if (shoot / SETTINGS_FILE).is_file():
        draft = into / f".{token_hex(8)}.part"
        try:
            shutil.copyfile(shoot / SETTINGS_FILE, draft)
            draft.chmod(0o600)
            draft.replace(kept)
        finally:
            draft.unlink(missing_ok=True)


def _sync(path: Path) -> None:
    with path.open("rb+") as file:
        os.fsync(file.fileno())


def _time(text: str) -> datetime:
    return datetime.strptime(text, _TIME).replace(tzinfo=UTC)
