"""When two files are one exposure: the raw and the JPEG (or HEIC) that a camera writes of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

SAME_EXPOSURE_SECONDS = 1.0
"""Some makes write sub-seconds into one of the two files only."""


@dataclass(frozen=True, slots=True)
class ExposureFile:
    """What a file says of its exposure: its name without ending, kind, folder and the camera's time."""

    stem: str
    kind: str
    folder: str
    taken: datetime | None


def is_same_exposure(first: ExposureFile, other: ExposureFile) -> bool:
    """Whether two files of one camera are one frame.

    They must differ in kind: two JPEGs of one name are two frames. Without times they must lie side by side.
    """
    if first.stem != other.stem or first.kind == other.kind:
        return False
    if first.taken is None or other.taken is None:
        return first.folder == other.folder
    return abs((first.taken - other.taken).total_seconds()) <= SAME_EXPOSURE_SECONDS
