"""Sidecars: the XMP files beside a picture. The picture itself is never opened here.

Programs look for `NAME.xmp` or for `NAME.EXT.xmp` (common practice, no source). Those that are there are kept
up; where a picture has none, one is made.
"""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from onsite.files.names import fits_limit
from onsite.files.saving import atomic_file
from onsite.metadata.fields import LABEL, RATING, RawMark
from onsite.metadata.marking import put_mark
from onsite.metadata.packet import NotXmp, empty_packet, keep_only, parse_xmp
from onsite.problems import Problem

_LARGEST = 64_000_000
"""Bytes. Sidecars with painted masks have some megabytes (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class SidecarBackups:
    """Where sidecars are kept as they were, before they are changed: `folder`/moment/path."""

    folder: Path
    at: datetime

    def keep(self, sidecar: Path) -> None:
        """Raises OSError."""
        place = self.folder / f"{self.at:%Y-%m-%d %H.%M.%S.%f}" / Path(*sidecar.absolute().parts[1:])
        if not place.exists():
            place.parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(sidecar, place)


def existing_sidecars(picture: Path) -> list[Path]:
    """The sidecars that a picture has, the short name first; endings in small letters or in capitals."""
    there: dict[tuple[int, int], Path] = {}
    for name in (picture.stem, picture.name):
        for ending in (".xmp", ".XMP"):
            path = picture.with_name(name + ending)
            if fits_limit(path.name) and path.is_file():
                state = path.stat()
                there.setdefault((state.st_dev, state.st_ino), path)  # one file where case does not count
    return list(there.values())


def mark_sidecar(
    path: Path,
    mark: RawMark | None,
    backups: SidecarBackups,
    base: Path | None = None,
    whole_base: bool = True,
) -> bool:
    """Puts a mark into a sidecar, or takes it out, and tells whether the file was changed.

    Where there is none yet it is made, of the content of `base` where that is given: of all of it, or without
    `whole_base` of its rating and label. An existing one is kept
    in the backups first and takes its new content at once or not at all. Raises Problem; the file is as it
    was then.
    """
    path = path.resolve()
    there = path.is_file()
    if not there and mark is None:
        return False
    source = path if there else base
    try:
        before = _state(source)
        packet = parse_xmp(source.read_bytes()) if source else empty_packet()
        if not there and not whole_base:
            packet = keep_only(packet, (RATING, LABEL))
        if not put_mark(packet, mark) and there:
            return False
        if there:
            backups.keep(path)
        with atomic_file(path) as stream:
            stream.write(packet.content())
            if there:
                shutil.copymode(path, stream.name)
            if _state(source) != before:
                raise Problem(f"{source} was changed by another program meanwhile.", "Do it again.")
        return True
    except NotXmp as error:
        raise Problem(
            f"{source} is left alone: {error}.", "Mend it or move it away, and do it again."
        ) from error
    except OSError as error:
        raise Problem(
            f"{source} is left alone: {error.strerror or error}.", "Check the disk and the permissions."
        ) from error


def _state(path: Path | None) -> tuple[int, int]:
    """Size and time of a file; raises OSError, also where it is too large to be a sidecar."""
    if path is None:
        return 0, 0
    state = path.stat()
    if state.st_size > _LARGEST:
        raise OSError(f"{state.st_size / 1e6:,.0f} MB are more than a sidecar has")
    return state.st_size, state.st_mtime_ns
