"""The event log: appending events, and reading them without the undone ones."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from enum import StrEnum
from typing import Any

from sqlalchemy import ColumnElement, func, select, update
from sqlalchemy import event as orm_event
from sqlmodel import Session

from onsite.store.schema import EventRow, UndoneEvent


class EventKind(StrEnum):
    """Every kind of event. The decisions on frames (GIVEN to JOINED) are overrides of the match."""

    LISTED = "listed"
    """The person appears on the client's list for the first time, or again."""
    CHANGED = "changed"
    """Fields of a person changed; details: {field: [old, new]}."""
    CONFIRMED = "confirmed"
    """The person, or whoever came with them, confirmed the spelling; details: {"name": text}."""
    WITHDRAWN = "withdrawn"
    """The person is no longer on the client's list."""
    ARRIVED = "arrived"
    """The person checked in; details: {"sequence": number}."""
    CARD_TIED = "card tied"
    """From then on the deck card is assigned to this person."""
    SLATE_SHOWN = "slate shown"
    INGESTED = "ingested"
    """details: {"frames": count, "files": count, "from": folder}."""
    GIVEN = "given"
    """Override: this frame belongs to this person."""
    SET_ASIDE = "set aside"
    """Override: the frame is kept and never delivered."""
    FREED = "freed"
    """The override of this frame was cleared."""
    SPLIT = "split"
    """Override: a new run begins at this frame."""
    JOINED = "joined"
    """Override: this frame's run is joined with that of another frame; details: {"to": frame id}."""
    PROOFED = "proofed"
    """Proofs were made for this person; details: {"frames": [ids], "page": file name, or empty for none}."""
    PICKED = "picked"
    """From then on these are the person's picks. No frames: the picks were taken back.

    details: {"frames": [ids], "notes": {frame id: text}, "note": text for the retoucher, "from": source}.
    """
    BATCH = "batch"
    """A batch went out to be retouched.

    details: {"batch": name, "hand": retoucher, "folder": text, "due": ISO 8601 date or empty, "price":
    decimal number or empty, "currency": ISO 4217}.
    """
    SENT = "sent to retouch"
    """This person's frame went out; details: {"batch": name, "file": name in it, "version": from 1}."""
    RECEIVED = "received"
    """The retouched file of this frame was accepted.

    details: {"batch": name, "version": number, "file": path in the shoot's folder, "sha256": hex}, and
    "reason": text if a person accepted it, giving a reason.
    """
    SENT_BACK = "sent back"
    """This frame is to be retouched again; details: {"batch": name, "version": number, "reason": text}."""
    DELIVERED = "delivered"
    """The finished file of this frame was delivered.

    details: {"delivery": number, "set": name, "file": name, "sha256": hex, "source": SHA-256 of the file it
    was made from}.
    """
    REMINDED = "reminded"
    """A reminder was written for this person; details: {"of": what they were reminded of}."""
    INVITED = "told of proofs"
    """A mail was written that says that this person's proofs are ready."""
    UNDONE = "undone"
    """Earlier events were undone: they no longer count but stay in the log; details: {"undoes": [event ids]}.

    With "removed": true the person, a walk-in, is no longer in the shoot. With "blanked": [event ids] it is
    anybody, whose data was removed, also from these events.
    """


REMOVED = "removed"
"""Key in an undo's details: the person, a walk-in, is no longer in the shoot."""

AFTERWARDS = frozenset(
    (
        EventKind.PROOFED,
        EventKind.PICKED,
        EventKind.BATCH,
        EventKind.SENT,
        EventKind.RECEIVED,
        EventKind.SENT_BACK,
        EventKind.DELIVERED,
        EventKind.REMINDED,
        EventKind.INVITED,
    )
)
"""What happens after the shoot. None of these events assigns a frame to a person."""


@dataclass(frozen=True, slots=True)
class Event:
    """One event, detached from the database session. `at` is when it happened, aware."""

    id: int
    at: datetime
    kind: EventKind
    station: str = ""
    person_id: int | None = None
    frame_id: int | None = None
    card_id: int | None = None
    details: dict[str, Any] = field(default_factory=dict)
    is_undone: bool = False
    """Whether it no longer counts."""


def add_event(
    session: Session,
    kind: EventKind,
    at: datetime,
    *,
    station: str = "",
    person_id: int | None = None,
    frame_id: int | None = None,
    card_id: int | None = None,
    **details: Any,
) -> EventRow:
    """Appends an event to the log; it is stored when the session's transaction commits."""
    row = EventRow(
        at=at,
        recorded=datetime.now(UTC),
        station=station,
        kind=kind.value,
        person_id=person_id,
        frame_id=frame_id,
        card_id=card_id,
        details=details,
    )
    session.add(row)
    return row


IS_UNDONE = EventRow.id.in_(select(UndoneEvent.event_id))
"""Condition on `EventRow`: the event was undone and no longer counts (`event_projections` folds which)."""


def read_events(
    session: Session,
    kinds: Iterable[EventKind] = (),
    *where: ColumnElement[bool],
    person_id: int | None = None,
    undone_too: bool = False,
) -> list[Event]:
    """Events in the order in which they were recorded, without undone ones.

    That is the order of decisions also where the machine's clock was set back: what was recorded last counts.
    `where` are conditions on `EventRow`. `undone_too` includes undone events.
    """
    wanted = select(
        EventRow.id,
        EventRow.at,
        EventRow.kind,
        EventRow.station,
        EventRow.person_id,
        EventRow.frame_id,
        EventRow.card_id,
        EventRow.details,
        IS_UNDONE,
    ).order_by(EventRow.id)
    if names := [kind.value for kind in kinds]:
        where = (*where, EventRow.kind.in_(names))
    if person_id is not None:
        where = (*where, EventRow.person_id == person_id)
    if not undone_too:
        where = (*where, ~IS_UNDONE)
    rows = session.execute(wanted.where(*where))
    return [Event(event_id, at, EventKind(kind), *more) for event_id, at, kind, *more in rows]


BLANKED = "blanked"
"""Key in an undo's details: the ids of earlier events whose details were blanked with a person's data."""


def blanked_events(session: Session) -> frozenset[int]:
    """The events whose details were blanked on purpose."""
    undos = read_events(session, (EventKind.UNDONE,), undone_too=True)
    return frozenset(event for undo in undos for event in undo.details.get(BLANKED, ()))


def blank_details(session: Session, details: Mapping[int, dict[str, Any]]) -> None:
    """Replaces the details of events, by id: the only change that is ever made to the record. Whoever removes
    a person's data then adds the event that says so (`BLANKED`)."""
    for event, blank in details.items():
        session.execute(update(EventRow).where(EventRow.id == event).values(details=blank))


def newest_event_id(session: Session) -> int:
    """The id of the newest event, 0 if there is none. It rises with every change to a shoot."""
    return session.scalar(select(func.max(EventRow.id))) or 0


def _forbid_update(_mapper: object, _connection: object, target: EventRow) -> None:
    raise RuntimeError(f"the record only grows; event {target.id} stays as it is")


orm_event.listen(EventRow, "before_update", _forbid_update)
orm_event.listen(EventRow, "before_delete", _forbid_update)
