"""Decisions by hand: giving frames to a person, setting them aside, taking that back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from onsite.matching.evidence import FrameKind
from onsite.roster.find import Someone, who
from onsite.roster.people import people
from onsite.store.record import Kind, add
from onsite.store.shoot import Shoot
from onsite.wrap.choose import choose, is_range
from onsite.wrap.current import stands


@dataclass(frozen=True, slots=True)
class Given:
    """Frames given to a person by hand. `slates` lay in a range that was named, and stay slates."""

    person: Someone
    frames: tuple[int, ...]
    slates: tuple[int, ...]


def give(shoot: Shoot, frames: Sequence[str], to: str, station: str = "") -> Given:
    """These frames are that person's, whatever is computed.

    A slate inside a range of counters stays a slate; one that is named by itself is given like any frame.
    """
    known = {frame for frame, stand in stands(shoot).items() if stand.kind is FrameKind.SLATE}
    with shoot.writing() as session:
        person = who(to, people(session))
        chosen = choose(session, frames)
        alone = [text for text in frames if not is_range(text)]
        named = set(choose(session, alone)) if alone else set()
        slates = tuple(frame for frame in chosen if frame in known and frame not in named)
        given = tuple(frame for frame in chosen if frame not in slates)
        for frame in given:
            add(session, Kind.GIVEN, shoot.now(), station=station, frame_id=frame, person_id=person.id)
    return Given(person, given, slates)


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
