"""When a file that is being written is complete. Pure: whoever looks passes in what was seen."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import BinaryIO

from onsite.frames.found import FileKind

BETWEEN_LOOKS = 0.1
"""Seconds that a file must lie unchanged when it ends as its format ends."""

QUIET = 2.0
"""Seconds that a file must lie unchanged when its format has no end that can be told."""

STALLED = 10.0
"""Seconds after which a file that breaks off is taken as it is: nobody is writing it any more."""

_TAIL = 1 << 16  # bytes of padding, at most, that some bodies write behind the end of a JPEG

# ITU-T T.81, table B.1
_START_OF_IMAGE, _END_OF_IMAGE = b"\xff\xd8", b"\xff\xd9"
_START_OF_SCAN = 0xDA
_STANDALONE = {0x01, *range(0xD0, 0xD8)}  # markers without a length


class FileEnding(StrEnum):
    """How a file ends."""

    WHOLE = "whole"
    CUT = "cut"
    UNKNOWN = "unknown"


SECONDS = {FileEnding.WHOLE: BETWEEN_LOOKS, FileEnding.UNKNOWN: QUIET, FileEnding.CUT: STALLED}


@dataclass(frozen=True, slots=True)
class FileState:
    """A look at a file: its size, its time of change, and `at`, the seconds of a steady clock."""

    size: int
    mtime_ns: int
    at: float

    def same_as(self, other: FileState) -> bool:
        return (self.size, self.mtime_ns) == (other.size, other.mtime_ns)


def is_complete(first: FileState, now: FileState, ending: FileEnding) -> bool:
    """Whether a file that has looked the same since `first` is complete. An empty one never is.

    >>> is_complete(Seen(9, 1, 0.0), Seen(9, 1, 0.1), Ending.WHOLE)
    True
    """
    if now.size == 0 or not now.same_as(first):
        return False
    return now.at - first.at >= SECONDS[ending]


def ending_of(path: Path, kind: FileKind) -> FileEnding:
    """How a file ends, from its head and tail. Raises OSError."""
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
    """Whether the picture's data have begun and the file ends with the end of an image, padding left aside.

    A preview inside the head ends so too: the end counts only behind the start of the scan.
    """
    scan = _start_of_scan(file)
    size = file.seek(0, 2)
    if scan is None or scan >= size:
        return FileEnding.CUT
    file.seek(max(size - _TAIL, scan))
    return FileEnding.WHOLE if file.read().rstrip(b"\0").endswith(_END_OF_IMAGE) else FileEnding.CUT


def _start_of_scan(file: BinaryIO) -> int | None:
    """Where the first scan of a JPEG starts: its segments walked (ITU-T T.81, B.1.1.4). None before that."""
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
    """Whether the last top-level box ends where the file ends (ISO/IEC 14496-12, 4.2)."""
    size, at = file.seek(0, 2), 0
    while at < size:
        file.seek(at)
        head = file.read(16)
        length = int.from_bytes(head[:4], "big")
        if length == 1:
            length = int.from_bytes(head[8:16], "big")
        if length == 0:
            return FileEnding.UNKNOWN  # it goes to the end of the file, wherever that will be
        if length < 8:
            return FileEnding.CUT
        at += length
    return FileEnding.WHOLE if at == size else FileEnding.CUT
