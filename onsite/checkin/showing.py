"""Showing a slate on a screen, and the record of it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from onsite.checkin.desk import arrival_time
from onsite.checkin.door import resolve_roster_person
from onsite.roster.find import RosterPerson
from onsite.roster.people import read_person
from onsite.store.record import EventKind, add_event
from onsite.store.shoot import Shoot
from onsite.times import parse_time


def show_and_record_slate(
    shoot: Shoot,
    text: str,
    at: str | None,
    station: str,
    draw: Callable[[RosterPerson], object] = lambda _: None,
) -> tuple[RosterPerson, datetime]:
    """Notes that this person's slate is shown at a station, now or `at` an ISO 8601 time.

    `draw` shows it; where it raises a Problem nothing was shown and nothing is noted.
    """
    shown_at = arrival_time(shoot, parse_time(at, shoot.zone, shoot.day) if at else None)
    person = resolve_roster_person(shoot, text)
    draw(person)
    return person, record_slate_shown(shoot, person.id, station, shown_at)


def record_slate_shown(
    shoot: Shoot, person_id: int, station: str = "", at: datetime | None = None
) -> datetime:
    """Notes that a person's slate was shown at a station, and returns when."""
    shown_at = arrival_time(shoot, at)
    with shoot.writing() as session:
        read_person(session, person_id)
        add_event(session, EventKind.SLATE_SHOWN, shown_at, station=station, person_id=person_id)
    return shown_at
