"""Showing a slate on a screen, and the record of it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from onsite.checkin.desk import moment
from onsite.checkin.door import person_meant
from onsite.roster.find import Someone
from onsite.roster.people import person_of
from onsite.store.record import Kind, add
from onsite.store.shoot import Shoot
from onsite.times import parse_time


def record_showing(
    shoot: Shoot, text: str, at: str | None, station: str, draw: Callable[[Someone], object] = lambda _: None
) -> tuple[Someone, datetime]:
    """Notes that this person's slate is shown at a station, now or `at` an ISO 8601 time.

    `draw` shows it; where it raises a Problem nothing was shown and nothing is noted.
    """
    shown_at = moment(shoot, parse_time(at, shoot.zone, shoot.day) if at else None)
    person = person_meant(shoot, text)
    draw(person)
    return person, note_showing(shoot, person.id, station, shown_at)


def note_showing(shoot: Shoot, person_id: int, station: str = "", at: datetime | None = None) -> datetime:
    """Notes that a person's slate was shown at a station, and returns when."""
    shown_at = moment(shoot, at)
    with shoot.writing() as session:
        person_of(session, person_id)
        add(session, Kind.SLATE_SHOWN, shown_at, station=station, person_id=person_id)
    return shown_at
