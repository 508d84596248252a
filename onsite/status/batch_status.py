"""Batches at retouch: who has them, when they are due, and how much of each is back."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from sqlmodel import Session, func, select

from onsite.core.text import parse_amount
from onsite.store.events import Event, EventKind, read_events
from onsite.store.schema import EventRow

KINDS = (EventKind.BATCH, EventKind.SENT, EventKind.RECEIVED, EventKind.SENT_BACK)


@dataclass(frozen=True, slots=True)
class BatchFrame:
    """A frame in the last batch that it went out with."""

    frame: int
    person: int
    batch: str
    file: str = ""
    version: int = 1
    """The version that is awaited, or that came back."""
    received: datetime | None = None
    """When it was accepted."""
    sha256: str = ""
    """Content of the accepted file."""
    again: bool = False
    """Whether it was sent back and is awaited again."""
    reason: str = ""
    """Why it was last sent back."""
    refused: frozenset[str] = frozenset()
    """Contents that were sent back."""


@dataclass(frozen=True, slots=True)
class Batch:
    """A batch as sent."""

    name: str
    retoucher: str = ""
    folder: str = ""
    sent: datetime | None = None
    due: date | None = None
    """None without a due date."""
    price: Decimal | None = None
    """Price of the whole batch; None without a price."""
    currency: str = ""
    files: int = 0
    """Number of files that went out with it."""
    frames: tuple[BatchFrame, ...] = ()
    """Frames that did not go out again with a later batch."""

    @property
    def awaited(self) -> tuple[BatchFrame, ...]:
        """Frames that are not back."""
        return tuple(out for out in self.frames if out.received is None)

    @property
    def out(self) -> int:
        """Number of frames that are not back."""
        return len(self.awaited)

    @property
    def back(self) -> int:
        """Number of frames that are back."""
        return len(self.frames) - self.out

    @property
    def sent_back(self) -> int:
        """Number of frames that came back and are to be done again."""
        return sum(out.again for out in self.frames)

    def overdue(self, today: date) -> bool:
        """Whether any frame of it was due before today."""
        return self.out > 0 and self.due is not None and self.due < today


def batches_from_events(events: Iterable[Event]) -> list[Batch]:
    """Batches from events in the order in which they were recorded, in the order in which they went out."""
    batches: dict[str, Batch] = {}
    files: dict[str, set[int]] = defaultdict(set)
    frames: dict[int, BatchFrame] = {}
    for event in events:
        name, frame = str(event.details.get("batch", "")), event.frame_id
        batches.setdefault(name, Batch(name, sent=event.at))
        if event.kind is EventKind.BATCH:
            batches[name] = _apply_event(batches[name], event)
        elif event.kind is EventKind.SENT and frame is not None:
            files[name].add(frame)
            frames[frame] = _sent(frames.get(frame), event, name, frame)
        elif frame in frames:
            frames[frame] = _decided(frames[frame], event)
    held: dict[str, list[BatchFrame]] = defaultdict(list)
    for out in frames.values():
        held[out.batch].append(out)
    return [
        replace(batch, files=len(files[name]), frames=tuple(held[name])) for name, batch in batches.items()
    ]


def _apply_event(batch: Batch, event: Event) -> Batch:
    about = {name: str(value or "") for name, value in event.details.items()}
    return replace(
        batch,
        retoucher=about.get("hand", ""),
        folder=about.get("folder", ""),
        due=_date(about.get("due", "")),
        price=parse_amount(about.get("price", "")),
        currency=about.get("currency", ""),
    )


def _sent(before: BatchFrame | None, event: Event, batch: str, frame: int) -> BatchFrame:
    details = event.details
    return BatchFrame(
        frame,
        event.person_id or 0,
        batch,
        details.get("file", ""),
        details.get("version", 1),
        refused=before.refused if before else frozenset(),
    )


def _decided(out: BatchFrame, event: Event) -> BatchFrame:
    details = event.details
    if event.kind is EventKind.RECEIVED:
        return replace(out, received=event.at, sha256=details.get("sha256", ""), again=False)
    return replace(
        out,
        version=out.version + 1,
        received=None,
        sha256="",
        again=True,
        reason=details.get("reason", ""),
        refused=out.refused | ({out.sha256} if out.sha256 else set()),
    )


def read_batches(session: Session) -> list[Batch]:
    """The same from the store."""
    return batches_from_events(read_events(session, KINDS))


def frames_at_retouch(batches: Iterable[Batch]) -> dict[int, BatchFrame]:
    """Every frame that went out, by its id."""
    return {out.frame: out for batch in batches for out in batch.frames}


def next_name(session: Session) -> str:
    """A name that no batch ever had, one that was taken back included: its files may be out."""
    taken = {event.details["batch"] for event in read_events(session, (EventKind.BATCH,), undone_too=True)}
    return next(name for n in range(1, len(taken) + 2) if (name := f"batch-{n}") not in taken)


def newest_change(session: Session) -> int:
    """The id of the last event that may change a batch; 0 where there is none."""
    kinds = [kind.value for kind in (*KINDS, EventKind.UNDONE)]
    return session.exec(select(func.max(EventRow.id)).where(EventRow.kind.in_(kinds))).one() or 0


def most_urgent_first(batches: Iterable[Batch], today: date) -> list[Batch]:
    """Batches by urgency: overdue, then out by due date, then all back; the last sent first."""

    def urgency(batch: Batch) -> tuple[bool, bool, date, float]:
        sent = batch.sent.timestamp() if batch.sent else 0.0
        due = (batch.due or date.max) if batch.out else date.max
        return not batch.overdue(today), not batch.out, due, -sent

    return sorted(batches, key=urgency)


def batch_text(batch: Batch, today: date) -> str:
    """A batch in one line: "batch B1, in house: 2 of 4 back, due 2026-06-18, overdue"."""
    parts = [f"{batch.back} of {batch.files} back"]
    if batch.sent_back:
        parts.append(f"{batch.sent_back} to be done again")
    if batch.due is not None:
        parts.append(f"due {batch.due}")
    if batch.overdue(today):
        parts.append("overdue")
    return f"batch {batch.name}{', ' + batch.retoucher if batch.retoucher else ''}: {', '.join(parts)}"


def batch_data(batch: Batch, today: date) -> dict[str, Any]:
    """A batch for JSON; null where it has no due date."""
    return {
        "batch": batch.name,
        "hand": batch.retoucher,
        "due": batch.due.isoformat() if batch.due else None,
        "overdue": batch.overdue(today),
        "files": batch.files,
        "back": batch.back,
        "out": batch.out,
        "again": batch.sent_back,
    }


def _date(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None
