"""A shoot: its folder, its settings and its open database."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from secrets import token_hex
from zoneinfo import ZoneInfo

from sqlalchemy import Engine
from sqlalchemy.exc import DBAPIError
from sqlmodel import Session, select

from onsite.core.errors import Problem
from onsite.store import database_engine as engines
from onsite.store.backups import FOLDER as BACKUPS
from onsite.store.backups import Backup, back_up_if_due, damaged_problem, newest_backup, step_back
from onsite.store.database_damage import damage_found, keep_newest, newest_noted
from onsite.store.event_projections import NEWEST
from onsite.store.events import newest_event_id
from onsite.store.join_store import keep_settings
from onsite.store.migrations import create_schema, migrate
from onsite.store.schema import Meta, Person
from onsite.store.settings import (
    SETTINGS_FILE,
    SQLITE_FILE,
    Settings,
    link_new,
    make_private_folder,
    read_settings,
    write_settings,
)

MOVED = "moved"
"""Key in `Meta`: the shoot is in another store by now (`move_store`); its value says in which."""


@dataclass(frozen=True, slots=True)
class Shoot:
    """One commission. `mark` is the four characters that its slate codes carry."""

    folder: Path
    settings: Settings
    mark: str
    engine: Engine

    @property
    def zone(self) -> ZoneInfo:
        return self.settings.zone

    def reading(self) -> AbstractContextManager[Session]:
        """A read session; see `database_engine.read_session`."""
        return engines.read_session(self.engine)

    @contextmanager
    def writing(self) -> Iterator[Session]:
        """A write session; see `database_engine.write_session`. Raises Problem where the shoot has moved."""
        with engines.write_session(self.engine) as session:
            _refuse_moved(session)
            yield session
        if NEWEST in session.info and not self.settings.store:
            keep_newest(self.folder / SQLITE_FILE, session.info[NEWEST])

    def back_up_if_due(self) -> list[Backup]:
        """Makes the backups that are due, `backups.EVERY` after the last; none for a store that is not in the
        folder. Raises Problem."""
        if self.settings.store:
            return []
        with self.reading() as session:
            newest = newest_event_id(session)
        return back_up_if_due(self.folder, self.backups_elsewhere, datetime.now(UTC), newest)

    @property
    def backups_elsewhere(self) -> tuple[Path, ...]:
        """The folder for backups outside of the shoot's, if one is set."""
        named = self.settings.backups
        return (self.folder / Path(named).expanduser(),) if named else ()

    @property
    def day(self) -> date:
        """The day of the shoot: the date in its settings, else today."""
        return date.fromisoformat(self.settings.date) if self.settings.date else self.now().date()

    def now(self) -> datetime:
        """The time on this machine's clock, in the shoot's zone."""
        return datetime.now(self.zone)


def create_shoot(folder: Path, settings: Settings, mark: str) -> Shoot:
    """Creates a shoot in a folder that is new or holds none, and opens it. Raises Problem.

    `mark` is what its slate codes will carry (`onsite.core.codes.new_shoot_mark`). It is a shoot once its
    settings stand in the folder, last of all: of several that make one at once, one does, and what one that
    was killed leaves is taken up by the next. The folder is private where it is new.
    """
    settings.zone  # noqa: B018  a wrong zone is refused before anything is created
    already = Problem(f"{folder} is a shoot already.", "Choose another folder.")
    if (folder / SETTINGS_FILE).exists():
        raise already
    try:
        make_private_folder(folder)
        with _closed_on_failure(engines.engine_for(folder, settings.store)) as engine:
            if settings.store:
                create_schema(engine, mark)
                with engines.write_session(engine) as session:
                    keep_settings(session, settings)
            else:
                mark = _database_for(folder, mark)
            if not write_settings(folder, settings, is_new=True):
                raise already
            return Shoot(folder, settings, mark, engine)
    except OSError as error:
        raise Problem(
            f"{folder} cannot be made into a shoot: {error.strerror or error}", "Choose another folder."
        ) from error
    except DBAPIError as error:
        raise Problem(
            f"The store cannot be made: {engines.first_line(error)}", "Check the URL, or leave --store away."
        ) from error


