"""The last known state of a store on a server, kept in the shoot's folder, for when the server is gone.

It is only read, and only to open the screens: everybody in the shoot, with their status.
"""

from __future__ import annotations

import shutil
import time
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from secrets import token_hex

from onsite.core.errors import Problem
from onsite.store.backups import EVERY
from onsite.store.database_engine import engine_for, read_session
from onsite.store.events import BLANKED, EventKind, newest_event_id, read_events
from onsite.store.migrations import migrate
from onsite.store.move_store import copy_tables
from onsite.store.schema import EventRow, Meta
from onsite.store.settings import SQLITE_FILE, read_settings
from onsite.store.shoot import Shoot

FOLDER = "private/last-known"
"""Folder in the shoot's folder."""


def save_local_copy(shoot: Shoot) -> None:
    """Makes the copy anew where it is older than `backups.EVERY`. Raises Problem; OSError.

    Where somebody is forgotten meanwhile, the copy stays as it is until the next call.
    """
    if not shoot.settings.store:
        return
    place = shoot.folder / FOLDER / SQLITE_FILE
    with suppress(FileNotFoundError):
        if time.time() - place.stat().st_mtime < EVERY.total_seconds():
            return
    draft = place.parent / f".{token_hex(8)}.part"
    try:
        draft.mkdir(mode=0o700, parents=True)
        target = engine_for(draft, "")
        source = shoot.engine.execution_options(isolation_level="REPEATABLE READ")  # one state of all tables
        try:
            with read_session(source) as old:
                copy_tables(old, target, shoot.mark)
                newest = newest_event_id(old)
        finally:
            target.dispose()
        if not _is_anybody_forgotten_since(shoot, newest):
            (draft / SQLITE_FILE).replace(place)
    finally:
        shutil.rmtree(draft, ignore_errors=True)


def _is_anybody_forgotten_since(shoot: Shoot, newest: int) -> bool:
    with shoot.reading() as session:
        undos = read_events(session, [EventKind.UNDONE], EventRow.id > newest, undone_too=True)
    return any(BLANKED in undo.details for undo in undos)


def open_without_server(folder: Path) -> tuple[Shoot, Shoot]:
    """A shoot whose server does not answer, and beside it its last known state. Raises Problem where there is
    none."""
    settings = read_settings(folder)
    if not (folder / FOLDER / SQLITE_FILE).is_file():
        raise Problem(
            "The server of this shoot does not answer, and this machine has no copy of the shoot yet.",
            "Check the network and the server.",
        )
    known = engine_for(folder / FOLDER, "")
    migrate(known)
    with read_session(known) as session:
        mark = session.get_one(Meta, "shoot_mark").value
    last = Shoot(folder, replace(settings, store=""), mark, known)
    return Shoot(folder, settings, mark, engine_for(folder, settings.store)), last
