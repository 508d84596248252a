"""Waiting until something may have changed in a folder: told by the system, or by the clock."""

from __future__ import annotations

import time
from abc import ABC, abstractmethod
from pathlib import Path
from queue import Empty, SimpleQueue
from threading import Event, Thread

_STEP_MS = 10  # how long the system is listened to before what it told is passed on
_DEBOUNCE_MS = 30  # at the latest, while a file is being written and it tells more and more
_GLANCE = 0.1  # seconds between glances at `stop`


class ChangeWaiter(ABC):
    """What wakes the one who watches a folder. It only hurries: nothing is missed without it."""

    def __init__(self, stop: Event) -> None:
        self.stop = stop

    @abstractmethod
    def wait(self, seconds: float) -> set[Path]:
        """Waits so long at most, less when woken or stopped. Returns what the system told of, if anything."""

    @abstractmethod
    def close(self) -> None:
        """Ends listening."""


class PollingWaiter(ChangeWaiter):
    """Wakes by the clock: for network shares, where the system tells nothing."""

    def wait(self, seconds: float) -> set[Path]:
        self.stop.wait(seconds)
        return set()

    def close(self) -> None:
        pass


class NotificationWaiter(ChangeWaiter):
    """Wakes when the system tells of a change below `folder`, else by the clock."""

    def __init__(self, stop: Event, folder: Path) -> None:
        super().__init__(stop)
        self._told: SimpleQueue[set[Path]] = SimpleQueue()
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
                self._told.put({Path(path) for _, path in change})
        except Exception:  # no more watches, a folder that is gone, a system without: the clock is enough
            return

    def wait(self, seconds: float) -> set[Path]:
        until = time.monotonic() + seconds
        while not self.stop.is_set():
            left = until - time.monotonic()
            try:
                changed = self._told.get(timeout=min(max(left, 0.0), _GLANCE))
            except Empty:
                if left <= _GLANCE:
                    return set()
                continue
            while not self._told.empty():
                changed |= self._told.get()
            return changed
        return set()

    def close(self) -> None:
        self._closed.set()
        self._thread.join(timeout=2.0)
