"""Changes in a watched folder: waiting for them, listing the folder, and when a file is complete.

Whether a file is complete is a pure function of what was observed (`is_complete`).
"""

from __future__ import annotations

import os
import time
from abc import ABC, abstractmethod
from dataclasses import dataclass, field
from enum import StrEnum
from pathlib import Path
from queue import Empty, SimpleQueue
from threading import Event, Thread
from typing import BinaryIO

from onsite.frames.find_frame_files import FileKind, file_kind_of_name

_STEP_MS = 10  # how long notifications are collected before they are passed on
_DEBOUNCE_MS = 30  # longest delay while a file is being written and notifications keep coming
_GLANCE = 0.1  # seconds between checks of `stop`


class ChangeWaiter(ABC):
    """Waits for changes in a folder. It only shortens the delay: listing the folder misses nothing."""

    def __init__(self, stop: Event) -> None:
        self.stop = stop

    @abstractmethod
    def wait(self, seconds: float) -> set[Path]:
        """Wait at most `seconds`, less when notified or stopped. Returns the changed paths, if known."""

    @abstractmethod
    def close(self) -> None:
        """Stop listening."""


class PollingWaiter(ChangeWaiter):
    """Waits by the clock alone: for network shares, which give no notifications."""

    def wait(self, seconds: float) -> set[Path]:
        self.stop.wait(seconds)
        return set()

    def close(self) -> None:
        pass


class NotificationWaiter(ChangeWaiter):
    """Waits for notifications of changes below `folder` by the operating system, else by the clock."""

    def __init__(self, stop: Event, folder: Path) -> None:
        super().__init__(stop)
        self._changes: SimpleQueue[set[Path]] = SimpleQueue()
        self._closed = Event()
        self._thread = Thread(target=self._listen, args=(folder,), name="listen", daemon=True)
        self._thread.start()

    def _listen(self, folder: Path) -> None:
        try:
            from watchfiles import watch

            changes = watch(
                folder,
                watch_filter=None,
                debounce=_DEBOUNCE_MS,
                step=_STEP_MS,
                stop_event=self._closed,
                rust_timeout=200,
                raise_interrupt=False,
                ignore_permission_denied=True,
            )
            for change in changes:
                self._changes.put({Path(path) for _, path in change})
        except Exception:  # out of watches, folder gone, not supported: polling is enough
            return

    def wait(self, seconds: float) -> set[Path]:
        until = time.monotonic() + seconds
        while not self.stop.is_set():
            left = until - time.monotonic()
            try:
                changed = self._changes.get(timeout=min(max(left, 0.0), _GLANCE))
            except Empty:
                if left <= _GLANCE:
                    return set()
                continue
            while not self._changes.empty():
                changed |= self._changes.get()
            return changed
        return set()

    def close(self) -> None:
        self._closed.set()
        self._thread.join(timeout=2.0)


Stamp = tuple[int, int]
"""Size of a file and its modification time in nanoseconds."""


@dataclass(frozen=True, slots=True)
class FolderListing:
    """The picture files below a folder."""

    identity: tuple[int, int]
    """Device and inode: distinguishes the folder from another of the same name."""
    files: dict[str, Stamp] = field(default_factory=dict)
    """Files that may belong to frames, by path."""
    unlisted: dict[str, str] = field(default_factory=dict)
    """Subfolders that cannot be listed, with the reason."""


def list_files(folder: Path, leave: Path) -> FolderListing:
    """List all regular files with picture endings below `folder`, without the folder `leave`.

    Called over and over, so it is kept fast. Raises OSError where the folder itself cannot be listed.
    """
    now = folder.stat()
    listing = FolderListing((now.st_dev, now.st_ino))
    folders = [str(folder)]
    while folders:
        top = folders.pop()
        try:
            if os.path.basename(top) == leave.name and Path(top).resolve() == leave.resolve():  # noqa: PTH119
                continue
            with os.scandir(top) as entries:
                for entry in entries:
                    _note(entry, listing, folders)
        except FileNotFoundError:
            if top == str(folder):
                raise
        except OSError as error:
            if top == str(folder):
                raise
            listing.unlisted[top] = error.strerror or str(error)
    return listing


def is_passed_over(name: str) -> bool:
    """Whether a file or folder is hidden or temporary, by its name."""
    return name.startswith((".", "~"))


