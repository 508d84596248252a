"""A shoot: its folder, its settings and its open database."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from sqlalchemy import Engine
from sqlalchemy.exc import DBAPIError
from sqlmodel import Session

from onsite.core.errors import Problem
from onsite.store import database_engine as engines
from onsite.store.join_store import keep_settings
from onsite.store.migrations import create_schema, migrate
from onsite.store.schema import Meta
from onsite.store.settings import SETTINGS_FILE, SQLITE_FILE, Settings, read_settings, write_settings

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

    @property
    def day(self) -> date:
        """The day of the shoot: the date in its settings, else today."""
        return date.fromisoformat(self.settings.date) if self.settings.date else self.now().date()

    def now(self) -> datetime:
        """The time on this machine's clock, in the shoot's zone."""
        return datetime.now(self.zone)


def create_shoot(folder: Path, settings: Settings, mark: str) -> Shoot:
    """Creates a shoot in a folder that is new or holds none, and opens it. Raises Problem.

    `mark` is what its slate codes will carry (`onsite.core.codes.new_shoot_mark`).
    """
    settings.zone  # noqa: B018  a wrong zone is refused before anything is created
    if (folder / SETTINGS_FILE).exists() or (folder / SQLITE_FILE).exists():
        raise Problem(f"{folder} is a shoot already.", "Choose another folder.")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with (
            _removed_on_failure(folder),
            _closed_on_failure(engines.engine_for(folder, settings.store)) as engine,
        ):
            create_schema(engine, mark)
            if settings.store:
                with engines.write_session(engine) as session:
                    keep_settings(session, settings)
            write_settings(folder, settings)
            return Shoot(folder, settings, mark, engine)
    except OSError as error:
        raise Problem(
            f"{folder} cannot be made into a shoot: {error.strerror or error}", "Choose another folder."
        ) from error
    except DBAPIError as error:
        raise Problem(
            f"The store cannot be made: {engines.first_line(error)}", "Check the URL, or leave --store away."
        ) from error


def open_shoot(folder: Path, even_if_moved: bool = False) -> Shoot:
    """Opens the shoot in that folder, after migrating an older database. Raises Problem.

    `even_if_moved` opens a store that the shoot has left, to finish the move.
    """
    settings = read_settings(folder)
    settings.zone  # noqa: B018
    if not settings.store and not (folder / SQLITE_FILE).is_file():
        raise Problem(
            f"{folder} has no {SQLITE_FILE}: the shoot's database is gone.", "Put back a copy of the folder."
        )
    with _closed_on_failure(engines.engine_for(folder, settings.store)) as engine:
        migrate(engine)
        with engines.read_session(engine) as session:
            if not even_if_moved:
                _refuse_moved(session)
            mark = session.get_one(Meta, "shoot_mark").value
        return Shoot(folder, settings, mark, engine)


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
def _removed_on_failure(folder: Path) -> Iterator[None]:
    """Removes a half-made database, which would block the next try."""
    try:
        yield
    except BaseException:
        for ending in ("", "-wal", "-shm"):
            (folder / f"{SQLITE_FILE}{ending}").unlink(missing_ok=True)
        raise


@contextmanager
def _closed_on_failure(engine: Engine) -> Iterator[Engine]:
    try:
        yield engine
    except BaseException:
        engine.dispose()
        raise
