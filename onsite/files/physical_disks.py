"""On which disks a file lies: two copies outlive one accident only where they are on two.

On Linux the kernel says it: which file system is mounted where (`/proc/self/mountinfo`, proc(5)), and on
which disks partitions, encrypted and joined volumes and images lie (`/sys/dev/block`, the kernel's ABI for
block devices). Elsewhere no more is known than which file system a file is on.
"""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

MOUNTS = Path("/proc/self/mountinfo")
BLOCK_DEVICES = Path("/sys/dev/block")

IN_MEMORY = frozenset({"tmpfs", "ramfs", "devtmpfs"})
"""Types of file systems that are gone with the power."""

_SHARE = re.compile(r"//([^/]+)/|(?:[^@/]*@)?([^@/]+):")
"""A server in the source of a mount: `//server/share` (mount.cifs(8)), `server:/folder` (nfs(5)),
`user@server:folder` (sshfs(1))."""

_ESCAPED = re.compile(r"\\([0-7]{3})")  # blanks and the like in a mount's folder, proc(5)


@dataclass(frozen=True, slots=True)
class Disks:
    """The disks that a file needs, more than one where volumes are joined. A server counts as a disk."""

    names: frozenset[str]
    known: bool
    """False where these are file systems, of which several may be on one disk."""


NO_DISKS = Disks(frozenset(), known=True)


@dataclass(frozen=True, slots=True)
class _Mount:
    device: str
    """Major and minor number of its block device; the major is 0 where it has none of its own."""
    kind: str
    source: str


class DiskTable:
    """The disks of files by their folders, each looked up once."""

    def __init__(self) -> None:
        self._mounts = _mounts() if sys.platform == "linux" else {}
        self._of_folder: dict[Path, Disks | None] = {}

    def disks_of(self, path: Path) -> Disks | None:
        """The disks of a file; None where it has none: it is not there, or in memory only."""
        folder = path.parent
        if folder not in self._of_folder:
            try:
                self._of_folder[folder] = self._look_up(folder.resolve(strict=True))
            except OSError:
                self._of_folder[folder] = None
        return self._of_folder[folder]

    def _look_up(self, folder: Path) -> Disks | None:
        mount = next((self._mounts[part] for part in (folder, *folder.parents) if part in self._mounts), None)
        unknown = Disks(frozenset({f"file system {folder.stat().st_dev}"}), known=False)
        if mount is None:
            return unknown
        if mount.kind in IN_MEMORY:
            return None
        device = mount.device
        if device.startswith("0:"):  # several on one device, such as subvolumes, or none
            if share := _SHARE.match(mount.source):
                return Disks(frozenset({f"server {share[1] or share[2]}"}), known=True)
            if not mount.source.startswith("/"):
                return unknown
            number = Path(mount.source).stat().st_rdev
            device = f"{os.major(number)}:{os.minor(number)}"
        entry = BLOCK_DEVICES / device
        return self._below(entry.resolve()) if entry.exists() else unknown

    def _below(self, device: Path) -> Disks | None:
        """The disks below a block device, by its folder in sysfs; None where it is an image in memory."""
        if (device / "partition").exists():
            return self._below(device.parent)
        image = device / "loop" / "backing_file"
        if image.exists():
            return self.disks_of(Path(image.read_text().strip()))
        parts = [part.resolve() for part in (device / "slaves").glob("*")]
        below = [found for part in parts if (found := self._below(part))]
        if not below:
            return Disks(frozenset({device.name}), known=True)
        return Disks(frozenset[str]().union(*(one.names for one in below)), all(one.known for one in below))


def _mounts() -> Mapping[Path, _Mount]:
    """What is mounted where, by folder; of several mounts on one folder the last is seen."""
    mounts = {}
    for line in MOUNTS.read_text(errors="surrogateescape").splitlines():
        about, _, beyond = line.partition(" - ")
        _, _, device, _, folder, *_ = about.split(" ")
        kind, source, *_ = beyond.split(" ")
        mounts[Path(_unescaped(folder))] = _Mount(device, kind, _unescaped(source))
    return mounts


def _unescaped(text: str) -> str:
    return _ESCAPED.sub(lambda escape: chr(int(escape[1], 8)), text)
