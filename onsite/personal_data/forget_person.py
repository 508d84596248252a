"""Forgetting a person: their data is blanked in the tables and in the record, and deleted with its files.

The record stays whole: every event stays, with its time, kind and what it refers to, and loses the texts that
say something about the person. That is the only change ever made to it; one event records it, with the events
concerned. Their frames stay too, set aside.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import text
from sqlmodel import Session, select

from onsite.checkin.check_in import resolve_roster_person
from onsite.checkin.station_door import StationDoor
from onsite.core.errors import FileReason, Problem
from onsite.core.frame_ref import frame_id_text
from onsite.files.atomic_write import write_atomic
from onsite.personal_data.personal_data_places import FORGOTTEN, DataPlaces, data_places
from onsite.reconcile.current_match import update_match
from onsite.reconcile.frame_ownership import frames_of_person
from onsite.retouch.retouch_folder import retouch_lock
from onsite.store.backups import FOLDER as BACKUPS
from onsite.store.backups import back_up, backup_at
from onsite.store.events import BLANKED, REMOVED, EventKind, add_event, blank_details, read_events
from onsite.store.schema import EventRow, Frame, MeasureRow, Person
from onsite.store.settings import SQLITE_FILE
from onsite.store.shoot import Shoot

_TEXTS = ("given", "family", "group", "role", "email", "phone", "slot", "note", "spoken", "language")
_KEPT = frozenset({"batch", "by", "currency", "due", "of", "price", "sha256", "source"})
"""Texts in the details of events that say nothing about the person."""


@dataclass(frozen=True, slots=True)
class Forgotten:
    """What was removed of a person; with a dry run, what would be."""

    key: str
    frames: tuple[str, ...]
    """Their frames: they stay, set aside."""
    events: int
    """Events whose details were blanked."""
    deleted: tuple[Path, ...]
    """Files in the shoot's folder."""
    blanked: tuple[Path, ...]
    """Receipts and lists that no longer name them."""
    backups: tuple[Path, ...]
    """Earlier states of the database, deleted; a new backup takes their place."""
    beyond: tuple[FileReason, ...]
    """Out of reach."""
    recorded: str = ""
    """What became of what this station had kept while the server was gone, if there was anything."""
    name: str = ""
    """Who it is, before they are forgotten; empty afterwards."""


def forget_person(shoot: Shoot, who: str, station: str = "", dry_run: bool = False) -> Forgotten:
    """Forgets the person whom a text identifies; with `dry_run` only says how. Raises Problem."""
    # what was kept while the server was gone may name them
    recorded = "" if dry_run else StationDoor(shoot).server_answers() or ""
    person = resolve_roster_person(shoot, who)
    with retouch_lock(shoot):
        update_match(shoot)
        with shoot.reading() as session:
            frames = _frames_of(session, person.id)
            places = data_places(shoot, session, person.id, frames)
            blank = _blank_details_of(session, person.id)
        unfinished: tuple[FileReason, ...] = ()
        if not dry_run:
            # while the person is in the record, all this can be done again: after a kill, or on a full disk
            _write_database_anew(shoot)
            _clean_files(shoot, places)
            with shoot.writing() as session:
                _blank_record(session, shoot, person.id, frames, blank, station)
            unfinished = _replace_backups(shoot, places)
    return Forgotten(
        person.key,
        tuple(frame_id_text(frame) for frame in frames),
        len(blank),
        places.own,
        tuple(places.texts),
        places.backups,
        places.beyond + unfinished,
        recorded,
        person.name if dry_run else "",
    )


def _frames_of(session: Session, person_id: int) -> list[int]:
    return sorted({owned.frame for owned in frames_of_person(session, person_id)})


def _blank_details_of(session: Session, person_id: int) -> dict[int, dict[str, Any]]:
    """The details without the person's data, by event, for the events where that is a difference."""
    events = read_events(session, person_id=person_id, undone_too=True)
    blank = {event.id: _blanked(event.details) for event in events}
    return {event.id: blank[event.id] for event in events if blank[event.id] != event.details}


