"""Showing a slate on a screen, and the record of it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from onsite.roster.find import Someone, who
from onsite.roster.people import people
from onsite.store.record import Kind, add
from onsite.store.shoot import Shoot
from onsite.times import parse_time


def record_showing(
    shoot: Shoot, text: str, at: str | None, station: str, draw: Callable[[Someone], object] = lambda _: None
) -> tuple[Someone, datetime]:
    """Notes that this person's slate is shown at a station, now or `at` an ISO 8601 time.

    `draw` shows it; where it raises a Problem nothing was shown and nothing is noted.
    """
    moment = parse_time(at, shoot.zone, shoot.day) if at else shoot.now()
    with shoot.writing() as session:
        person = who(text, people(session))
        draw(person)
        add(session, Kind.SLATE_SHOWN, moment, station=station, person_id=person.id)
    return person, moment
