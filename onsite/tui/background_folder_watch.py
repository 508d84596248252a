"""The watched folder of this station: watched as long as the app runs, whatever screen is in front."""

from __future__ import annotations

import threading
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path

from textual.message import Message

from onsite.core.errors import Problem
from onsite.frames.folder_watch_events import (
    FileIncomplete,
    FileRefused,
    FolderBack,
    FolderGone,
    FramesLanded,
    FrameTroubled,
    WatchedFolder,
    WatchEvent,
    WatchReady,
    read_watched_folder,
    save_watched_folder,
)
from onsite.store.shoot import Shoot
from onsite.tui.thread_retries import RetryState

_PATIENCE = 10.0  # seconds that stopping may take: a frame that is being read is finished first


@dataclass(frozen=True, slots=True)
class WatchState:
    """The state of watching. `folder` is None while no folder is watched.

    `ready` is true once all files that lay in the folder are ingested; `coming` are files still being
    written; `frame` is the newest frame.
    """

    folder: Path | None = None
    label: str = ""
    ready: bool = False
    gone: bool = False
    coming: tuple[Path, ...] = ()
    frame: int | None = None


class WatchChanged(Message, bubble=False):
    """The state of the watched folder has changed."""


class FolderWatching:
    """Starts and stops watching, and keeps its state.

    `start`, `stop`, `resume` and `close` wait for the disk and for each other, so the drawing thread must not
    call them. `changed` is called in another thread, with whether frames have landed, and so is `trouble`.
    """

    def __init__(
        self,
        shoot: Shoot,
        station: str,
        changed: Callable[[bool], None],
        trouble: Callable[[str | Problem], None],
    ) -> None:
        self._shoot = shoot
        self._station = station
        self._changed = changed
        self._trouble = trouble
        self._stop = threading.Event()
        self._thread: threading.Thread | None = None
        self._state = WatchState()
        self._changing = threading.Lock()

    @property
    def state(self) -> WatchState:
        return self._state

    def remembered(self) -> WatchedFolder | None:
        """The folder that this station watched last."""
        return read_watched_folder(self._shoot, self._station)

    def resume(self) -> None:
        """Resume watching the folder that this station watched when the screens were closed."""
        import coloraide  # noqa: F401  slow to load: better now than when the first frame lands

        last = self.remembered()
        if last is not None and last.on:
            self._begin(Path(last.folder), last.label)

    def start(self, folder: Path, label: str = "") -> None:
        """Watch this folder from now on, in place of any other. Raises Problem where it does not exist."""
        folder = folder.expanduser().absolute()
        if not folder.is_dir():
            raise Problem(f"There is no folder {folder}.", "Check the path, or whether the disk is there.")
        save_watched_folder(self._shoot, self._station, WatchedFolder(str(folder), label))
        self._end()
        self._begin(folder, label)

    def stop(self) -> None:
        """Stop watching, also for the next time the screens are opened."""
        state = self._state
        self._end()
        if state.folder is not None:
            save_watched_folder(
                self._shoot, self._station, WatchedFolder(str(state.folder), state.label, on=False)
            )
        self._changed(False)

    def close(self) -> None:
        """Stop watching until the screens are opened again."""
        self._end()

    def look_over(self) -> None:
        """Forget incomplete files that were taken away."""
        self._update(coming=tuple(path for path in self._state.coming if path.exists()))

    def _begin(self, folder: Path, label: str) -> None:
        self._state = WatchState(folder, label)
        stop = self._stop = threading.Event()
        self._thread = threading.Thread(
            target=self._watch, args=(folder, label, stop), name="watch", daemon=True
        )
        self._thread.start()
        self._changed(False)

    def _end(self) -> None:
        self._stop.set()
        if self._thread is not None:
            self._thread.join(_PATIENCE)
        self._thread = None
        self._state = WatchState()

    def _watch(self, folder: Path, label: str, stop: threading.Event) -> None:
        from onsite.frames.watch_folder import watch_folder

        attempts = RetryState(f"Watching {folder}", self._trouble)

        def tell(what: WatchEvent) -> None:
            if not stop.is_set():
                self._heard(what)
                if isinstance(what, WatchReady):
                    attempts.worked()

        while not stop.is_set():  # frames that the shoot has already are not ingested twice
            try:
                return watch_folder(self._shoot, folder, label, stop=stop, tell=tell)
            except Exception as error:
                if not stop.is_set():
                    self._update(ready=False)
                    pause = attempts.failed(error)
                    self._changed(False)
                    stop.wait(pause)

    def _heard(self, what: WatchEvent) -> None:
        match what:
            case FramesLanded(frame_ids):
                self._update(frame=frame_ids[-1], coming=self._still_coming())
            case FileIncomplete(path):
                self._update(coming=(*self._state.coming, path))
            case FolderGone():
                self._update(gone=True, coming=())
            case FolderBack():
                self._update(gone=False)
            case WatchReady():
                self._update(ready=True)
            case FileRefused(path, reason):
                self._update(coming=tuple(other for other in self._state.coming if other != path))
                self._trouble(Problem(f"{path.name} is not taken in: {reason}."))
            case FrameTroubled(path, reason) if path == self._state.folder:
                self._trouble(Problem(f"Frames are not taken in: {reason}", "They are tried again."))
            case FrameTroubled(path, reason) if path.is_dir():  # a single frame gets a warning
                self._trouble(Problem(f"The folder {path} does not open: {reason}."))
        self._changed(isinstance(what, FramesLanded))

    def _update(self, **changes: object) -> None:
        with self._changing:
            self._state = replace(self._state, **changes)  # type: ignore[arg-type]

    def _still_coming(self) -> tuple[Path, ...]:
        """The incomplete files that are not in the shoot yet."""
        from onsite.frames.save_frames import known_places

        coming = self._state.coming
        if coming:
            with suppress(Problem), self._shoot.reading() as session:
                known = known_places(session, {str(path.resolve()) for path in coming})
                coming = tuple(path for path in coming if str(path.resolve()) not in known)
        return coming
