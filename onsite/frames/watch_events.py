"""Events that watching a folder emits, and the folder that a station watches, stored in the shoot.

The folder is stored so that watching resumes after the screens were closed.
"""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from pathlib import Path

from onsite.store.schema import Meta
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
