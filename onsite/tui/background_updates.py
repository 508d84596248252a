"""Threads that keep the screens up to date with events here and at other stations."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import suppress
from typing import TypeVar

from sqlmodel import Session, select

from onsite.checkin.station_door import StationDoor
from onsite.core.errors import NoServer, Problem
from onsite.files.atomic_write import sweep_drafts
from onsite.reconcile.current_match import matched_until
from onsite.reconcile.match_process import update_match_in_process
from onsite.reconcile.match_report import lost_names_text
from onsite.reconcile.match_summary import computed_names, names_lost_since
from onsite.status.status_cache import StatusCache
from onsite.store.database_engine import read_from_disk
from onsite.store.events import AFTERWARDS, EventKind, newest_event_id
from onsite.store.local_copy import save_local_copy
from onsite.store.schema import EventRow
from onsite.store.shoot import Shoot
from onsite.store.store_change_signal import has_change_signal, listen_for_changes
from onsite.tui.thread_retries import RetryState

LOOK_EVERY = 0.4
"""Seconds between two checks for events, so that other stations' changes are seen within a second."""

_FROM_DISK_EVERY = 2.0
"""Seconds between two looks at the disk itself, past what is kept in memory: damage shows within a few
seconds, also where nothing happens."""

_MATCH_IDLE = 60.0

_BACKUP_LOOK = 60.0
"""Seconds between two looks at whether a backup is due."""

_CHANGES_NAMES = frozenset(
    {
        EventKind.INGESTED,
        EventKind.GIVEN,
        EventKind.SET_ASIDE,
        EventKind.FREED,
        EventKind.SPLIT,
        EventKind.JOINED,
    }
)
_CHANGES_NAMES |= {EventKind.UNDONE, EventKind.CARD_TIED}

Changed = Callable[[frozenset[int], bool], None]
"""Called with the ids of the people whose status has changed, and whether frames have been matched again."""


