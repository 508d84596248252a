"""On which disks files lie: by the kernel's tables of a machine with many, and with real mounts."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from onsite.files import physical_disks
from onsite.files.physical_disks import Disks, DiskTable

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="the tables of Linux")

MOUNTED = """\
27 1 259:2 / / rw,relatime - ext4 /dev/nvme0n1p2 rw
30 27 253:0 / {0}/encrypted rw - ext4 /dev/mapper/home rw
31 27 259:3 / {0}/other\\040partition rw - vfat /dev/nvme0n1p3 rw
32 27 259:2 /photos {0}/bound rw - ext4 /dev/nvme0n1p2 rw
33 27 8:17 / {0}/stick rw - exfat /dev/sdb1 rw
34 27 253:1 / {0}/joined rw - xfs /dev/mapper/joined rw
35 27 0:50 / {0}/nas rw - nfs4 nas.example:/photos rw
36 27 0:51 / {0}/share rw - cifs //nas.example/other rw
37 27 0:52 / {0}/far rw - fuse.sshfs me@far.example:photos rw
38 27 0:53 / {0}/memory rw - tmpfs tmpfs rw
39 27 0:54 / {0}/pool rw - zfs pool/photos rw
40 27 7:0 / {0}/image rw - ext4 /dev/loop0 rw
41 27 0:55 / {0}/over rw - tmpfs tmpfs rw
42 27 8:17 / {0}/over rw - exfat /dev/sdb1 rw
"""
"""The beginning of what proc(5) describes, of a laptop with much on it."""


@pytest.fixture
def laptop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a place for each mount, and tables that say what is mounted there."""
    devices, block = tmp_path / "devices", tmp_path / "block"
    block.mkdir()
    parts = {
        "259:2": "nvme0n1/nvme0n1p2",
        "259:3": "nvme0n1/nvme0n1p3",
        "8:17": "sdb/sdb1",
        "253:0": "dm-0",
        "253:1": "dm-1",
        "7:0": "loop0",
    }
    for number, place in parts.items():
        (devices / place).mkdir(parents=True)
        (block / number).symlink_to(devices / place)
        if "/" in place:
            (devices / place / "partition").touch()
    for volume, below in (("dm-0", ["259:2"]), ("dm-1", ["8:17", "259:3"])):
        (devices / volume / "slaves").mkdir()
        for number in below:
            (devices / volume / "slaves" / number).symlink_to(devices / parts[number])
    places = tmp_path / "a place"
    text = MOUNTED.format(str(places).replace(" ", "\\040"))
    (tmp_path / "mountinfo").write_text(text)
    for line in text.splitlines()[1:]:
        Path(line.split(" ")[4].replace("\\040", " ")).mkdir(parents=True, exist_ok=True)
    (devices / "loop0" / "loop").mkdir()
    (devices / "loop0" / "loop" / "backing_file").write_text(f"{places}/stick/image.ext4\n")
    monkeypatch.setattr(physical_disks, "MOUNTS", tmp_path / "mountinfo")
    monkeypatch.setattr(physical_disks, "BLOCK_DEVICES", block)
    return places


@pytest.mark.parametrize(
    ("place", "disks"),
    [
        (".", {"nvme0n1"}),
        ("encrypted", {"nvme0n1"}),
        ("other partition", {"nvme0n1"}),
        ("bound", {"nvme0n1"}),
        ("stick", {"sdb"}),
        ("joined", {"sdb", "nvme0n1"}),
        ("nas", {"server nas.example"}),
        ("share", {"server nas.example"}),
        ("far", {"server far.example"}),
        ("image", {"sdb"}),
        ("over", {"sdb"}),
    ],
)
def test_partitions_volumes_shares_and_images_lie_on_disks(laptop: Path, place: str, disks: set[str]) -> None:
    assert DiskTable().disks_of(laptop / place / "IMG_0001.JPG") == Disks(frozenset(disks), known=True)


def test_memory_is_no_disk_and_a_pool_is_not_looked_into(laptop: Path) -> None:
    table = DiskTable()
    assert table.disks_of(laptop / "memory" / "IMG_0001.JPG") is None
    assert table.disks_of(laptop / "not there" / "IMG_0001.JPG") is None
    pool = table.disks_of(laptop / "pool" / "IMG_0001.JPG")
    assert pool is not None
    assert not pool.known


def test_on_other_systems_a_file_system_stands_for_a_disk(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "platform", "darwin")
    number = tmp_path.stat().st_dev
    expected = Disks(frozenset({f"file system {number}"}), known=False)
    assert DiskTable().disks_of(tmp_path / "IMG_0001.JPG") == expected


@pytest.fixture
def mounted(tmp_path: Path) -> Iterator[Path]:
    """Folders with real mounts: `memory`, `bound` to `folder`, and `image`, a file system in a file."""
    image = tmp_path / "image.ext4"
    for name in ("folder", "bound", "memory", "image"):
        (tmp_path / name).mkdir()
    mounts = {
        "memory": ["-t", "tmpfs", "-o", "size=4m", "tmpfs"],
        "bound": ["--bind", str(tmp_path / "folder")],
        "image": ["-o", "loop", str(image)],
    }
    if os.geteuid() != 0 or not all(map(shutil.which, ("mount", "mkfs.ext4"))):
        pytest.skip("nothing can be mounted here")
    image.write_bytes(b"")
    os.truncate(image, 4 << 20)
    subprocess.run(["mkfs.ext4", "-q", image], check=True)
    done = []
    try:
        for name, how in mounts.items():
            if subprocess.run(["mount", *how, tmp_path / name], capture_output=True).returncode:
                pytest.skip("nothing can be mounted here")
            done.append(name)
        yield tmp_path
    finally:
        for name in done:
            subprocess.run(["umount", tmp_path / name], check=True)


def test_real_mounts_on_one_disk_are_one(mounted: Path) -> None:
    table = DiskTable()
    disks = {
        name: table.disks_of(mounted / name / "a.jpg") for name in ("folder", "bound", "image", "memory")
    }
    assert disks["memory"] is None
    assert disks["bound"] == disks["folder"]
    assert disks["image"] == disks["folder"]
    assert (mounted / "image").stat().st_dev != (mounted / "folder").stat().st_dev
