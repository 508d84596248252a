"""Until when people's data may be kept, and what there still is of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from sqlmodel import func, select

from onsite.store.schema import FilePlace, Frame, Person, PersonState
from onsite.store.shoot import Shoot


@dataclass(frozen=True, slots=True)
class Retention:
    """A shoot and the agreed end of keeping its data."""

    folder: Path
    keep_until: str
    """ISO 8601, or empty where no day is agreed."""
    is_past: bool
    people: int
    """Everybody whose data is still there."""
    frames: int
    files: int
    """Originals and copies that the shoot knows."""


def read_retention(shoot: Shoot) -> Retention:
    """What the shoot still holds, and whether the agreed day is past."""
    until = shoot.settings.agreed.keep_until
    with shoot.reading() as session:
        gone = select(PersonState.person_id).where(PersonState.removed)
        people = session.exec(select(func.count(Person.id)).where(Person.id.not_in(gone))).one()
        frames = session.exec(select(func.count(Frame.id))).one()
        files = session.exec(select(func.count(FilePlace.id))).one()
    is_past = bool(until) and date.fromisoformat(until) < shoot.now().date()
    return Retention(shoot.folder, until, is_past, people, frames, files)
