"""The schema's version, and the migrations from each version to the next.

A migration is a list of statements in SQL that both SQLite and PostgreSQL accept; then the projections are
made again from the events. To change the schema: change `schema.py`, raise VERSION, add a migration (it drops
the table of a projection that changes), and add a dump of a database of the new version to the tests.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping, Sequence
from contextlib import closing
from pathlib import Path

from sqlalchemy import Engine, inspect, text
from sqlmodel import SQLModel

from onsite.core.errors import Problem
from onsite.store import schema
from onsite.store.backups import damaged_problem
from onsite.store.database_engine import make_database_file, read_session, write_session
from onsite.store.event_projections import rebuild_projections

VERSION = 7

Steps = Mapping[int, Sequence[str]]
"""Version -> the statements that migrate a database from the version before."""

STEPS: Steps = {
    2: (
        "ALTER TABLE person ADD COLUMN spoken VARCHAR DEFAULT '' NOT NULL",
        """CREATE TABLE measure (
            frame_id INTEGER NOT NULL PRIMARY KEY REFERENCES frame (id),
            brightness FLOAT,
            sharpness FLOAT,
            backdrop_l FLOAT,
            backdrop_a FLOAT,
            backdrop_b FLOAT
        )""",
    ),
    3: (
        "ALTER TABLE reading ADD COLUMN read_by VARCHAR",
        "ALTER TABLE reading ADD COLUMN margin FLOAT",
        "ALTER TABLE frame ADD COLUMN codes INTEGER",
    ),
    4: (
        """CREATE TABLE timing (
            first_frame INTEGER NOT NULL PRIMARY KEY REFERENCES frame (id),
            correction FLOAT NOT NULL,
            drift FLOAT NOT NULL,
            at FLOAT NOT NULL,
            set_forward FLOAT NOT NULL
        )""",
    ),
    5: (
        "ALTER TABLE person ADD COLUMN language VARCHAR DEFAULT '' NOT NULL",
        """INSERT INTO meta (key, value) SELECT 'consent_asked', 'yes'
            WHERE EXISTS (SELECT 1 FROM person WHERE NOT walk_in AND trim(consent) <> '')
            OR EXISTS (SELECT 1 FROM event WHERE kind = 'changed' AND CAST(details AS VARCHAR)
                LIKE '%"consent"%')""",
    ),
    6: ("CREATE INDEX ix_event_card_id ON event (card_id)",),
    7: (
        "ALTER TABLE verdict ADD COLUMN certainty FLOAT",
        "DELETE FROM meta WHERE key = 'matched_event'",  # the next match says how sure each name is
    ),
}


def create_schema(engine: Engine, shoot_mark: str) -> None:
    """Creates the tables of the newest version in an empty database."""
    make_database_file(engine)
    with write_session(engine) as session:
        SQLModel.metadata.create_all(session.connection())
        session.add(schema.Meta(key="schema_version", value=str(VERSION)))
        session.add(schema.Meta(key="shoot_mark", value=shoot_mark))


def migrate(engine: Engine, steps: Steps = STEPS, newest: int = VERSION) -> None:
    """Migrates an older database to the newest version, after making a copy of it beside it.

    Raises Problem for a database that is not a shoot's, is damaged, or was made by a newer version.
    """
    found = schema_version(engine)
    if found > newest:
        raise Problem(
            f"This shoot was made by a newer version of onsite (schema {found}; this one knows {newest}).",
            "Update onsite on this machine; nothing was changed.",
        )
    if found == newest:
        return
    _back_up_before(engine, found)
    with write_session(engine) as session:
        meta = session.get_one(schema.Meta, "schema_version")  # again: another station may have been quicker
        for version in range(int(meta.value) + 1, newest + 1):
            for statement in steps[version]:
                session.execute(text(statement))
        rebuild_projections(session)
        meta.value = str(newest)


def schema_version(engine: Engine) -> int:
    """The schema version of a database. Raises Problem if it is damaged or not a shoot's."""
    with read_session(engine) as session:
        if not inspect(session.connection()).has_table("meta"):
            raise _damaged(engine, "it is empty or not onsite's")
        meta = session.get(schema.Meta, "schema_version")
    if meta is None or not meta.value.isdecimal():
        raise _damaged(engine, "it does not tell its version")
    return int(meta.value)


def _damaged(engine: Engine, where: str) -> Problem:
    if engine.dialect.name == "sqlite":
        return damaged_problem(Path(engine.url.database or "").parent, where)
    return Problem(f"That store holds no shoot: {where}.", "Check its URL.")


def _back_up_before(engine: Engine, version: int) -> None:
    if engine.dialect.name != "sqlite" or not engine.url.database:
        return
    copy = f"{engine.url.database}.version-{version}"
    try:
        with closing(sqlite3.connect(engine.url.database)) as now, closing(sqlite3.connect(copy)) as kept:
            now.backup(kept)
    except sqlite3.Error as error:
        raise Problem(
            f"The database needs a new version, and no copy of it can be kept in {copy}: {error}",
            "Free some space and check the folder's permissions; nothing was changed.",
        ) from error
