"""After the shoot: what became of each person's pictures, from the record."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, cast

from sqlmodel import Session, col, select

from onsite.checkin.taken_back import taken_back
from onsite.store.record import Happening, Kind
from onsite.store.tables import Event

AFTER = (
    Kind.PROOFED,
    Kind.PICKED,
    Kind.SENT,
    Kind.RECEIVED,
    Kind.SENT_BACK,
    Kind.DELIVERED,
    Kind.REMINDED,
    Kind.INVITED,
)
"""What happens to a person's pictures after the shoot."""


@dataclass(frozen=True, slots=True)
class Picked:
    """One frame of somebody's choice and how far it is. Moments are None where it has not come to that.

    `batch` and `version` are those in which it went out last; `file` is the accepted retouched file, a path
    in the shoot's folder, and `sha256` its content; `reason` is why it was last sent back.
    """

    frame: int
    note: str = ""
    batch: str = ""
    version: int = 0
    sent: datetime | None = None
    received: datetime | None = None
    file: str = ""
    sha256: str = ""
    sent_back: datetime | None = None
    reason: str = ""
    delivered: datetime | None = None

    @property
    def at_retouch(self) -> bool:
        """Out, and not back accepted."""
        return self.sent is not None and self.received is None


@dataclass(frozen=True, slots=True)
class After:
    """Where one person stands after the shoot. `note` is their word to the retoucher about all pictures."""

    proofed: datetime | None = None
    page: str = ""
    picked: datetime | None = None
    picks: tuple[Picked, ...] = ()
    note: str = ""
    reminded: datetime | None = None
    invited: datetime | None = None
    """When a mail was last written that their proofs are ready."""
    delivered: datetime | None = None
    """When a finished file of theirs was last handed over, also of a frame that is not among the picks."""


NOTHING_YET = After()


@dataclass(slots=True)
class _Frame:
    """What happened to one frame of one person."""

    sent: Happening | None = None
    received: Happening | None = None
    sent_back: Happening | None = None
    delivered: Happening | None = None

    def take(self, event: Happening) -> None:
        if event.kind is Kind.SENT:
            self.sent, self.received = event, None
        elif event.kind is Kind.RECEIVED:
            self.received = event
        elif event.kind is Kind.SENT_BACK:
            self.sent_back, self.received = event, None
        elif event.kind is Kind.DELIVERED:
            self.delivered = event


@dataclass(slots=True)
class _Person:
    proofed: Happening | None = None
    picked: Happening | None = None
    reminded: Happening | None = None
    invited: Happening | None = None
    frames: dict[int, _Frame] = field(default_factory=lambda: defaultdict(_Frame))


def after_of(events: Iterable[Happening]) -> dict[int, After]:
    """Person id -> how far their pictures are; events in the order in which they happened, undone ones left
    out. People to whom nothing of it happened are not there."""
    people: dict[int, _Person] = defaultdict(_Person)
    for event in events:
        if event.person_id is None:
            continue
        theirs = people[event.person_id]
        if event.kind is Kind.PROOFED:
            theirs.proofed = event
        elif event.kind is Kind.PICKED:
            theirs.picked = event
        elif event.kind is Kind.REMINDED:
            theirs.reminded = event
        elif event.kind is Kind.INVITED:
            theirs.invited = event
        elif event.frame_id is not None:
            theirs.frames[event.frame_id].take(event)
    return {person: _after(theirs) for person, theirs in people.items()}


def _after(theirs: _Person) -> After:
    picked = theirs.picked.details if theirs.picked else {}
    notes = picked.get("notes", {})
    return After(
        proofed=theirs.proofed.at if theirs.proofed else None,
        page=theirs.proofed.details.get("page", "") if theirs.proofed else "",
        picked=theirs.picked.at if theirs.picked and picked["frames"] else None,
        picks=tuple(
            _picked(frame, notes.get(str(frame), ""), theirs.frames[frame])
            for frame in picked.get("frames", ())
        ),
        note=picked.get("note", ""),
        reminded=theirs.reminded.at if theirs.reminded else None,
        invited=theirs.invited.at if theirs.invited else None,
        delivered=max((its.delivered.at for its in theirs.frames.values() if its.delivered), default=None),
    )


def _picked(frame: int, note: str, its: _Frame) -> Picked:
    sent = its.sent.details if its.sent else {}
    received = its.received.details if its.received else {}
    return Picked(
        frame,
        note,
        batch=sent.get("batch", ""),
        version=sent.get("version", 0),
        sent=its.sent.at if its.sent else None,
        received=its.received.at if its.received else None,
        file=received.get("file", ""),
        sha256=received.get("sha256", ""),
        sent_back=its.sent_back.at if its.sent_back else None,
        reason=its.sent_back.details.get("reason", "") if its.sent_back else "",
        delivered=its.delivered.at if its.delivered else None,
    )


def read_after(
    session: Session, ids: Collection[int] | None = None, undone: Collection[int] | None = None
) -> dict[int, After]:
    """The same, out of the store; of `ids`, few enough for one query, only those. `undone` are the ids of the
    events that no longer count, where they are known already."""
    wanted: Any = (
        select(Event.id, Event.at, Event.kind, Event.person_id, Event.frame_id, Event.details)  # type: ignore[call-overload]
        .where(col(Event.kind).in_([kind.value for kind in AFTER]))
        .order_by(col(Event.at), col(Event.id))
    )
    if ids is not None:
        wanted = wanted.where(col(Event.person_id).in_(ids))
    gone = taken_back(session) if undone is None else undone
    return after_of(
        Happening(event_id, at, Kind(kind), person_id=person, frame_id=frame, details=details)
        for event_id, at, kind, person, frame, details in cast(Any, session.exec(wanted))
        if event_id not in gone
    )


def picked_by(session: Session, frames: Collection[int]) -> list[tuple[int, Picked]]:
    """Who has picked any of these frames: (person's id, pick), in the order of people."""
    return [
        (person, pick)
        for person, after in sorted(read_after(session).items())
        for pick in after.picks
        if pick.frame in frames
    ]
