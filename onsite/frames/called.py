"""What frames are called where people read of them: `A:1043`, camera and counter."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping

from sqlmodel import Session, select

from onsite.store.tables import Camera, Frame


def frame_labels(session: Session) -> dict[int, str]:
    """What each frame of the shoot is called (`format_frame_labels`)."""
    return format_frame_labels(
        session.exec(
            select(Frame.id, Camera.label, Frame.counter, Frame.name).where(Frame.camera_id == Camera.id)
        )
    )


def format_frame_labels(frames: Iterable[tuple[int | None, str, int | None, str]]) -> dict[int, str]:
    """What each frame is called: camera and counter, such as A:1043, where that is one frame only; else its
    file's name without ending where that is one frame only; else its id, f12. Each can be typed. `frames`
    are all of the shoot: id, label of the camera, counter, name."""
    rows = list(frames)
    counted = {frame: f"{camera}:{counter:04}" for frame, camera, counter, _ in rows if counter is not None}
    names = {frame: name for frame, _, _, name in rows}
    once, once_named = _unique_labels(counted), _unique_labels(names)
    return {
        frame: once.get(frame) or once_named.get(frame) or f"f{frame}" for frame in names if frame is not None
    }


def _unique_labels(labels: Mapping[int | None, str]) -> dict[int | None, str]:
    count = Counter(labels.values())
    return {frame: label for frame, label in labels.items() if count[label] == 1}
