"""The notes that go out with a batch, for whoever works on it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from onsite.words import format_iso_date

if TYPE_CHECKING:
    from onsite.retouch.due_out import BatchItem, BatchOrder, SentBatch


def notes_text(shoot: str, sent: SentBatch, order: BatchOrder) -> str:
    """What is asked for, and what was said about each picture."""
    head = f"{shoot}, {sent.batch}" if order.named or order.metadata else sent.batch  # it may name a place
    said = [head, f"Pictures: {len(sent.items)}", f"For: {order.retoucher}"]
    if order.due:
        said.append(f"Back by: {format_iso_date(order.due)}")
    if sent.price is not None:
        said.append(f"Price: {sent.price} {order.currency} ({order.price} each)")
    said += ["", "Please keep the names of the files; something may be added to them.", ""]
    for item in sent.items:
        said += [item.file, *(f"    {line}" for line in _about(item)), ""]
    return "\n".join(said)


def _about(item: BatchItem) -> list[str]:
    due = item.due
    lines = [f"version {due.version}: {due.reason}"] if due.reason else []
    lines += [line for text in (due.note, due.person_note) for line in text.splitlines() if line.strip()]
    return lines or ["no note"]
