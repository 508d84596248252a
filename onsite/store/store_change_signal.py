"""Hearing at once of what other stations write: PostgreSQL's LISTEN and NOTIFY.

SQLite has no such thing; there, stations look for themselves.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from sqlalchemy import Engine

if TYPE_CHECKING:
    from psycopg import Connection

CHANNEL = "onsite"
"""Every write transaction of a shoot sends NOTIFY on it (`database_engine.write_session`)."""

_STOPPED_AFTER = 0.5
"""Seconds after which a listener that was told to stop has noticed."""
_PAUSE = 2.0
"""Seconds before a lost connection is tried again; meanwhile the station looks for itself."""


def has_change_signal(engine: Engine) -> bool:
    """Whether a store can tell of changes."""
    return engine.dialect.name == "postgresql"


def listen_for_changes(engine: Engine, changed: Callable[[], None], stopped: Callable[[], bool]) -> None:
    """Calls `changed` after every write of any station, until `stopped`. Lost connections are made again."""
    import psycopg

    while not stopped():
        try:
            with _connect(engine) as connection:
                connection.execute(f"LISTEN {CHANNEL}")
                changed()  # what came while nobody listened
                while not stopped():
                    for _ in connection.notifies(timeout=_STOPPED_AFTER, stop_after=1):
                        changed()
        except psycopg.Error:
            time.sleep(_PAUSE)


def _connect(engine: Engine) -> Connection[Any]:
    """A connection outside the engine's pool: what listens is never lent to anybody else."""
    arguments, options = engine.dialect.create_connect_args(engine.url)
    connection: Connection[Any] = engine.dialect.connect(*arguments, **options, autocommit=True)  # type: ignore[assignment]
    return connection
