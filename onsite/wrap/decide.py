"""Decisions by hand: giving frames to a person, setting them aside, taking that back."""

from __future__ import annotations

from collections.abc import Sequence

from onsite.roster.find import Someone, who
from onsite.roster.people import people
from onsite.store.record import Kind, add
from onsite.store.shoot import Shoot
from onsite.wrap.choose import choose


def give(shoot: Shoot, frames: Sequence[str], to: str, station: str = "") -> tuple[list[int], Someone]:
    """These frames are that person's, whatever is computed."""
    with shoot.writing() as session:
        person = who(to, people(session))
        chosen = choose(session, frames)
        for frame in chosen:
            add(session, Kind.GIVEN, shoot.now(), station=station, frame_id=frame, person_id=person.id)
    return chosen, person


def set_aside(shoot: Shoot, frames: Sequence[str], station: str = "") -> list[int]:
    """These frames are kept and never delivered."""
    return _record(shoot, Kind.SET_ASIDE, frames, station)


def free(shoot: Shoot, frames: Sequence[str], station: str = "") -> list[int]:
    """Takes back what was decided by hand on these frames: they are matched again."""
    return _record(shoot, Kind.FREED, frames, station)


def _record(shoot: Shoot, kind: Kind, frames: Sequence[str], station: str) -> list[int]:
    with shoot.writing() as session:
        chosen = choose(session, frames)
        for frame in chosen:
            add(session, kind, shoot.now(), station=station, frame_id=frame)
    return chosen
