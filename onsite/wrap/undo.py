"""Undoing the last decision by hand that was made at a station."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, col, select

from onsite.store.record import Kind, add, happened
from onsite.store.shoot import Shoot
from onsite.store.tables import Event, Person
from onsite.wrap.gather import BY_HAND

_AT_ONCE = 200  # decisions looked at in one query


@dataclass(frozen=True, slots=True)
class Undone:
    """A decision that no longer counts: its kind, when it was made, its frames, and the name of the person
    that they had been given to."""

    kind: Kind
    at: datetime
    frames: tuple[int, ...]
    person: str = ""

    @property
    def told(self) -> str:
        """In words, such as `given to Åsa Lindqvarn: 5 frames`."""
        what = f"given to {self.person}" if self.kind is Kind.GIVEN else _WORDS[self.kind]
        return f"{what}: {len(self.frames)} frame{'s' if len(self.frames) > 1 else ''}"


_WORDS = {
    Kind.SET_ASIDE: "set aside",
    Kind.FREED: "a decision taken back",
    Kind.SPLIT: "a run split",
    Kind.JOINED: "two runs joined",
}


def undo_last(shoot: Shoot, station: str = "") -> Undone | None:
    """Takes back the newest decision by hand made at this station, all of it; None where there is none left.

    Called again it goes further back. An earlier decision that it had replaced counts again.
    """
    with shoot.writing() as session:
        last = _last(session, station)
        if last is None:
            return None
        one = select(Event.id, Event.frame_id).where(
            col(Event.at) == last.at, col(Event.kind) == last.kind, col(Event.station) == station
        )
        rows = session.exec(one.order_by(col(Event.id))).all()
        frames = tuple(frame for _, frame in rows if frame is not None)
        person = session.get_one(Person, last.person_id).name if last.person_id is not None else ""
        undone = Undone(Kind(last.kind), last.at, frames, person)
        add(session, Kind.UNDONE, shoot.now(), station=station, undoes=[event for event, _ in rows])
    return undone


def _last(session: Session, station: str) -> Event | None:
    """The newest event of a decision made at a station that still counts."""
    gone = {event for undo in happened(session, (Kind.UNDONE,)) for event in undo.details["undoes"]}
    here = select(Event).where(
        col(Event.station) == station, col(Event.kind).in_([kind.value for kind in BY_HAND])
    )
    before: int | None = None
    while True:
        older = here if before is None else here.where(col(Event.id) < before)
        rows = session.exec(older.order_by(col(Event.id).desc()).limit(_AT_ONCE)).all()
        for row in rows:
            if row.id not in gone:
                return row
        if not rows:
            return None
        before = rows[-1].id
