"""What is said of frames that have just landed."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import col, select

from onsite.slate.code import parse
from onsite.store.shoot import Shoot
from onsite.store.tables import Camera, Frame, Reading


@dataclass(frozen=True, slots=True)
class LandedFrame:
    """A frame in the words of a list: `taken` is the camera's own time. `slate` says of each slate in it what
    it reads; symbols that are no slates are left out."""

    id: int
    camera: str
    name: str
    taken: datetime | None
    counter: int | None
    slate: str
    trouble: str

    @property
    def is_slate(self) -> bool:
        return bool(self.slate)


def landed(shoot: Shoot, frame_ids: Collection[int]) -> list[LandedFrame]:
    """These frames, in the order in which they came."""
    with shoot.reading() as session:
        rows = session.exec(
            select(Frame, Camera.label)
            .where(Frame.camera_id == Camera.id, col(Frame.id).in_(frame_ids))
            .order_by(col(Frame.id))
        ).all()
        slates: dict[int, list[str]] = {}
        for frame_id, text in session.exec(
            select(Reading.frame_id, Reading.text)
            .where(col(Reading.frame_id).in_(frame_ids))
            .order_by(col(Reading.id))
        ):
            slates.setdefault(frame_id, []).append(_slate(text, shoot.mark))
    return [
        LandedFrame(
            frame.id or 0,
            label,
            frame.name,
            frame.taken,
            frame.counter,
            ", ".join(filter(None, slates.get(frame.id or 0, []))),
            frame.trouble,
        )
        for frame, label in rows
    ]


def _slate(text: str | None, mark: str) -> str:
    if text is None:
        return "slate that does not read"
    code = parse(text)
    if code is None:
        return ""
    return f"slate {code.spaced}" if code.shoot == mark else f"slate {code.spaced} of another shoot"
