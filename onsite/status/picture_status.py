"""Status of each person's pictures after the shoot, from the record."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from datetime import datetime

from sqlmodel import Session

from onsite.store.events import Event, EventKind, read_events
from onsite.store.schema import EventRow

PICTURE_KINDS = (
    EventKind.PROOFED,
    EventKind.PICKED,
    EventKind.SENT,
    EventKind.RECEIVED,
    EventKind.SENT_BACK,
    EventKind.DELIVERED,
    EventKind.REMINDED,
    EventKind.INVITED,
)
"""Events about a person's pictures after the shoot."""


@dataclass(frozen=True, slots=True)
class Pick:
    """A frame that a person picked. Times are None for steps not reached."""

    frame: int
    note: str = ""
    batch: str = ""
    """The last batch that it went out with."""
    version: int = 0
    """Its version in that batch."""
    sent: datetime | None = None
    received: datetime | None = None
    file: str = ""
    """The accepted retouched file, as a path in the shoot's folder."""
    sha256: str = ""
    """Its content."""
    sent_back: datetime | None = None
    reason: str = ""
    """Why it was last sent back."""
    delivered: datetime | None = None

    @property
    def at_retouch(self) -> bool:
        """Whether it is out and not accepted back."""
        return self.sent is not None and self.received is None


@dataclass(frozen=True, slots=True)
class PictureStatus:
    """The status of one person's pictures."""

    proofed: datetime | None = None
    page: str = ""
    picked: datetime | None = None
    picks: tuple[Pick, ...] = ()
    note: str = ""
    """The person's note to the retoucher about all pictures."""
    reminded: datetime | None = None
    invited: datetime | None = None
    """When a mail was last written that their proofs are ready."""
    delivered: datetime | None = None
    """When a finished file was last handed over to them, also of a frame that is not among the picks."""


NO_PICTURES = PictureStatus()


@dataclass(slots=True)
class _Frame:
    """Events of one frame of one person."""

    sent: Event | None = None
    received: Event | None = None
    sent_back: Event | None = None
    delivered: Event | None = None

    def take(self, event: Event) -> None:
        """Apply the next event."""
        if event.kind is EventKind.SENT:
            self.sent, self.received = event, None
        elif event.kind is EventKind.RECEIVED:
            self.received = event
        elif event.kind is EventKind.SENT_BACK:
            self.sent_back, self.received = event, None
        elif event.kind is EventKind.DELIVERED:
            self.delivered = event


@dataclass(slots=True)
class _Person:
    proofed: Event | None = None
    picked: Event | None = None
    reminded: Event | None = None
    invited: Event | None = None
    frames: dict[int, _Frame] = field(default_factory=lambda: defaultdict(_Frame))


def picture_statuses(events: Iterable[Event]) -> dict[int, PictureStatus]:
    """Picture status by person id, from events in the order in which they happened, without undone events.
    People without such events are left out."""
    people: dict[int, _Person] = defaultdict(_Person)
    for event in events:
        if event.person_id is None:
            continue
        facts = people[event.person_id]
        if event.kind is EventKind.PROOFED:
            facts.proofed = event
        elif event.kind is EventKind.PICKED:
            facts.picked = event
        elif event.kind is EventKind.REMINDED:
            facts.reminded = event
        elif event.kind is EventKind.INVITED:
            facts.invited = event
        elif event.frame_id is not None:
            facts.frames[event.frame_id].take(event)
    return {person: _picture_status(facts) for person, facts in people.items()}


def _picture_status(facts: _Person) -> PictureStatus:
    picked = facts.picked.details if facts.picked else {}
    notes = picked.get("notes", {})
    return PictureStatus(
        proofed=facts.proofed.at if facts.proofed else None,
        page=facts.proofed.details.get("page", "") if facts.proofed else "",
        picked=facts.picked.at if facts.picked and picked["frames"] else None,
        picks=tuple(
            _picked(frame, notes.get(str(frame), ""), facts.frames[frame])
            for frame in picked.get("frames", ())
        ),
        note=picked.get("note", ""),
        reminded=facts.reminded.at if facts.reminded else None,
        invited=facts.invited.at if facts.invited else None,
        delivered=max(
            (facts.delivered.at for facts in facts.frames.values() if facts.delivered), default=None
        ),
    )


def _picked(frame: int, note: str, facts: _Frame) -> Pick:
    sent = facts.sent.details if facts.sent else {}
    received = facts.received.details if facts.received else {}
    return Pick(
        frame,
        note,
        batch=sent.get("batch", ""),
        version=sent.get("version", 0),
        sent=facts.sent.at if facts.sent else None,
        received=facts.received.at if facts.received else None,
        file=received.get("file", ""),
        sha256=received.get("sha256", ""),
        sent_back=facts.sent_back.at if facts.sent_back else None,
        reason=facts.sent_back.details.get("reason", "") if facts.sent_back else "",
        delivered=facts.delivered.at if facts.delivered else None,
    )


def read_picture_statuses(session: Session, ids: Collection[int] | None = None) -> dict[int, PictureStatus]:
    """The same from the store; for `ids` (few enough for one query), only those people."""
    where = () if ids is None else (EventRow.person_id.in_(ids),)
    return picture_statuses(read_events(session, PICTURE_KINDS, *where))


def picked_by(session: Session, frames: Collection[int]) -> list[tuple[int, Pick]]:
    """Picks of any of these frames: (person id, pick), in the order of people."""
    return [
        (person, pick)
        for person, after in sorted(read_picture_statuses(session).items())
        for pick in after.picks
        if pick.frame in frames
    ]