def _note(entry: os.DirEntry[str], listing: FolderListing, folders: list[str]) -> None:
    """Add a directory entry to the listing, or to the folders still to list."""
    if is_passed_over(entry.name):
        return
    if entry.is_dir(follow_symlinks=False):
        folders.append(entry.path)
    elif file_kind_of_name(entry.name) is not None:
        try:
            if entry.is_file():
                now = entry.stat()
                listing.files[entry.path] = now.st_size, now.st_mtime_ns
        except OSError:
            return  # deleted meanwhile


BETWEEN_LOOKS = 0.1
"""Seconds that a file must be unchanged when it ends as its format requires."""

QUIET = 2.0
"""Seconds that a file must be unchanged when its format has no recognisable end."""

STALLED = 10.0
"""Seconds after which a truncated file is taken as it is: it is no longer being written."""

_TAIL = 1 << 16  # most bytes of padding that some bodies write after the end of a JPEG

# ITU-T T.81, table B.1
_START_OF_IMAGE, _END_OF_IMAGE = b"\xff\xd8", b"\xff\xd9"
_START_OF_SCAN = 0xDA
_STANDALONE = {0x01, *range(0xD0, 0xD8)}  # markers without a length


class FileEnding(StrEnum):
    """Whether a file ends as its format requires."""

    WHOLE = "whole"
    CUT = "cut"
    UNKNOWN = "unknown"


SECONDS = {FileEnding.WHOLE: BETWEEN_LOOKS, FileEnding.UNKNOWN: QUIET, FileEnding.CUT: STALLED}


@dataclass(frozen=True, slots=True)
class FileState:
    """A file as observed at the time `at`, in seconds of a monotonic clock."""

    size: int
    mtime_ns: int
    at: float

    def same_as(self, other: FileState) -> bool:
        """Whether size and modification time are equal."""
        return (self.size, self.mtime_ns) == (other.size, other.mtime_ns)


def is_complete(first: FileState, now: FileState, ending: FileEnding) -> bool:
    """Whether a file unchanged since `first` is complete. An empty file never is.

    >>> is_complete(FileState(9, 1, 0.0), FileState(9, 1, 0.1), FileEnding.WHOLE)
    True
    """
    if now.size == 0 or not now.same_as(first):
        return False
    return now.at - first.at >= SECONDS[ending]


def ending_of(path: Path, kind: FileKind) -> FileEnding:
    """Return how a file ends, from its head and tail. Raises OSError."""
    with path.open("rb") as file:
        start = file.read(12)
        if start.startswith(_START_OF_IMAGE):
            return _jpeg_ending(file)
        if kind is FileKind.JPEG:
            return FileEnding.CUT if len(start) < 2 or not any(start) else FileEnding.UNKNOWN
        if start[4:8] == b"ftyp":
            return _boxes_ending(file)
    return FileEnding.UNKNOWN


def _jpeg_ending(file: BinaryIO) -> FileEnding:
    """Whether the file ends with an end-of-image marker after the start of the scan, padding ignored.

    A preview in the head ends with this marker too, hence the condition on the scan.
    """
    scan = _start_of_scan(file)
    size = file.seek(0, 2)
    if scan is None or scan >= size:
        return FileEnding.CUT
    file.seek(max(size - _TAIL, scan))
    return FileEnding.WHOLE if file.read().rstrip(b"\0").endswith(_END_OF_IMAGE) else FileEnding.CUT


def _start_of_scan(file: BinaryIO) -> int | None:
    """Return the offset of the first scan of a JPEG (ITU-T T.81, B.1.1.4), None if not written yet."""
    at = 2
    while True:
        file.seek(at)
        head = file.read(4)
        if len(head) < 4 or head[0] != 0xFF:
            return None
        marker = head[1]
        if marker == 0xFF or marker in _STANDALONE:
            at += 1 if marker == 0xFF else 2
            continue
        length = int.from_bytes(head[2:4], "big")
        if marker == _START_OF_SCAN:
            return at + 2 + length
        at += 2 + max(length, 2)


def _boxes_ending(file: BinaryIO) -> FileEnding:
    """Return whether the last top-level box ends at the end of the file (ISO/IEC 14496-12, 4.2)."""
    size, at = file.seek(0, 2), 0
    while at < size:
        file.seek(at)
        head = file.read(16)
        length = int.from_bytes(head[:4], "big")
        if length == 1:
            length = int.from_bytes(head[8:16], "big")
        if length == 0:
            return FileEnding.UNKNOWN  # the box extends to the end of the file, wherever that will be
        if length < 8:
            return FileEnding.CUT
        at += length
    return FileEnding.WHOLE if at == size else FileEnding.CUT
