"""What frames are called where people read of them: `A:1043 (f12)`, by the counter and by the id."""

from __future__ import annotations

from sqlmodel import Session, select

from onsite.store.tables import Camera, Frame


class Called:
    """What each frame is called; its id alone, `f12`, where it has no counter."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def __call__(self, frame: int) -> str:
        row = self._session.get(Frame, frame)
        if row is None or row.counter is None:
            return f"f{frame}"
        return _called(self._session.get_one(Camera, row.camera_id).label, row.counter, frame)


def all_called(session: Session) -> dict[int, str]:
    """The same of every frame, in one query."""
    rows = session.exec(select(Frame.id, Frame.counter, Camera.label).where(Frame.camera_id == Camera.id))
    return {
        frame: f"f{frame}" if counter is None else _called(label, counter, frame)
        for frame, counter, label in rows
        if frame is not None
    }


def _called(label: str, counter: int, frame: int) -> str:
    return f"{label}:{counter:04} (f{frame})"
