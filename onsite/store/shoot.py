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
from onsite.store.migrations import create_schema, migrate
from onsite.store.schema import Meta
from onsite.store.settings import SETTINGS_FILE, SQLITE_FILE, Settings, read_settings, write_settings


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

    def writing(self) -> AbstractContextManager[Session]:
        """A write session; see `database_engine.write_session`."""
        return engines.write_session(self.engine)

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


def open_shoot(folder: Path) -> Shoot:
    """Opens the shoot in that folder, after migrating an older database. Raises Problem."""
    settings = read_settings(folder)
    settings.zone  # noqa: B018
    if not settings.store and not (folder / SQLITE_FILE).is_file():
        raise Problem(
            f"{folder} has no {SQLITE_FILE}: the shoot's database is gone.", "Put back a copy of the folder."
        )
    with _closed_on_failure(engines.engine_for(folder, settings.store)) as engine:
        migrate(engine)
        with engines.read_session(engine) as session:
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
