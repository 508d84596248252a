"""The database engine, and the only ways to read and to write.

Everything that differs between SQLite and PostgreSQL is here.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Engine, create_engine, event, select, text
from sqlalchemy.exc import ArgumentError, DatabaseError, DBAPIError, NoSuchModuleError, OperationalError
from sqlmodel import Session, SQLModel

from onsite.core.errors import CannotWrite, NoServer, Problem
from onsite.store.backups import damaged_problem
from onsite.store.database_damage import BUSY, NO_ROOM, NOT_WRITABLE, damage_in_file, is_damage
from onsite.store.event_projections import project_new_events
from onsite.store.read_database_file import reading_database
from onsite.store.settings import SQLITE_FILE
from onsite.store.store_change_signal import CHANNEL

_WRITER_LOCK = 0x6F6E73697465  # "onsite": the advisory lock that lets one station write at a time
_BUSY_SECONDS = 20  # for which a station waits for another's write
_SERVER_PATIENCE = {"connect_timeout": 3, "tcp_user_timeout": 3_000}
"""libpq's options: after 3 s (3,000 ms) without an answer a server counts as gone; the door goes on alone."""


def engine_for(folder: Path, url: str) -> Engine:
    """The SQLAlchemy engine of a shoot; an empty `url` is the SQLite file in `folder`. Raises Problem."""
    try:
        if url.startswith("postgresql"):
            engine = create_engine(url, pool_pre_ping=True, connect_args=_SERVER_PATIENCE)
        else:
            engine = create_engine(url or URL.create("sqlite", database=str(folder / SQLITE_FILE)))
    except ModuleNotFoundError as error:
        raise Problem(
            f"The store {url_without_password(url)} needs a driver that is not installed.",
            "For PostgreSQL: pip install 'onsite[postgres]', and a URL that begins with postgresql+psycopg://",
        ) from error
    except (ArgumentError, NoSuchModuleError, ValueError) as error:
        raise Problem(
            f"{url_without_password(url)!r} is not a store URL.",
            "Use for instance postgresql+psycopg://user@host/name",
        ) from error
    if engine.dialect.name == "sqlite":
        event.listen(engine, "do_connect", _connect_sqlite)
        event.listen(engine, "begin", _begin_sqlite)
    return engine


@contextmanager
def read_session(engine: Engine) -> Iterator[Session]:
    """A session that reads one consistent state of the shoot and writes nothing."""
    with _errors_as_problems(engine), Session(engine) as session:
        yield session


@contextmanager
def write_session(engine: Engine) -> Iterator[Session]:
    """A session that holds the shoot's single write lock; everything in it is committed, or nothing.

    What is read inside cannot change before the commit, so numbers can be incremented without a race. The
    projections follow every flush (`event_projections`).
    """
    bound = engine.execution_options(onsite_writes=True)
    with _errors_as_problems(engine), Session(bound, expire_on_commit=False) as session, session.begin():
        if engine.dialect.name == "postgresql":
            session.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": _WRITER_LOCK})
            session.execute(text(f"NOTIFY {CHANNEL}"))  # sent with the commit
        event.listen(session, "after_flush", project_new_events)
        yield session


def read_from_disk(session: Session) -> None:
    """Reads a row of every table as the disk has it now: raises Problem, as any read does, where the first
    pages of one cannot be read. SQLite alone keeps pages in this program that the disk may have lost."""
    if session.get_bind().dialect.name == "sqlite":
        session.execute(text("PRAGMA shrink_memory"))  # forgets the pages that this connection has read
    for table in SQLModel.metadata.sorted_tables:
        session.execute(select(table).limit(1)).close()  # of a single column SQLite would read an index


def sqlite_connection(session: Session) -> sqlite3.Connection:
    """The connection of a session on SQLite."""
    connection = session.connection().connection.driver_connection
    assert isinstance(connection, sqlite3.Connection)
    return connection


