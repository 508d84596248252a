"""The database engine, and the only ways to read and to write.

Everything that differs between SQLite and PostgreSQL is here.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Engine, create_engine, event, select, text
from sqlalchemy.exc import ArgumentError, DatabaseError, DBAPIError, NoSuchModuleError, OperationalError
from sqlmodel import Session, SQLModel

from onsite.core.errors import Problem
from onsite.store.change_signal import CHANNEL
from onsite.store.projections import project_new_events
from onsite.store.settings import SQLITE_FILE

_WRITER_LOCK = 0x6F6E73697465  # "onsite": the advisory lock that lets one station write at a time
_BUSY_SECONDS = 20
_DAMAGED = ("malformed", "not a database", "disk I/O error")  # SQLite: CORRUPT, NOTADB, IOERR


def engine_for(folder: Path, url: str) -> Engine:
    """The SQLAlchemy engine of a shoot; an empty `url` is the SQLite file in `folder`. Raises Problem."""
    try:
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
        event.listen(engine, "connect", _prepare_sqlite)
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
    projections follow every flush (`projections`).
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


def _prepare_sqlite(connection: Any, _record: Any) -> None:
    connection.isolation_level = None  # SQLAlchemy begins transactions, see _begin_sqlite
    cursor = connection.cursor()
    cursor.execute(f"PRAGMA busy_timeout = {_BUSY_SECONDS * 1000}")
    cursor.execute("PRAGMA journal_mode = WAL")
    cursor.execute("PRAGMA foreign_keys = ON")
    cursor.execute("PRAGMA synchronous = FULL")
    cursor.close()


def _begin_sqlite(connection: Any) -> None:
    writes = connection.get_execution_options().get("onsite_writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


@contextmanager
def _errors_as_problems(engine: Engine) -> Iterator[None]:
    try:
        yield
    except DatabaseError as error:
        reason = first_line(error)
        if any(word in reason for word in _DAMAGED):
            engine.dispose()  # connections keep damaged pages in their cache
            raise Problem(
                f"The shoot's database is damaged: {reason}.",
                "Keep the shoot's folder as it is, and go on in the last copy of it.",
            ) from error
        if not isinstance(error, OperationalError):
            raise
        if "full" in reason:
            raise Problem(
                "The disk is full: nothing of this was saved.", "Free some space and do it again."
            ) from error
        if "locked" in reason or "busy" in reason:
            raise Problem(
                f"Another station held the shoot's database for {_BUSY_SECONDS} seconds.", "Do it again."
            ) from error
        if "readonly" in reason or "unable to open" in reason:
            raise Problem(
                f"The shoot's database cannot be written: {reason}.",
                "Check the folder's permissions and the disk.",
            ) from error
        raise Problem(
            f"The shoot's database does not answer: {reason}.",
            "Do it again. If it says the same, go on in the last copy of the shoot's folder.",
        ) from error


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
