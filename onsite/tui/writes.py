"""Writes in the order in which keys were pressed, off the thread that draws the screen."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from typing import TypeVar

T = TypeVar("T")


class WriteQueue:
    """One thread that carries out one write after another. Keys may be pressed faster than the disk answers:
    what was pressed waits here, and nothing of it is dropped when the screens are closed."""

    def __init__(self) -> None:
        self._pool = ThreadPoolExecutor(1, thread_name_prefix="writes")

    def do(self, work: Callable[[], T]) -> Future[T]:
        return self._pool.submit(work)

    def finish(self) -> None:
        """Waits until everything is written."""
        self._pool.shutdown(wait=True)