def _connect_sqlite(dialect: Any, _record: Any, arguments: Any, options: Any) -> Any:
    """A connection to the database; where there is no room to share it with others, to a copy in memory that
    can be read and not written."""
    if not Path(arguments[0]).exists():
        with suppress(OSError):  # SQLite says the same
            Path(arguments[0]).touch(mode=0o600)  # it gives the files beside it the same mode
    connection = dialect.connect(*arguments, **options)
    try:
        connection.isolation_level = None  # SQLAlchemy begins transactions, see _begin_sqlite
        connection.execute(f"PRAGMA busy_timeout = {_BUSY_SECONDS * 1000}")
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA foreign_keys = ON")
        connection.execute("PRAGMA synchronous = FULL")
    except sqlite3.OperationalError as error:
        connection.close()
        if not error.sqlite_errorname.startswith((*NO_ROOM, *NOT_WRITABLE)):
            raise
        return _copy_in_memory(dialect, Path(arguments[0]), options)
    except BaseException:
        connection.close()
        raise
    return connection


def _copy_in_memory(dialect: Any, database: Path, options: Any) -> Any:
    """A copy of a database that nobody has open, where the index of its log has no room on the disk."""
    memory = dialect.connect(":memory:", **options)
    try:
        with reading_database(database) as source:
            source.backup(memory)
        memory.isolation_level = None
        memory.execute("PRAGMA query_only = ON")
    except BaseException:
        memory.close()
        raise
    return memory


def _begin_sqlite(connection: Any) -> None:
    writes = connection.get_execution_options().get("onsite_writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


@contextmanager
def _errors_as_problems(engine: Engine) -> Iterator[None]:
    try:
        yield
    except OverflowError as error:
        raise Problem("A number is larger than any in the shoot.", "Check what was typed.") from error
    except DatabaseError as error:
        problem = _problem(engine, error)
        if problem is None:
            raise
        raise problem from error


def _problem(engine: Engine, error: DatabaseError) -> Problem | None:
    """What an error of the database means for whoever runs the shoot; None for a fault of the program."""
    reason, code = first_line(error), getattr(error.orig, "sqlite_errorname", "")
    if code.startswith(NO_ROOM):
        return CannotWrite("The disk is full: nothing of this was saved.", "Free some space and do it again.")
    if code.startswith(BUSY):
        return Problem(
            f"Another station held the shoot's database for {_BUSY_SECONDS} seconds.", "Do it again."
        )
    if code.startswith(NOT_WRITABLE):
        return CannotWrite(
            f"The shoot's database cannot be written: {reason}.",
            "Check the folder's permissions, and whether the disk is full.",
        )
    if engine.url.database and error.orig is not None and is_damage(error.orig):
        engine.dispose()  # connections keep damaged pages in their cache
        database = Path(engine.url.database)
        return damaged_problem(database.parent, damage_in_file(database) or reason)
    if engine.dialect.name == "postgresql" and (error.connection_invalidated or _has_no_connection(error)):
        return NoServer(
            f"The server of this shoot does not answer: {reason}.", "Check the network and the server."
        )
    if isinstance(error, OperationalError):
        return Problem(
            f"The shoot's database does not answer: {reason}.",
            "Do it again. If it says the same, look into it with: onsite check",
        )
    return None


def _has_no_connection(error: DatabaseError) -> bool:
    """Whether no connection was made, or it ended: SQLSTATE class 08, 57P (shutdown), or none at all."""
    state = getattr(error.orig, "sqlstate", None)
    return isinstance(error, OperationalError) and (state is None or state.startswith(("08", "57P")))


def first_line(error: DBAPIError) -> str:
    """The first line of the database's message: the error without its explanation."""
    return next(iter(str(error.orig).splitlines()), type(error.orig).__name__)


def url_without_password(url: str) -> str:
    """The URL without its password, for messages."""
    head, at, tail = url.rpartition("@")
    if not at:
        return url
    scheme, slashes, login = head.partition("://")
    return f"{scheme}{slashes}{login.partition(':')[0]}@{tail}"
