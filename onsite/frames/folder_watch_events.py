"""What watching a folder tells: its events, and the frames that have just landed."""

from __future__ import annotations

import json
from collections.abc import Collection
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path

from sqlmodel import select

from onsite.core.codes import SlateKind, parse_slate_code, slate_kind
from onsite.slates.reader.seen_symbol import ReadBy
from onsite.slates.slate_verdict import SlateVerdict, how_read, slate_verdict
from onsite.store.schema import Camera, Frame, Meta, SymbolReading
from onsite.store.shoot import Shoot


@dataclass(frozen=True, slots=True)
class FramesLanded:
    """Files of these frames are now in the shoot: new frames, or another file of an existing frame."""

    frame_ids: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class FileIncomplete:
    """A file is still being written. Emitted once."""

    path: Path


@dataclass(frozen=True, slots=True)
class FileRefused:
    """A file is no frame, or cannot be read, in which case it is retried. Emitted once."""

    path: Path
    reason: str


@dataclass(frozen=True, slots=True)
class FrameTroubled:
    """A problem: a frame is in the shoot but could not be examined or copied, or a folder cannot be listed.

    Also where the shoot's database cannot be written; `path` is then the watched folder.
    """

    path: Path
    reason: str


@dataclass(frozen=True, slots=True)
class FolderGone:
    """The watched folder has disappeared. It is looked for every second."""

    folder: Path


@dataclass(frozen=True, slots=True)
class FolderBack:
    """The watched folder is there again."""

    folder: Path


@dataclass(frozen=True, slots=True)
class WatchReady:
    """The files that were in the folder at the start, or when it came back, have been ingested."""


WatchEvent = (
    FramesLanded | FileIncomplete | FileRefused | FrameTroubled | FolderGone | FolderBack | WatchReady
)


@dataclass(frozen=True, slots=True)
class WatchedFolder:
    """A folder that a station watches."""

    folder: str
    label: str = ""
    """The camera's label, or empty."""
    on: bool = True
    """False once watching was stopped by a person."""


def read_watched_folder(shoot: Shoot, station: str) -> WatchedFolder | None:
    """Return the folder that a station watched last."""
    with shoot.reading() as session:
        meta = session.get(Meta, _key(station))
    return WatchedFolder(**json.loads(meta.value)) if meta is not None else None


def save_watched_folder(shoot: Shoot, station: str, watched: WatchedFolder) -> None:
    """Store the folder that a station watches. Raises Problem where the store cannot be written."""
    with shoot.writing() as session:
        meta = session.get(Meta, _key(station)) or Meta(key=_key(station), value="")
        meta.value = json.dumps(asdict(watched), ensure_ascii=False)
        session.add(meta)


def _key(station: str) -> str:
    return f"watched {station}"


@dataclass(frozen=True, slots=True)
class LandedFrame:
    """A frame that has just landed, as the watch command prints it.

    `taken` is the time by the camera's clock. `slate` says how each slate in the frame was read, without
    other symbols; `verdict` is the result for all its slates together.
    """

    id: int
    camera: str
    name: str
    taken: datetime | None
    counter: int | None
    slate: str
    verdict: SlateVerdict
    trouble: str

    @property
    def is_slate(self) -> bool:
        return bool(self.slate)


def landed_frames(shoot: Shoot, frame_ids: Collection[int]) -> list[LandedFrame]:
    """The frames with these ids, in the order in which they were ingested."""
    with shoot.reading() as session:
        rows = session.exec(
            select(Frame, Camera.label)
            .where(Frame.camera_id == Camera.id, Frame.id.in_(frame_ids))
            .order_by(Frame.id)
        ).all()
        symbols: dict[int, list[SymbolReading]] = {}
        for reading in session.exec(
            select(SymbolReading).where(SymbolReading.frame_id.in_(frame_ids)).order_by(SymbolReading.id)
        ):
            symbols.setdefault(reading.frame_id, []).append(reading)
    return [
        LandedFrame(
            frame.id or 0,
            label,
            frame.name,
            frame.taken,
            frame.counter,
            ", ".join(filter(None, (_slate(seen, shoot.mark) for seen in symbols.get(frame.id or 0, [])))),
            slate_verdict(symbols.get(frame.id or 0, []), shoot.mark),
            frame.trouble,
        )
        for frame, label in rows
    ]


def _slate(seen: SymbolReading, mark: str) -> str:
    kind = slate_kind(seen.text, mark)
    if kind is SlateKind.UNREAD:
        return f"slate {kind}"
    if kind is SlateKind.CLOCK:
        return str(kind)
    code = parse_slate_code(seen.text or "")
    if code is None:
        return ""
    if kind is SlateKind.OTHER_SHOOT:
        return f"slate {code.spaced} of another shoot"
    by = ReadBy(seen.by or ReadBy.DECODER)
    return f"slate {code.spaced}" + ("" if by is ReadBy.DECODER else f", read {how_read(by)}")
