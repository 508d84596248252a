"""What is told by the one who watches a folder."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from pathlib import Path

from onsite.store.schema import Meta
from onsite.store.shoot import Shoot


@dataclass(frozen=True, slots=True)
class FramesLanded:
    """Files of these frames are in the shoot: new frames, or another file of frames that were there."""

    frame_ids: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class FileIncomplete:
    """A file is still being written. Told once."""

    path: Path


@dataclass(frozen=True, slots=True)
class FileRefused:
    """A file is no frame, or cannot be read (then it is tried again and again). Told once."""

    path: Path
    reason: str


@dataclass(frozen=True, slots=True)
class FrameTroubled:
    """Something stands in the way, and what can be done is tried again: a frame is kept and nobody could look
    at it or copy it, or the shoot's database cannot be written (`path` is the watched folder then)."""

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
    """What lay in the folder at the start, or when it came back, has been taken in."""


WatchEvent = (
    FramesLanded | FileIncomplete | FileRefused | FrameTroubled | FolderGone | FolderBack | WatchReady
)


# TODO Which folder a station watches, kept in the shoot so that it goes on after the screens were closed.


@dataclass(frozen=True, slots=True)
class WatchedFolder:
    """`label` is the camera's, or empty. `on` is False once somebody stopped it."""

    folder: str
    label: str = ""
    on: bool = True


def read_watched_folder(shoot: Shoot, station: str) -> WatchedFolder | None:
    """The folder that was watched last at a station."""
    with shoot.reading() as session:
        meta = session.get(Meta, _key(station))
    return WatchedFolder(**json.loads(meta.value)) if meta is not None else None


def save_watched_folder(shoot: Shoot, station: str, watched: WatchedFolder) -> None:
    """Keeps it for the next time. Raises Problem where the store cannot be written."""
    with shoot.writing() as session:
        meta = session.get(Meta, _key(station)) or Meta(key=_key(station), value="")
        meta.value = json.dumps(asdict(watched), ensure_ascii=False)
        session.add(meta)


def _key(station: str) -> str:
    return f"watched {station}"
