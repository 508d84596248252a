"""What no longer counts of the record."""

from __future__ import annotations

from sqlmodel import Session

from onsite.store.record import Kind, happened


def taken_back(session: Session) -> frozenset[int]:
    """The ids of the events that were undone. An undo that was itself undone undoes nothing."""
    undos = happened(session, (Kind.UNDONE,))
    return frozenset(event_id for undo in undos for event_id in undo.details["undoes"])