def _blanked(value: Any, key: str = "") -> Any:
    """A value of an event's details with every text blanked, except for those in `_KEPT`, and sets of a
    delivery that are not the person's own."""
    if isinstance(value, dict):
        return {} if key == "notes" else {name: _blanked(part, name) for name, part in value.items()}
    if isinstance(value, list):
        return [_blanked(part, key) for part in value]
    if not isinstance(value, str) or key in _KEPT:
        return value
    return value if key == "set" and not value.startswith("person: ") else ""


def _blank_record(
    session: Session,
    shoot: Shoot,
    person_id: int,
    frames: Iterable[int],
    blank: dict[int, dict[str, Any]],
    station: str,
) -> None:
    if not shoot.settings.store:
        session.execute(text("PRAGMA secure_delete = ON"))  # overwrite what is replaced
    person = session.get_one(Person, person_id)
    person.key, person.own_key, person.name, person.consent = f"removed-{person_id}", True, FORGOTTEN, "no"
    for name in _TEXTS:
        setattr(person, name, "")
    person.extra = {}
    now = shoot.now()
    for frame_id in frames:
        session.get_one(Frame, frame_id).look = None
        if measures := session.get(MeasureRow, frame_id):
            session.delete(measures)
        add_event(session, EventKind.SET_ASIDE, now, frame_id=frame_id)  # of no station: none undoes it
    blank_details(session, blank)
    here = (EventKind.ARRIVED.value, EventKind.CARD_TIED.value)
    undoes = session.exec(
        select(EventRow.id).where(EventRow.person_id == person_id, EventRow.kind.in_(here))
    ).all()
    event = add_event(session, EventKind.UNDONE, now, station=station, person_id=person_id)
    event.details = {"undoes": sorted(undoes), REMOVED: True, BLANKED: sorted(blank)}


def _clean_files(shoot: Shoot, places: DataPlaces) -> None:
    """Deletes files, all but the backups of this store, which are kept until the person is not in it."""
    earlier = [path for path in places.backups if shoot.settings.store or backup_at(path) is None]
    for path in (*places.own, *earlier):
        path.unlink(missing_ok=True)
    for path, without in places.texts.items():
        write_atomic(path, without.encode())


def _write_database_anew(shoot: Shoot) -> None:
    """Writes the database's file anew, with nothing but the rows: no remains of earlier ones. Raises
    Problem."""
    if shoot.settings.store:
        return
    shoot.engine.dispose()
    try:
        _on_database(shoot, "VACUUM")
    except sqlite3.OperationalError as error:
        raise Problem(
            f"The database cannot be written anew: {error}. Nothing was removed.",
            "Free some space, close other screens, and do it again.",
        ) from error


def _replace_backups(shoot: Shoot, places: DataPlaces) -> tuple[FileReason, ...]:
    """Deletes all backups and makes a new one; returns what is left to do where there is no room for it."""
    if shoot.settings.store:
        return ()
    for path in places.backups:
        path.unlink(missing_ok=True)
    try:
        update_match(shoot)
        shoot.engine.dispose()
        _on_database(shoot, "PRAGMA wal_checkpoint(TRUNCATE)")
        back_up(shoot.folder, [folder for folder in shoot.backups_elsewhere if folder.is_dir()], shoot.now())
    except (Problem, sqlite3.OperationalError) as error:
        reason = str(error).splitlines()[0]
        return (FileReason(shoot.folder / BACKUPS, f"no new backup: {reason} Later: onsite backup"),)
    return ()


def _on_database(shoot: Shoot, statement: str) -> None:
    with closing(sqlite3.connect(shoot.folder / SQLITE_FILE, isolation_level=None)) as database:
        database.execute("PRAGMA busy_timeout = 20000")
        database.execute(statement)
