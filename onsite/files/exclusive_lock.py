"""A lock on a folder that only one process at a time can hold."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from onsite.core.errors import Problem
from onsite.files.atomic_write import write_problem


@contextmanager
def exclusive_lock(folder: Path, busy: str) -> Iterator[None]:
    """Holds a lock in `folder`, which is created if missing; it ends with this process, however that ends.

    Raises Problem with the text `busy` if another process holds it.
    """
    from filelock import FileLock, Timeout

    lock = FileLock(folder / ".lock", timeout=0)
    try:
        folder.mkdir(exist_ok=True)
        lock.acquire()
    except Timeout as error:
        raise Problem(busy, "Do it again when that has ended.") from error
    except OSError as error:
        raise write_problem(folder, error) from error
    try:
        yield
    finally:
        lock.release()
