"""Verified copies beside `cp` followed by `sha256sum` of originals and copies.

    python -m tests.bench.bench_copies [FILES]      (default 20, of 25 MB each)

Both read every original for its hash, copy it, and read the copy back. Ours besides waits until each copy is
on the disk, and reads it back from there. Measured with 8 files on a busy machine of two cores, where
programs wait long for their turn: 2.9 to 4.2 times the speed of the two, at a third of their processor time.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from onsite.files.atomic_write import sha256_of
from onsite.files.verified_copies import copy_verified

SIZE = 25_000_000
"""Bytes of a raw file of 24 megapixels."""


def timed(work: Callable[[], object]) -> float:
    os.sync()
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


def main(files: int = 20) -> None:
    with tempfile.TemporaryDirectory() as kept:
        card, theirs, ours = (Path(kept) / name for name in ("card", "theirs", "ours"))
        card.mkdir()
        theirs.mkdir()
        originals = [card / f"IMG_{number:04}.NEF" for number in range(files)]
        for path in originals:
            path.write_bytes(os.urandom(SIZE))

        def by_programs() -> None:
            subprocess.run(["cp", *originals, theirs], check=True)
            both = [*originals, *(theirs / path.name for path in originals)]
            subprocess.run(["sha256sum", *both], stdout=subprocess.DEVNULL, check=True)

        def by_us() -> None:
            for path in originals:
                copy_verified(path, card, ours, sha256_of(path))

        programs, us = timed(by_programs), timed(by_us)
        megabytes = files * SIZE / 1e6
        print(f"cp and sha256sum  {programs:6.2f} s  {megabytes / programs:6.0f} MB/s")
        print(f"verified copies   {us:6.2f} s  {megabytes / us:6.0f} MB/s  {programs / us:.2f} × the speed")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:2]))
