"""Somebody's frames, in the order in which they were taken."""

from __future__ import annotations

from dataclasses import dataclass

from sqlmodel import Session, col, select

from onsite.matching.evidence import FrameKind
from onsite.roster.entry import shown
from onsite.store.tables import Camera, Frame, Verdict

_LONGEST = 60


@dataclass(frozen=True, slots=True)
class Theirs:
    """A frame under somebody's name, and what it is called: `A:1043`, or its file's name."""

    frame: int
    name: str


def frames_of_person(session: Session, person_id: int) -> list[Theirs]:
    """The frames under this person's name, as last matched."""
    rows = session.exec(
        select(Frame.id, Camera.label, Frame.counter, Frame.name)
        .join(Camera, col(Camera.id) == col(Frame.camera_id))
        .join(Verdict, col(Verdict.frame_id) == col(Frame.id))
        .where(Verdict.person_id == person_id, Verdict.kind == FrameKind.NAMED.value)
        .order_by(col(Frame.taken), col(Frame.counter), col(Frame.id))
    )
    return [
        Theirs(frame, shown(name if counter is None else f"{label}:{counter:04}", _LONGEST))
        for frame, label, counter, name in rows
        if frame is not None
    ]
