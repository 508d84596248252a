"""Undoing the last decision by hand that was made at a station."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, col, select

from onsite.store.record import EventKind, add_event, read_events
from onsite.store.shoot import Shoot
from onsite.store.tables import EventRow, Person
from onsite.wrap.gather import OVERRIDE_KINDS

_EVENTS_PER_QUERY = 200  # decisions looked at in one query


@dataclass(frozen=True, slots=True)
class UndoneOverride:
    """A decision that no longer counts: its kind, when it was made, its frames, and the name of the person
    that they had been given to."""

    kind: EventKind
    at: datetime
    frames: tuple[int, ...]
    person: str = ""

    @property
    def text(self) -> str:
        """In words, such as `given to Åsa Lindqvarn: 5 frames`."""
        what = f"given to {self.person}" if self.kind is EventKind.GIVEN else _WORDS[self.kind]
        return f"{what}: {len(self.frames)} frame{'s' if len(self.frames) > 1 else ''}"


_WORDS = {
    EventKind.SET_ASIDE: "set aside",
    EventKind.FREED: "a decision taken back",
    EventKind.SPLIT: "a run split",
    EventKind.JOINED: "two runs joined",
}


def undo_last_override(shoot: Shoot, station: str = "") -> UndoneOverride | None:
    """Takes back the newest decision by hand made at this station, all of it; None where there is none left.

    Called again it goes further back. An earlier decision that it had replaced counts again.
    """
    with shoot.writing() as session:
        last = _last(session, station)
        if last is None:
            return None
        same_decision = select(EventRow.id, EventRow.frame_id).where(
            col(EventRow.at) == last.at, col(EventRow.kind) == last.kind, col(EventRow.station) == station
        )
        rows = session.exec(same_decision.order_by(col(EventRow.id))).all()
        frames = tuple(frame for _, frame in rows if frame is not None)
        person = session.get_one(Person, last.person_id).name if last.person_id is not None else ""
        undone = UndoneOverride(EventKind(last.kind), last.at, frames, person)
        add_event(
            session, EventKind.UNDONE, shoot.now(), station=station, undoes=[event for event, _ in rows]
        )
    return undone


def _last(session: Session, station: str) -> EventRow | None:
    """The newest event of a decision made at a station that still counts."""
    gone = {event for undo in read_events(session, (EventKind.UNDONE,)) for event in undo.details["undoes"]}
    here = select(EventRow).where(
        col(EventRow.station) == station, col(EventRow.kind).in_([kind.value for kind in OVERRIDE_KINDS])
    )
    before: int | None = None
    while True:
        older = here if before is None else here.where(col(EventRow.id) < before)
        rows = session.exec(older.order_by(col(EventRow.id).desc()).limit(_EVENTS_PER_QUERY)).all()
        for row in rows:
            if row.id not in gone:
                return row
        if not rows:
            return None
        before = rows[-1].id
