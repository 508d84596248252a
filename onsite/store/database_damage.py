"""Finding damage in a SQLite database, and saying where it is."""

from __future__ import annotations

import os
import re
import sqlite3
from contextlib import closing, suppress
from pathlib import Path

NOTED = "-newest"
"""Ending of the file beside a database that says which event is the newest in it."""

_NAMED = 2
"""Tables that a message names."""

_PAGE = re.compile(r"\bpage (\d+)", re.IGNORECASE)


# Beginnings of the names of SQLite's result codes: https://www.sqlite.org/rescode.html
NO_ROOM = ("SQLITE_FULL", "SQLITE_IOERR_SHMSIZE")
BUSY = ("SQLITE_BUSY", "SQLITE_LOCKED")
NOT_WRITABLE = ("SQLITE_READONLY", "SQLITE_CANTOPEN", "SQLITE_PERM", "SQLITE_IOERR_SHM")
_DAMAGE = ("SQLITE_CORRUPT", "SQLITE_NOTADB", "SQLITE_IOERR")
_LOST = ("no such table", "no such column", "Could not decode to UTF-8")
"""Beginnings of messages about tables and texts that are no longer what was written."""


def is_damage(error: BaseException) -> bool:
    """Whether an error of SQLite means that the database is damaged."""
    code = getattr(error, "sqlite_errorname", "")
    if code.startswith((*NO_ROOM, *BUSY, *NOT_WRITABLE)):
        return False
    return code.startswith(_DAMAGE) or str(error).startswith(_LOST)


def damage_found(connection: sqlite3.Connection, thorough: bool = False) -> str:
    """Where the pages of a database are damaged, as part of a sentence; empty if they are sound.

    Reads every page once (https://www.sqlite.org/pragma.html#pragma_quick_check). `thorough` compares the
    indexes with their tables and follows every reference to another table besides.
    """
    check = "integrity_check" if thorough else "quick_check"
    try:
        (fault,) = connection.execute(f"PRAGMA {check}(1)").fetchone()
        if fault != "ok":
            return _where(connection, str(fault))
        lost = connection.execute("PRAGMA foreign_key_check").fetchone() if thorough else None
    except sqlite3.DatabaseError as error:
        return _where(connection, str(error)) if is_damage(error) else ""
    except UnicodeDecodeError:  # a message that quotes what is damaged
        return "the names of its tables cannot be read"
    return f"row {lost[1]} of table {lost[0]} refers to a row of {lost[2]} that is lost" if lost else ""


def damage_in_file(database: Path) -> str:
    """`damage_found` in a database file."""
    try:
        with closing(sqlite3.connect(database)) as connection:
            return damage_found(connection)
    except sqlite3.Error as error:
        return str(error) if is_damage(error) else ""


def _where(connection: sqlite3.Connection, fault: str) -> str:
    """The tables that cannot be read and the page that a fault names; else the fault itself."""
    line = next((line for line in fault.splitlines() if not line.startswith("***")), fault)
    page = _PAGE.search(line)
    tables = [f"table {name}" for name in _unreadable_tables(connection)]
    if len(tables) > _NAMED:
        tables = [*tables[:_NAMED], f"{len(tables) - _NAMED} more tables"]
    return ", ".join([*tables, *([f"page {page[1]}"] if page else [])]) or line


def unreadable_text(connection: sqlite3.Connection) -> str:
    """The tables with text that is no UTF-8, which a check of pages does not see; empty if there are none."""
    return ", ".join(f"table {name}" for name in _unreadable_tables(connection))


def _unreadable_tables(connection: sqlite3.Connection) -> list[str]:
    try:
        names = [
            name for (name,) in connection.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")
        ]
    except sqlite3.DatabaseError:
        return []
    return [name for name in names if not _reads(connection, str(name))]


def _reads(connection: sqlite3.Connection, table: str) -> bool:
    quoted = table.replace('"', '""')
    try:
        for _ in connection.execute(f'SELECT * FROM "{quoted}" NOT INDEXED'):
            pass
    except sqlite3.DatabaseError:
        return False
    return True


def keep_newest(database: Path, event: int) -> None:
    """Notes beside a database that it holds this event, so that a log that is lost or cut short is noticed.

    It is not waited for until it is on the disk: after a power cut an earlier event may stand there, never a
    later one than the database holds. Where it cannot be written, what stood there stays.
    """
    with suppress(OSError):
        file = os.open(_noted_beside(database), os.O_CREAT | os.O_WRONLY, 0o600)
        try:
            os.write(file, b"%020d" % event)  # of one length, so that it needs no room after the first time
        finally:
            os.close(file)


def newest_noted(database: Path) -> int:
    """The newest event that a database is known to have held; 0 where nothing is noted."""
    try:
        return int(_noted_beside(database).read_text(encoding="ascii"))
    except (OSError, ValueError):
        return 0


def _noted_beside(database: Path) -> Path:
    return database.with_name(database.name + NOTED)
