"""Going back to a backup of the shoot's database; what stood there before is kept beside the backups."""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from secrets import token_hex

from onsite.core.errors import Problem
from onsite.store.backups import FOLDER, Backup, backup_at, list_backups
from onsite.store.database_damage import NOTED, damage_found, newest_noted, unreadable_text
from onsite.store.settings import SQLITE_FILE

_SHARED_LOCK = (510, 0x4000_0002)
"""Length and first byte of the range that every connection to a SQLite database holds a lock on
(https://www.sqlite.org/src/file/src/os.h: SHARED_SIZE, SHARED_FIRST)."""


@dataclass(frozen=True, slots=True)
class BackupContent:
    """A backup and what it holds."""

    backup: Backup
    people: int = 0
    arrivals: int = 0
    frames: int = 0
    damage: str = ""
    """Why it cannot be used; empty if it can."""


@dataclass(frozen=True, slots=True)
class LostEvent:
    """Something that was recorded after the backup."""

    at: datetime
    kind: str
    name: str
    """Of the person, or empty."""


@dataclass(frozen=True, slots=True)
class Restored:
    """The outcome of going back to a backup."""

    backup: Backup
    aside: Path
    """The folder with the files that were replaced."""
    lost: tuple[LostEvent, ...] | None
    """What was recorded after the backup; None where the replaced database no longer says."""
    unnamed: int = 0
    """Events after these, which no file holds any more."""


def read_backup(backup: Backup) -> BackupContent:
    """What a backup holds. Reads all of it."""
    uri = f"{backup.path.absolute().as_uri()}?mode=ro&immutable=1"
    try:
        with closing(sqlite3.connect(uri, uri=True)) as database:
            if damage := damage_found(database) or unreadable_text(database):
                return BackupContent(backup, damage=damage)
            people, frames, arrivals = (
                database.execute(f"SELECT count(*) FROM {rows}").fetchone()[0]
                for rows in ("person", "frame", "person_state WHERE arrived IS NOT NULL")
            )
    except sqlite3.Error as error:
        return BackupContent(backup, damage=str(error))
    return BackupContent(backup, people, arrivals, frames)


def find_backup(shoot: Path, named: str) -> Backup:
    """The backup with this number in the list of a shoot's backups, newest first, or with this path or name.
    Raises Problem."""
    backups = list_backups(shoot / FOLDER)
    if named.isdecimal() and 0 < int(named) <= len(backups):
        return backups[int(named) - 1]
    for path in (Path(named), shoot / FOLDER / named):
        backup = backup_at(path)
        if backup is not None and path.is_file():
            return backup
    raise Problem(f"There is no backup {named!r}.", "List them with: onsite restore")


def restore_backup(shoot: Path, backup: Backup, now: datetime) -> Restored:
    """Goes back to a backup. The database there, its log and newer backups move into a folder beside the
    backups. Raises Problem where the backup is damaged, or a station has the database open."""
    if damage := read_backup(backup).damage:
        raise Problem(
            f"The backup {backup.path} is damaged: {damage}.", "Choose another one. See: onsite restore"
        )
    database = shoot / SQLITE_FILE
    aside = shoot / FOLDER / f"replaced-{now.astimezone(UTC):%Y%m%dT%H%M%SZ}-{token_hex(2)}"
    draft = shoot / f".{token_hex(8)}.part"
    try:
        aside.mkdir(mode=0o700, parents=True)
        with _alone_with(database):
            draft.touch(mode=0o600)
            with backup.path.open("rb") as source, draft.open("wb") as target:
                shutil.copyfileobj(source, target)
                target.flush()
                os.fsync(target.fileno())
            for ending in ("-wal", "-shm", NOTED, ""):  # the log first: it must never meet another database
                _move(database.with_name(SQLITE_FILE + ending), aside)
            draft.rename(database)
        for newer in list_backups(shoot / FOLDER):
            if newer.newest_event > backup.newest_event:
                _move(newer.path, aside)
    except OSError as error:
        raise Problem(
            f"The backup cannot be put in place: {error.strerror or error}.",
            "Free some space, check the folder's permissions, and do it again.",
        ) from error
    finally:
        with suppress(OSError):  # a disk that is gone: said already
            draft.unlink(missing_ok=True)
    noted = newest_noted(aside / SQLITE_FILE)
    lost = _events_after(aside / SQLITE_FILE, backup.newest_event)
    return Restored(backup, aside, lost, max(0, noted - backup.newest_event - len(lost or ())))


def _move(path: Path, into: Path) -> None:
    if path.exists():
        path.rename(into / path.name)


@contextmanager
def _alone_with(database: Path) -> Iterator[None]:
    """Holds the lock that SQLite's connections share. Raises Problem where another process has one."""
    try:
        import fcntl
    except ImportError:  # Windows: a file that is open cannot be moved
        yield
        return
    if not database.exists():
        yield
        return
    with database.open("rb+") as file:
        try:
            fcntl.lockf(file, fcntl.LOCK_EX | fcntl.LOCK_NB, *_SHARED_LOCK)
        except OSError as error:
            raise Problem(
                "A station has the shoot open.", "Close the screens on it everywhere, and do it again."
            ) from error
        yield


def _events_after(database: Path, newest: int) -> tuple[LostEvent, ...] | None:
    """The events of a database after one of them; None where they cannot be read."""
    query = """SELECT at, kind, coalesce(name, '') FROM event LEFT JOIN person ON person.id = person_id
        WHERE event.id > ? ORDER BY event.id"""
    try:
        with closing(sqlite3.connect(f"{database.absolute().as_uri()}?mode=ro", uri=True)) as replaced:
            rows = replaced.execute(query, (newest,)).fetchall()
        return tuple(
            LostEvent(datetime.fromisoformat(at).replace(tzinfo=UTC), str(kind), str(name))
            for at, kind, name in rows
        )
    except (sqlite3.Error, ValueError, TypeError):
        return None
