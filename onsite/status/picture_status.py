"""Status of each person's pictures after the shoot, from the record."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
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

    @property
    def goes_out_again(self) -> bool:
        """Whether it was sent back to be retouched again, and has not gone out since."""
        return self.sent is not None and self.sent_back is not None and self.sent_back > self.sent


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


def already_out_text(pictures: PictureStatus) -> str:
    """What is out of a person's pictures, where a name or consent has changed since; empty for nothing."""
    out = ["a proof page"] * bool(pictures.page) + ["delivered pictures"] * (pictures.delivered is not None)
    return f"Out already, as it was: {' and '.join(out)}. Make it again, and tell the client." if out else ""


_OF_PERSON = (EventKind.PROOFED, EventKind.PICKED, EventKind.REMINDED, EventKind.INVITED)
_Last = dict[EventKind, Event]
"""The last event of each kind, of a person or of one of their frames."""


def picture_statuses(events: Iterable[Event]) -> dict[int, PictureStatus]:
    """Picture status by person id, from events in the order in which they were recorded, without undone
    events. People without such events are left out."""
    people: dict[int, tuple[_Last, dict[int, _Last]]] = defaultdict(lambda: ({}, defaultdict(dict)))
    for event in events:
        if event.person_id is None:
            continue
        own, frames = people[event.person_id]
        if event.kind in _OF_PERSON:
            own[event.kind] = event
        elif event.frame_id is not None:
            frames[event.frame_id][event.kind] = event
            if event.kind in (EventKind.SENT, EventKind.SENT_BACK):  # it is awaited, again
                frames[event.frame_id].pop(EventKind.RECEIVED, None)
    return {person: _picture_status(own, frames) for person, (own, frames) in people.items()}


def _picture_status(own: _Last, frames: Mapping[int, _Last]) -> PictureStatus:
    picked = own[EventKind.PICKED].details if EventKind.PICKED in own else {}
    notes = picked.get("notes", {})
    delivered = (_at(last, EventKind.DELIVERED) for last in frames.values())
    return PictureStatus(
        proofed=_at(own, EventKind.PROOFED),
        page=own[EventKind.PROOFED].details.get("page", "") if EventKind.PROOFED in own else "",
        picked=_at(own, EventKind.PICKED) if picked.get("frames") else None,
        picks=tuple(_pick(f, notes.get(str(f), ""), frames.get(f, {})) for f in picked.get("frames", ())),
        note=picked.get("note", ""),
        reminded=_at(own, EventKind.REMINDED),
        invited=_at(own, EventKind.INVITED),
        delivered=max(filter(None, delivered), default=None),
    )


def _pick(frame: int, note: str, last: _Last) -> Pick:
    sent, received, sent_back = (
        last[kind].details if kind in last else {}
        for kind in (EventKind.SENT, EventKind.RECEIVED, EventKind.SENT_BACK)
    )
    return Pick(
        frame,
        note,
        batch=sent.get("batch", ""),
        version=sent.get("version", 0),
        sent=_at(last, EventKind.SENT),
        received=_at(last, EventKind.RECEIVED),
        file=received.get("file", ""),
        sha256=received.get("sha256", ""),
        sent_back=_at(last, EventKind.SENT_BACK),
        reason=sent_back.get("reason", ""),
        delivered=_at(last, EventKind.DELIVERED),
    )


def _at(last: _Last, kind: EventKind) -> datetime | None:
    return last[kind].at if kind in last else None


def read_picture_statuses(session: Session, ids: Collection[int] | None = None) -> dict[int, PictureStatus]:
    """The same from the store; for `ids` (few enough for one query), only those people."""
    where = () if ids is None else (EventRow.person_id.in_(ids),)
    return picture_statuses(read_events(session, PICTURE_KINDS, *where))


def delivered_before_a_no(session: Session, refused: Collection[int]) -> dict[int, tuple[str, ...]]:
    """Of these people, who must not be published: the files delivered before they took their consent back.

    Whoever has the files must be told. A file that was theirs alone, after a no, is not among them.
    """
    found: dict[int, tuple[str, ...]] = {}
    delivered: dict[int, list[str]] = defaultdict(list)
    for event in read_events(
        session, (EventKind.DELIVERED, EventKind.CHANGED), EventRow.person_id.in_(refused)
    ):
        if event.person_id is None:
            continue
        if event.kind is EventKind.DELIVERED:
            if file := event.details.get("file"):  # blanked where they were forgotten
                delivered[event.person_id].append(file)
        elif "consent" in event.details and delivered[event.person_id]:
            found[event.person_id] = tuple(dict.fromkeys(delivered[event.person_id]))
    return found


def picked_by(session: Session, frames: Collection[int]) -> list[tuple[int, Pick]]:
    """Picks of any of these frames: (person id, pick), in the order of people."""
    return [
        (person, pick)
        for person, after in sorted(read_picture_statuses(session).items())
        for pick in after.picks
        if pick.frame in frames
    ]
