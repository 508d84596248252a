"""References to frames, parsed and formatted: id (f12), file name, path, counters (A:1043-1051)."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from sqlmodel import Session, select

from onsite.core.errors import Problem
from onsite.store.schema import Camera, File, FilePlace, Frame
from onsite.store.shoot import Shoot

_ID = re.compile(r"f(\d+)", re.IGNORECASE)
_COUNTERS = re.compile(r"([^:]+):(\d+)(?:-(\d+))?")
_HOW = "Use a frame's id (f12), a file name, or counters such as A:1043-1051."

_COUNTERS_ROUND = 10_000  # from 9999 on to 0001
_WIDEST = 1_000


def frame_id_text(frame_id: int) -> str:
    """Return a frame's id as in JSON and exports: `f12`. People read `frame_labels`."""
    return f"f{frame_id}"


def find_frames(session: Session, texts: Sequence[str]) -> list[int]:
    """Return the ids of the frames that `texts` refer to, in order, without repeats.

    Raises Problem where a text matches no frame, or where a file name or counter is ambiguous.
    """
    chosen: dict[int, None] = {}
    for text in texts:
        for frame in _find_text(session, text.strip()):
            chosen[frame] = None
    if not chosen:
        raise Problem("No frame was named.", _HOW)
    return list(chosen)


def find_frame(shoot: Shoot, text: str) -> int:
    """Return the id of the single frame that `text` refers to. Raises Problem for none or several."""
    with shoot.reading() as session:
        chosen = find_frames(session, [text])
    if len(chosen) != 1:
        raise Problem(f"{text} is {len(chosen)} frames.", "Name one of them.")
    return chosen[0]


def _find_text(session: Session, text: str) -> list[int]:
    """Return the frames that a reference matches: id first, then file name, path, counters."""
    if match := _ID.fullmatch(text):
        frame = session.get(Frame, int(match[1]))
        if frame is not None:
            return [frame.id]
    by_name = session.exec(select(File.frame_id).where(File.name == text).distinct()).all()
    by_name = by_name or session.exec(select(Frame.id).where(Frame.name == text)).all()
    if len(by_name) > 1:
        labels = frame_labels(session)
        these = ", ".join(labels[frame] for frame in by_name[:8])
        raise Problem(f"{text!r} is the name of {len(by_name)} frames: {these}.", "Name one of these.")
    if by_name:
        return list(by_name)
    if "/" in text and (by_path := _by_path(session, text)):
        return by_path
    if match := _COUNTERS.fullmatch(text):
        return _by_counter(session, text, match[1], int(match[2]), int(match[3] or match[2]))
    raise Problem(f"No frame is called {text!r}.", _HOW)


def _by_path(session: Session, text: str) -> list[int]:
    """Return the frame of a file whose path ends with `text`. Raises Problem for several frames."""
    ends = "/" + text.strip("/")
    rows = session.exec(
        select(File.frame_id)
        .where(FilePlace.file_id == File.id, FilePlace.is_copy.is_(False))
        .where(FilePlace.path.endswith(str(Path(ends)), autoescape=True))
        .distinct()
    ).all()
    if len(rows) > 1:
        labels = frame_labels(session)
        these = ", ".join(labels[frame] for frame in rows[:8])
        raise Problem(f"{text!r} is the path of {len(rows)} frames: {these}.", "Name one of these.")
    return list(rows)


def is_range(text: str) -> bool:
    """Whether `text` is a range of counters, such as A:1043-1051."""
    match = _COUNTERS.fullmatch(text.strip())
    return match is not None and match[3] is not None


def _by_counter(session: Session, text: str, label: str, first: int, last: int) -> list[int]:
    """Return the frames of a camera with these counters, over the roll-over. Raises Problem where unclear."""
    if (last - first) % _COUNTERS_ROUND > _WIDEST:
        raise Problem(
            f"{text} spans more than {_WIDEST:,} counters.", "Name the range in parts, first counter first."
        )
    camera = session.exec(select(Camera).where(Camera.label == label)).first()
    if camera is None:
        labels = ", ".join(sorted(session.exec(select(Camera.label))))
        raise Problem(f"There is no camera {label!r}.", f"Cameras here: {labels or 'none yet'}.")
    inside = (
        (Frame.counter >= first) & (Frame.counter <= last)
        if first <= last
        else (Frame.counter >= first) | (Frame.counter <= last)  # over the roll-over
    )
    rows = session.exec(
        select(Frame.id, Frame.counter).where(Frame.camera_id == camera.id, inside).order_by(Frame.counter)
    ).all()
    counters = [counter for _, counter in rows]
    double = next((counter for counter in counters if counters.count(counter) > 1), None)
    if double is not None:
        labels_all = frame_labels(session)
        these = ", ".join(labels_all[frame] for frame, counter in rows if counter == double and frame)
        raise Problem(
            f"{text}: counter {double} was used by several frames of camera {label}: {these}.",
            "Name them so.",
        )
    if not rows:
        raise Problem(
            f"{text}: camera {label} has no such frames.", "See them with: onsite frames export FILE.csv"
        )
    missing = next((counter for counter in (first, last) if counter not in counters), None)
    if missing is not None:
        raise Problem(
            f"{text}: camera {label} has no frame {missing:04}.", "Name a range from one frame to another."
        )
    ordered = sorted(rows, key=lambda row: ((row[1] or 0) < first, row[1] or 0))
    return [frame for frame, _ in ordered]


def frame_labels(session: Session) -> dict[int, str]:
    """Return the label of each frame of the shoot, by id (see `format_frame_labels`)."""
    return format_frame_labels(
        session.exec(
            select(Frame.id, Camera.label, Frame.counter, Frame.name).where(Frame.camera_id == Camera.id)
        )
    )


def format_frame_labels(frames: Iterable[tuple[int, str, int | None, str]]) -> dict[int, str]:
    """Return a unique label for each frame, by id: camera and counter, such as A:1043, where that is unique.

    Else the file name without ending where that is unique, else the id, f12. `find_frames` accepts all of
    them. `frames` are all frames of the shoot: id, label of the camera, counter, name.
    """
    rows = list(frames)
    counted = {frame: f"{camera}:{counter:04}" for frame, camera, counter, _ in rows if counter is not None}
    names = {frame: name for frame, _, _, name in rows}
    once, once_named = _unique_labels(counted), _unique_labels(names)
    return {frame: once.get(frame) or once_named.get(frame) or f"f{frame}" for frame in names}


def _unique_labels(labels: Mapping[int, str]) -> dict[int, str]:
    """Return only the labels that occur once."""
    count = Counter(labels.values())
    return {frame: label for frame, label in labels.items() if count[label] == 1}
