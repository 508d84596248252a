"""Whether the record of a shoot is sound: its pages, every row, the projections, and what backups hold."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, StaticPool, create_engine, select
from sqlmodel import Session, SQLModel

from onsite.core.errors import Problem
from onsite.store.backups import Backup, damaged_problem, newest_backup
from onsite.store.database_damage import damage_found, is_damage
from onsite.store.event_projections import rebuild_projections
from onsite.store.events import blanked_events, read_events
from onsite.store.read_database_file import reading_database
from onsite.store.schema import CardHolder, EventRow, PersonState, UndoneEvent
from onsite.store.settings import SQLITE_FILE

Rows = dict[str, list[tuple[Any, ...]]]


def find_damage(shoot: Path) -> Problem | None:
    """The Problem where the record of a shoot on SQLite is damaged; None where it is sound."""
    database = shoot / SQLITE_FILE
    faults = record_faults(database, newest_backup(shoot)) if database.is_file() else []
    return damaged_problem(shoot, "; ".join(faults)) if faults else None


def record_faults(database: Path, backup: Backup | None) -> list[str]:
    """What is wrong with the record in a SQLite database, as parts of a sentence; empty if it is sound.

    Reads a copy in memory, so that no station waits. `backup` is one of the same shoot: the record only
    grows, so that every event in it must still be there. Never raises for damage.
    """
    try:
        with _copied(database) as (copy, engine):
            if damage := damage_found(copy, thorough=True):
                return [damage]
            with Session(engine) as session:
                faults = _unreadable_rows(session) or _wrong_projections(session)
                if not faults and backup is not None:
                    faults = _events_lost(copy, backup, blanked_events(session))
            return faults
    except UnicodeDecodeError:
        return ["the names of its tables cannot be read"]
    except (sqlite3.Error, OSError) as error:
        return [str(error)] if is_damage(error) else []


@contextmanager
def _copied(database: Path) -> Iterator[tuple[sqlite3.Connection, Engine]]:
    with closing(sqlite3.connect(":memory:", check_same_thread=False)) as copy:
        with reading_database(database) as source:
            source.backup(copy)
        engine = create_engine("sqlite://", creator=lambda: copy, poolclass=StaticPool)
        try:
            yield copy, engine
        finally:
            engine.dispose()


def _unreadable_rows(session: Session) -> list[str]:
    """The tables with a row that is no longer what was written: texts, times, JSON, kinds of events."""
    faults = []
    for table in SQLModel.metadata.sorted_tables:
        try:
            session.execute(select(table)).all()
            if table.name == EventRow.__tablename__:
                read_events(session, undone_too=True)
        except Exception as error:  # whatever a converter says to content that it does not know
            reason = next(iter(str(error).splitlines()), type(error).__name__)
            faults.append(f"table {table.name} has a row that cannot be read: {reason}")
    return faults


def _wrong_projections(session: Session) -> list[str]:
    """The projections that are not what the record makes them."""
    try:
        before = projected(session)
        rebuild_projections(session)
        session.flush()
        after = projected(session)
    except Exception as error:
        return [f"the record cannot be followed: {type(error).__name__}: {error}"]
    finally:
        session.rollback()
    return [f"table {name} is not what the record says" for name in before if before[name] != after[name]]


def projected(session: Session) -> Rows:
    """All rows of the projections, by table; of people all but which event changed them last, which a rebuild
    cannot know, and nothing of people of whom the record says nothing."""
    rows: Rows = {}
    for table in (UndoneEvent, PersonState, CardHolder):
        columns = [getattr(table, name) for name in table.model_fields if name != "changed"]
        rows[str(table.__tablename__)] = sorted(
            (tuple(row) for row in session.execute(select(*columns))), key=lambda row: row[0]
        )
    return rows


def _events_lost(copy: sqlite3.Connection, backup: Backup, blanked: frozenset[int]) -> list[str]:
    """Whether an event of a backup is missing or another. Details that were blanked on purpose may differ."""
    columns = "id, at, recorded, station, kind, person_id, frame_id, card_id"
    uri = f"{backup.path.absolute().as_uri()}?mode=ro&immutable=1"
    with closing(sqlite3.connect(uri, uri=True)) as kept:
        if damage_found(kept):
            return []  # a damaged backup says nothing about the shoot
        query = f"SELECT {columns}, details FROM event ORDER BY id"
        now = {row[0]: row for row in copy.execute(query)}
        for row in kept.execute(query):
            there = now.get(row[0])
            if there is None or there[:-1] != row[:-1] or (there != row and row[0] not in blanked):
                return [f"event {row[0]} is not what it was in the backup {backup.path.name}"]
    return []
