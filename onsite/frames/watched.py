"""What is told by the one who watches a folder."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path


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
