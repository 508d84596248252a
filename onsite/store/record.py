"""The record of what happened: adding to it, and reading it with what was undone left out."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime
from enum import StrEnum
from typing import Any

from sqlalchemy import event as orm_event
from sqlmodel import Session, col, func, select

from onsite.store.tables import Event


class Kind(StrEnum):
    """What can happen."""

    LISTED = "listed"
    """On the client's list for the first time, or back on it."""
    CHANGED = "changed"
    """Fields of a person changed; details: {field: [old, new]}."""
    CONFIRMED = "confirmed"
    """The person, or who came with them, said that the name is spelt right; details: {"name": text}."""
    WITHDRAWN = "withdrawn"
    """No longer on the client's list."""
    ARRIVED = "arrived"
    """details: {"sequence": number}."""
    CARD_TIED = "card tied"
    """A deck card is this person's from then on."""
    SLATE_SHOWN = "slate shown"
    INGESTED = "ingested"
    """details: {"frames": count, "files": count, "from": folder}."""
    GIVEN = "given"
    """By hand: this frame is this person's."""
    SET_ASIDE = "set aside"
    """By hand: kept, never delivered."""
    FREED = "freed"
    """The decision by hand on this frame was taken back."""
    SPLIT = "split"
    """By hand: from this frame on it is another run."""
    JOINED = "joined"
    """By hand: this frame's run and that of another frame are one; details: {"to": frame id}."""
    PROOFED = "proofed"
    """Proofs were made for this person; details: {"frames": [ids], "page": file name, or empty for none}."""
    PICKED = "picked"
    """From then on these are the person's picks; details: {"frames": [ids], "notes": {frame id: text},
    "note": text for the retoucher, "from": where they came from}. No frames: the picks were taken back."""
    BATCH = "batch"
    """A batch went out to be retouched; details: {"batch": name, "hand": who works on it, "folder": text,
    "due": ISO 8601 date or empty, "price": decimal number or empty, "currency": ISO 4217}."""
    SENT = "sent to retouch"
    """This person's frame went out; details: {"batch": name, "file": name in it, "version": 1 and on}."""
    RECEIVED = "received"
    """The retouched file of this frame was accepted; details: {"batch": name, "version": number, "file": path
    in the shoot's folder, "sha256": hex}, and "reason": text where somebody accepted it by hand."""
    SENT_BACK = "sent back"
    """Retouching of this frame is to be done again; details: {"batch": name, "version": number, "reason":
    text}."""
    DELIVERED = "delivered"
    """The finished file of this frame was handed over; details: {"delivery": number, "set": name, "file":
    name, "sha256": hex, "source": SHA-256 of the file it was made from}."""
    REMINDED = "reminded"
    """A reminder was written for this person; details: {"of": what they were reminded of}."""
    INVITED = "told of proofs"
    """A mail was written that says that this person's proofs are ready."""
    UNDONE = "undone"
    """details: {"undoes": [event ids]}. Those no longer count; they stay in the record. With "removed": true
    the person, a walk-in, is not in the shoot any more."""


REMOVED = "removed"
"""In an undo's details: the person is not in the shoot any more."""

AFTERWARDS = frozenset(
    (
        Kind.PROOFED,
        Kind.PICKED,
        Kind.BATCH,
        Kind.SENT,
        Kind.RECEIVED,
        Kind.SENT_BACK,
        Kind.DELIVERED,
        Kind.REMINDED,
        Kind.INVITED,
    )
)
"""What happens after the shoot. None of it names a frame."""


@dataclass(frozen=True, slots=True)
class Happening:
    """One event, out of the database's hands. `at` is when it happened, aware."""

    id: int
    at: datetime
    kind: Kind
    station: str = ""
    person_id: int | None = None
    frame_id: int | None = None
    card_id: int | None = None
    details: dict[str, Any] = field(default_factory=dict)


def add(
    session: Session,
    kind: Kind,
    at: datetime,
    *,
    station: str = "",
    person_id: int | None = None,
    frame_id: int | None = None,
    card_id: int | None = None,
    **details: Any,
) -> Event:
    """Adds one event to the record. It is there once the session's transaction is."""
    row = Event(
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


def happened(
    session: Session, kinds: Iterable[Kind] = (), *, person_id: int | None = None, undone_too: bool = False
) -> list[Happening]:
    """Events in the order in which they happened, or were recorded, without the undone ones."""
    kinds = set(kinds)
    wanted = select(
        Event.id,
        Event.at,
        Event.kind,
        Event.station,
        Event.person_id,
        Event.frame_id,
        Event.card_id,
        Event.details,
    ).order_by(col(Event.at), col(Event.id))  # type: ignore[call-overload]
    if kinds:
        wanted = wanted.where(col(Event.kind).in_([kind.value for kind in kinds | {Kind.UNDONE}]))
    if person_id is not None:
        theirs = col(Event.person_id) == person_id
        wanted = wanted.where(theirs | (col(Event.kind) == Kind.UNDONE.value))
    rows = [
        Happening(
            row.id, row.at, Kind(row.kind), row.station, row.person_id, row.frame_id, row.card_id, row.details
        )
        for row in session.exec(wanted)
    ]
    undone: set[int] = set()
    for row in sorted(rows, key=lambda row: row.id, reverse=True):
        if row.kind is Kind.UNDONE and row.id not in undone:  # an undo that was itself undone does not count
            undone.update(row.details["undoes"])
    return [
        row
        for row in rows
        if (undone_too or row.id not in undone)
        and (not kinds or row.kind in kinds)
        and (person_id is None or row.person_id == person_id)
    ]


def newest_event(session: Session) -> int:
    """The id of the last event, 0 when nothing has happened. It rises with every change to a shoot."""
    return session.exec(select(func.max(Event.id))).one() or 0


def _refuse_change(_mapper: object, _connection: object, target: Event) -> None:
    raise RuntimeError(f"the record only grows; event {target.id} stays as it is")


orm_event.listen(Event, "before_update", _refuse_change)
orm_event.listen(Event, "before_delete", _refuse_change)


def by_person(events: Iterable[Happening]) -> Iterator[tuple[int, list[Happening]]]:
    """The events of each person, in the order given."""
    people: dict[int, list[Happening]] = {}
    for happening in events:
        if happening.person_id is not None:
            people.setdefault(happening.person_id, []).append(happening)
    return iter(people.items())