class BackgroundUpdates:
    """Threads: one reads new events, one has frames matched when events may change names, one makes backups
    where they are due, and one hears of changes at once where the store tells of them.

    An error in any of them is shown, and the thread goes on (`thread_retries`).
    """

    def __init__(
        self, shoot: Shoot, everybody: StatusCache, changed: Changed, tell: Callable[[str | Problem], None]
    ) -> None:
        self._shoot = shoot
        self._everybody = everybody
        self._changed = changed
        self._tell = tell
        self._looking = threading.Event()
        self._matching = threading.Event()
        self._stop = threading.Event()
        self._threads = [
            threading.Thread(target=self._look_on, name="look", daemon=True),
            threading.Thread(target=self._match_on, name="match", daemon=True),
            threading.Thread(target=self._back_up_on, name="backup", daemon=True),
        ]
        if has_change_signal(shoot.engine):
            self._threads.append(threading.Thread(target=self._listen_on, name="listen", daemon=True))
        self.door = StationDoor(shoot)
        """The door of this station, also while its server is gone."""
        self.at_reconcile = False
        """Whether the Reconcile screen is in front, so that every event calls for a new match."""
        self.cannot_match = False
        """Whether the last attempt to match failed."""
        self.looking_problem: Problem | None = None
        """Why nothing new is read from the shoot at present; None where it is."""

    def start(self) -> None:
        for thread in self._threads:
            thread.start()

    def look(self) -> None:
        """Check for events at once, because something was written here."""
        self._looking.set()

    def stop(self) -> None:
        self._stop.set()
        self._looking.set()
        self._matching.set()
        for thread in self._threads:
            thread.join()

    def _listen_on(self) -> None:
        listen_for_changes(self._shoot.engine, self.look, self._stop.is_set)

    def _look_on(self) -> None:
        attempts, matched = (
            RetryState("Looking for what has happened in the shoot", self._show_trouble),
            -2,
        )
        from_disk = -_FROM_DISK_EVERY
        names: dict[int, int] = {}
        while not self._stop.is_set():
            self._looking.clear()
            pause = LOOK_EVERY
            try:
                with self._shoot.reading() as session:
                    if attempts.failing or time.monotonic() - from_disk >= _FROM_DISK_EVERY:
                        read_from_disk(session)
                        from_disk = time.monotonic()
                    newest, now_matched = newest_event_id(session), matched_until(session)
                    rematched = now_matched != matched
                    if rematched and now_matched >= 0:
                        names = self._compare(session, names)
                if recorded := self.door.server_answers():
                    self._tell(recorded)
                if newest != self._everybody.newest or rematched:
                    changed = self._everybody.catch_up(self._shoot)
                    self._changed(changed, rematched)
                    matched = now_matched
                if newest != now_matched:
                    self._matching.set()
                attempts.worked()
            except Exception as error:
                pause = attempts.failed(error)
            self._looking.wait(pause)

    def _show_trouble(self, said: str | Problem) -> None:
        self.looking_problem = said if isinstance(said, Problem) else None
        self._tell(said)

    def _compare(self, session: Session, names: dict[int, int]) -> dict[int, int]:
        """Report the names that a new match has taken away, and return the names as they are now."""
        if lost := names_lost_since(session, names):
            whose = lost_names_text(self._shoot, lost)
            self._tell(Problem(f"Named until now, and not any more: {whose}.", "F3: see why, and settle it."))
        return computed_names(session)

    def _match_on(self) -> None:
        attempts, took, last = RetryState("Matching the frames", self._tell), 0.0, -_MATCH_IDLE
        while not self._stop.is_set():
            self._matching.wait()
            self._matching.clear()
            now = time.monotonic()
            pause = 0.0
            try:
                if self._stop.is_set() or not self._matters(idle=now - last > _MATCH_IDLE):
                    continue
                update_match_in_process(self._shoot, self._stop.is_set)
                attempts.worked()
            except Exception as error:
                pause = attempts.failed(error)
                self._matching.set()
            if self.cannot_match != attempts.failing:
                self.cannot_match = attempts.failing
                self._changed(frozenset(), False)
            last = time.monotonic()
            took = last - now
            self.look()
            self._stop.wait(max(pause, 2 * took))  # matching never takes more than a third of the time

    def _back_up_on(self) -> None:
        backups = RetryState("Making a backup", self._tell)
        copies = RetryState("Keeping a copy for when the server is gone", self._tell)
        with suppress(OSError):  # what killed processes left behind does no harm
            sweep_drafts(self._shoot.folder)
        while not self._stop.is_set():
            try:
                self._shoot.back_up_if_due()
                backups.worked()
            except Exception as error:
                backups.failed(error)  # it need not be tried again at once: the record is not at risk
            try:
                save_local_copy(self._shoot)
                copies.worked()
            except NoServer:
                pass  # the thread that looks says so
            except Exception as error:
                copies.failed(error)
            self._stop.wait(_BACKUP_LOOK)

    def _matters(self, idle: bool) -> bool:
        """Whether events since the last match call for a new one.

        They do where they may change names, where the reconcile screen is in front, and after a minute
        without a match. Events after the shoot never change a name.
        """
        with self._shoot.reading() as session:
            since = select(EventRow.kind).where(EventRow.id > matched_until(session)).distinct()
            kinds = set(session.exec(since)) - AFTERWARDS
        if self.at_reconcile:
            return bool(kinds)
        return not _CHANGES_NAMES.isdisjoint(kinds) or (idle and bool(kinds))


T = TypeVar("T")


class WriteQueue:
    """A thread that carries out writes one after another, in the order of the keys pressed.

    Keys may come faster than the disk answers: writes wait here, and all are done before the screens close.
    """

    def __init__(self) -> None:
        self._pool = ThreadPoolExecutor(1, thread_name_prefix="writes")

    def do(self, work: Callable[[], T]) -> Future[T]:
        return self._pool.submit(work)

    def finish(self) -> None:
        """Wait until everything is written."""
        self._pool.shutdown(wait=True)
