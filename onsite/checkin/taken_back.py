"""What no longer counts of the record."""

from __future__ import annotations

from sqlmodel import Session

from onsite.store.record import EventKind, read_events


def undone_event_ids(session: Session) -> frozenset[int]:
    """The ids of the events that were undone. An undo that was itself undone undoes nothing."""
    undos = read_events(session, (EventKind.UNDONE,))
    return frozenset(event_id for undo in undos for event_id in undo.details["undoes"])
