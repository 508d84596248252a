"""Batches at retouch: who has them, until when, and how much of them is back."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal, InvalidOperation
from typing import Any

from sqlmodel import Session, col, func, select

from onsite.store.record import Happening, Kind, happened
from onsite.store.tables import Event

KINDS = (Kind.BATCH, Kind.SENT, Kind.RECEIVED, Kind.SENT_BACK)


@dataclass(frozen=True, slots=True)
class Batch:
    """A batch. `files` went out with it; `back` of them were accepted and `out` are still to come, of which
    `again` were back and are to be done once more. What went out again with a later batch is out there.

    `price` is that of the whole batch. None where there is no due date or no price.
    """

    name: str
    hand: str = ""
    sent: datetime | None = None
    due: date | None = None
    price: Decimal | None = None
    currency: str = ""
    files: int = 0
    out: int = 0
    back: int = 0
    again: int = 0

    def overdue(self, today: date) -> bool:
        """Whether something of it should have been back before today."""
        return self.out > 0 and self.due is not None and self.due < today


@dataclass(slots=True)
class _Known:
    """What the record says of one batch."""

    first: datetime
    about: dict[str, str] = field(default_factory=dict)
    files: set[int] = field(default_factory=set)
    out: set[int] = field(default_factory=set)
    back: set[int] = field(default_factory=set)
    again: set[int] = field(default_factory=set)

    def forget(self, frame: int) -> None:
        for those in (self.out, self.back, self.again):
            those.discard(frame)


def batches_of(events: Iterable[Happening]) -> list[Batch]:
    """The batches from the record, in the order in which they went out."""
    known: dict[str, _Known] = {}
    holder: dict[int, _Known] = {}
    for event in events:
        batch = known.setdefault(str(event.details.get("batch", "")), _Known(event.at))
        frame = event.frame_id
        if event.kind is Kind.BATCH:
            batch.about = {name: str(value or "") for name, value in event.details.items()}
        elif frame is not None:
            if event.kind is Kind.SENT:
                if frame in holder and holder[frame] is not batch:
                    holder[frame].out.discard(frame)
                    holder[frame].again.discard(frame)
                batch.forget(frame)
                batch.files.add(frame)
                batch.out.add(frame)
                holder[frame] = batch
            elif event.kind is Kind.RECEIVED:
                batch.forget(frame)
                batch.back.add(frame)
            else:
                batch.forget(frame)
                batch.out.add(frame)
                batch.again.add(frame)
    return [_batch(name, batch) for name, batch in known.items()]


def read_batches(session: Session) -> list[Batch]:
    """The same, out of the store."""
    return batches_of(happened(session, KINDS))


def newest_change(session: Session) -> int:
    """The id of the last event that may change a batch, 0 when there is none."""
    kinds = [kind.value for kind in (*KINDS, Kind.UNDONE)]
    return session.exec(select(func.max(Event.id)).where(col(Event.kind).in_(kinds))).one() or 0


def most_urgent_first(batches: Iterable[Batch], today: date) -> list[Batch]:
    """Overdue ones first, then what is out by its due date, then what is all back, the last sent first."""

    def urgency(batch: Batch) -> tuple[bool, bool, date, float]:
        sent = batch.sent.timestamp() if batch.sent else 0.0
        due = (batch.due or date.max) if batch.out else date.max
        return not batch.overdue(today), not batch.out, due, -sent

    return sorted(batches, key=urgency)


def spoken_batch(batch: Batch, today: date) -> str:
    """A batch in one line: "batch B1, in house: 2 of 4 back, due 2026-06-18, overdue"."""
    parts = [f"{batch.back} of {batch.files} back"]
    if batch.again:
        parts.append(f"{batch.again} to be done again")
    if batch.due is not None:
        parts.append(f"due {batch.due}")
    if batch.overdue(today):
        parts.append("overdue")
    return f"batch {batch.name}{', ' + batch.hand if batch.hand else ''}: {', '.join(parts)}"


def batch_data(batch: Batch, today: date) -> dict[str, Any]:
    """A batch for JSON; null where it has no due date."""
    return {
        "batch": batch.name,
        "hand": batch.hand,
        "due": batch.due.isoformat() if batch.due else None,
        "overdue": batch.overdue(today),
        "files": batch.files,
        "back": batch.back,
        "out": batch.out,
        "again": batch.again,
    }


def _batch(name: str, batch: _Known) -> Batch:
    about = batch.about
    return Batch(
        name,
        hand=about.get("hand", ""),
        sent=batch.first,
        due=_date(about.get("due", "")),
        price=_number(about.get("price", "")),
        currency=about.get("currency", ""),
        files=len(batch.files),
        out=len(batch.out),
        back=len(batch.back),
        again=len(batch.again),
    )


def _date(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


def _number(text: str) -> Decimal | None:
    try:
        number = Decimal(text)
    except InvalidOperation:
        return None
    return number if number.is_finite() else None
