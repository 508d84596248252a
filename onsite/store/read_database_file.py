"""Reading a SQLite database whatever room its disk has left: what a full disk must not prevent."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from onsite.store.database_damage import NO_ROOM, NOT_WRITABLE


@contextmanager
def reading_database(database: Path) -> Iterator[sqlite3.Connection]:
    """A connection that reads a database, which it never makes. Raises sqlite3.Error.

    Where the index of its log has no room on the disk, it locks the database: with an exclusive lock SQLite
    needs no such index; without a log, not even a disk that can be written
    (https://www.sqlite.org/wal.html#read_only_databases).
    """
    uri = database.absolute().as_uri()
    with closing(sqlite3.connect(f"{uri}?mode=rw", uri=True)) as shared:
        if _reads(shared):
            yield shared
            return
    log = database.with_name(database.name + "-wal")
    options = "" if log.exists() and log.stat().st_size else "?mode=ro&immutable=1"
    with closing(sqlite3.connect(uri + options, uri=True)) as alone:
        alone.execute("PRAGMA locking_mode = EXCLUSIVE")
        yield alone


def _reads(connection: sqlite3.Connection) -> bool:
    """Whether a connection has all that it needs beside the database; damage shows later."""
    try:
        connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()
    except sqlite3.DatabaseError as error:
        return not getattr(error, "sqlite_errorname", "").startswith((*NO_ROOM, *NOT_WRITABLE))
    except UnicodeDecodeError:  # a message that quotes what is damaged
        return True
    return True
