"""The batches of a shoot and what is out, from the record."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import datetime

from sqlmodel import Session

from onsite.store.record import Happening, Kind, happened

KINDS = (Kind.BATCH, Kind.SENT, Kind.RECEIVED, Kind.SENT_BACK)


@dataclass(frozen=True, slots=True)
class Out:
    """One frame in the batch that it went out with last. `version` is the one that is awaited, or that came
    back; `received` is when it was accepted, `sha256` its content then; `refused` are the contents that were
    sent back; `reason` is why it was last sent back."""

    frame: int
    person: int
    batch: str
    file: str
    version: int
    received: datetime | None = None
    sha256: str = ""
    refused: frozenset[str] = frozenset()
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Batch:
    """A batch as it was sent. `due` is ISO 8601 or empty; `price` of all of it, a decimal number or empty.
    `frames` are those that did not go out again with a later batch."""

    name: str
    hand: str
    folder: str
    due: str
    price: str
    currency: str
    sent: datetime
    frames: tuple[Out, ...] = field(default=())

    @property
    def awaited(self) -> tuple[Out, ...]:
        """What is not back."""
        return tuple(out for out in self.frames if out.received is None)


def batches_of(events: Iterable[Happening]) -> dict[str, Batch]:
    """Batches by name, in the order in which they went out; events in the order in which they happened."""
    batches: dict[str, Batch] = {}
    frames: dict[tuple[int, int], Out] = {}
    for event in events:
        if event.kind is Kind.BATCH:
            said = {
                name: event.details.get(name, "") for name in ("hand", "folder", "due", "price", "currency")
            }
            name = event.details["batch"]
            batches[name] = Batch(name, **said, sent=event.at)
        elif event.frame_id is not None and event.person_id is not None:
            key = event.person_id, event.frame_id
            out = _after(frames.get(key), event)
            if out is not None:
                frames[key] = out
    for name, batch in batches.items():
        theirs = tuple(out for out in frames.values() if out.batch == name)
        batches[name] = replace(batch, frames=theirs)
    return batches


def _after(out: Out | None, event: Happening) -> Out | None:
    details = event.details
    if event.kind is Kind.SENT:
        refused = out.refused if out else frozenset()
        return Out(
            event.frame_id or 0,
            event.person_id or 0,
            details["batch"],
            details["file"],
            details["version"],
            refused=refused,
        )
    if out is None:
        return None
    if event.kind is Kind.RECEIVED:
        return replace(out, received=event.at, sha256=details["sha256"])
    if event.kind is Kind.SENT_BACK:
        refused = out.refused | ({out.sha256} if out.sha256 else set())
        return replace(
            out,
            version=out.version + 1,
            received=None,
            sha256="",
            refused=refused,
            reason=details.get("reason", ""),
        )
    return out


def read_batches(session: Session) -> dict[str, Batch]:
    """The same, out of the store."""
    return batches_of(happened(session, KINDS))


def next_name(batches: Iterable[str]) -> str:
    """A name that no batch has."""
    taken = set(batches)
    return next(name for n in range(1, len(taken) + 2) if (name := f"batch-{n}") not in taken)
