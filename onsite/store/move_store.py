"""Moving a shoot from SQLite to PostgreSQL and back, with everything in it.

A move holds the write lock of the old store from its first row to its last step. In this order: all tables
are copied in one transaction and compared; the old store is marked as moved, after which no station writes
to it; `shoot.toml` names the new one. Killed before the mark, nothing has moved; killed after it, the same
command finishes the move.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import sqlalchemy as sa
from sqlmodel import Session, SQLModel

from onsite.core.errors import Problem
from onsite.core.progress import Progress, no_progress
from onsite.store.database_engine import engine_for, make_database_file, url_without_password, write_session
from onsite.store.events import newest_event_id
from onsite.store.join_store import keep_settings
from onsite.store.schema import Meta
from onsite.store.settings import SQLITE_FILE, write_settings
from onsite.store.shoot import MOVED, Shoot

_AT_ONCE = 2_000
"""Rows in one statement."""


@dataclass(frozen=True, slots=True)
class MovedStore:
    """What was moved, and to where."""

    store: str
    """The new store's address without its password, or the name of the SQLite file."""
    rows: dict[str, int]
    """Table -> number of rows; empty where an interrupted move was finished."""


def move_store(shoot: Shoot, url: str, progress: Progress = no_progress) -> MovedStore:
    """Moves a shoot to the store at `url`; empty for the SQLite file in its folder. Raises Problem.

    `progress` counts tables. The shoot must be opened again afterwards.
    """
    if url == shoot.settings.store:
        raise Problem("The shoot is in that store already.", "Name another one.")
    target = engine_for(shoot.folder, url)
    settings, where = replace(shoot.settings, store=url), url_without_password(url) or SQLITE_FILE
    try:
        with write_session(shoot.engine) as old:
            moved = old.get(Meta, MOVED)
            if moved is None:
                rows = copy_tables(old, target, shoot.mark, progress)
                with write_session(target) as new:
                    keep_settings(new, settings)
                old.add(Meta(key=MOVED, value=where))
            elif moved.value == where:  # interrupted after the mark: the copy is whole
                rows = {}
            else:
                raise Problem(f"This shoot has moved to the store {moved.value}.", "Name that one.")
        write_settings(shoot.folder, settings)
    finally:
        target.dispose()
    return MovedStore(where, rows)


def copy_tables(
    old: Session, target: sa.Engine, mark: str, progress: Progress = no_progress
) -> dict[str, int]:
    """Copies every row of a store into another, compares them, and returns how many rows each table has.

    Raises Problem where the target holds another shoot, or differs afterwards.
    """
    rows = {}
    make_database_file(target)
    with target.execution_options(onsite_writes=True).begin() as new:
        _make_room(new, old, mark)
        tables = SQLModel.metadata.sorted_tables
        for number, table in enumerate(tables):
            progress(number, len(tables))
            rows[table.name] = _copy_table(old.connection(), new, table)
            if _digest(old.connection(), table) != _digest(new, table):
                raise Problem(
                    f"The copy of the table {table.name} differs from the original; nothing was moved.",
                    "Do it again; if it says the same, the new store is not sound.",
                )
    return rows


def _make_room(new: sa.Connection, old: Session, mark: str) -> None:
    """Empty tables in the new store. A copy of this very shoot, from a move before, makes room for them."""
    if sa.inspect(new).has_table("meta"):
        there = Session(new)
        held = there.get(Meta, "shoot_mark")
        newest = newest_event_id(there) if sa.inspect(new).has_table("event") else 0
        if held is None or held.value != mark or newest > newest_event_id(old):
            raise Problem("The store holds another shoot.", "Name an empty one. Nothing was moved.")
        SQLModel.metadata.drop_all(new)
    SQLModel.metadata.create_all(new)


def _copy_table(old: sa.Connection, new: sa.Connection, table: sa.Table) -> int:
    count = 0
    for rows in _rows(old, table):
        new.execute(sa.insert(table), [dict(row) for row in rows])
        count += len(rows)
    key = table.primary_key.columns[0]
    if new.dialect.name == "postgresql" and table.autoincrement_column is key and count:
        new.execute(  # ids given by hand do not move the counter on
            sa.text(
                f'SELECT setval(pg_get_serial_sequence(:table, :key), (SELECT max(id) FROM "{table.name}"))'
            ),
            {"table": f'"{table.name}"', "key": key.name},
        )
    return count


def _rows(connection: sa.Connection, table: sa.Table) -> Iterator[list[Any]]:
    asked = sa.select(table).order_by(*table.primary_key.columns)
    if table.name == Meta.__tablename__:
        asked = asked.where(table.c.key != MOVED)
    yield from map(list, connection.execute(asked).mappings().partitions(_AT_ONCE))


def _digest(connection: sa.Connection, table: sa.Table) -> str:
    """SHA-256 over all values, as Python sees them."""
    seen = hashlib.sha256()
    for rows in _rows(connection, table):
        for row in rows:
            seen.update(repr(list(row.values())).encode())
    return seen.hexdigest()