def _database_for(folder: Path, mark: str) -> str:
    """Puts a new database into the folder, and returns the mark of the shoot: that of an unused database
    which is there already. Raises Problem for one that is in use; OSError."""
    draft = folder / f".{token_hex(8)}.part"
    try:
        draft.mkdir(mode=0o700)
        with _disposed(engines.engine_for(draft, "")) as engine:
            create_schema(engine, mark)
        if link_new(draft / SQLITE_FILE, folder / SQLITE_FILE):
            return mark
    finally:
        shutil.rmtree(draft, ignore_errors=True)
    with _disposed(engines.engine_for(folder, "")) as engine, engines.read_session(engine) as session:
        if session.scalar(select(Person.id).limit(1)) or newest_event_id(session):
            raise Problem(
                f"{folder} has the database of a shoot, but no {SETTINGS_FILE}.",
                f"Put back {SETTINGS_FILE}, from {folder / BACKUPS} or a copy, or choose another folder.",
            )
        return session.get_one(Meta, "shoot_mark").value


def open_shoot(folder: Path, even_if_moved: bool = False) -> Shoot:
    """Opens the shoot in that folder, after migrating an older database. Raises Problem, also where the
    database is damaged, or its record is shorter than that of a backup.

    `even_if_moved` opens a store that the shoot has left, to finish the move.
    """
    settings = read_settings(folder)
    settings.zone  # noqa: B018
    if not settings.store and not (folder / SQLITE_FILE).is_file():
        raise Problem(f"{folder} has no {SQLITE_FILE}: the shoot's database is gone.", step_back(folder))
    with _closed_on_failure(engines.engine_for(folder, settings.store)) as engine:
        migrate(engine)
        if not settings.store:
            _require_sound(folder, engine)
        with engines.read_session(engine) as session:
            if not even_if_moved:
                _refuse_moved(session)
            mark = session.get_one(Meta, "shoot_mark").value
        return Shoot(folder, settings, mark, engine)


_CHECKED_AT_OPENING = 64 << 20
"""Bytes of a database that are all read when it is opened: at most 0.2 s, measured at 3 ms a MB."""


def _require_sound(folder: Path, engine: Engine) -> None:
    last = newest_backup(folder)  # first: stations record events and make backups meanwhile
    noted = newest_noted(folder / SQLITE_FILE)
    with engines.read_session(engine) as session:
        if (folder / SQLITE_FILE).stat().st_size > _CHECKED_AT_OPENING:
            engines.read_from_disk(session)
        elif damage := damage_found(engines.sqlite_connection(session)):
            raise damaged_problem(folder, damage)
        newest = newest_event_id(session)
    if last is not None and last.newest_event > newest:
        raise damaged_problem(
            folder, f"it ends with event {newest}, and its last backup with event {last.newest_event}"
        )
    if noted > newest:
        raise damaged_problem(folder, f"it ends with event {newest}, and it had {noted}: its log is lost")


def find_shoot(named: str | None, start: Path) -> Path:
    """The folder that was named, else the nearest shoot upwards from `start`. Raises Problem."""
    if named:
        return Path(named).expanduser()
    for folder in (start, *start.parents):
        if (folder / SETTINGS_FILE).is_file():
            return folder
    raise Problem(
        "This folder is not in a shoot.",
        "Go into one, name it with --shoot DIR, or make one with: onsite new DIR --name NAME",
    )


def _refuse_moved(session: Session) -> None:
    if moved := session.get(Meta, MOVED):
        raise Problem(
            f"This shoot has moved to the store {moved.value}.",
            "Go on there with: onsite join URL DIR. If the move was interrupted: onsite store move URL",
        )


@contextmanager
def _disposed(engine: Engine) -> Iterator[Engine]:
    try:
        yield engine
    finally:
        engine.dispose()


@contextmanager
def _closed_on_failure(engine: Engine) -> Iterator[Engine]:
    try:
        yield engine
    except BaseException:
        engine.dispose()
        raise
