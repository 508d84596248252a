"""Work in a folder that only one program at a time may do."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from onsite.core.errors import Problem
from onsite.files.atomic_write import write_problem


@contextmanager
def exclusive_lock(folder: Path, busy: str) -> Iterator[None]:
    """Holds a lock in `folder`, which is made; it ends with this process, however that ends.

    Raises Problem, `busy` being what is said, where another one holds it.
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
