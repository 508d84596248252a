"""The folder that this station watches. It goes on whatever screen is in front, as long as any is open."""

from __future__ import annotations

import threading
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path

from textual.message import Message

from onsite.core.errors import Problem
from onsite.frames.watch_events import (
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
from onsite.tui.retries import RetryState

_PATIENCE = 10.0  # seconds that ending may take: a frame that is being read is finished


@dataclass(frozen=True, slots=True)
class WatchState:
    """`folder` is None while none is watched. `ready` once what lay in it is taken in; `coming` are files
    still being written; `frame` is the one that landed last."""

    folder: Path | None = None
    label: str = ""
    ready: bool = False
    gone: bool = False
    coming: tuple[Path, ...] = ()
    frame: int | None = None


class WatchChanged(Message, bubble=False):
    """The folder that is watched stands differently."""


class FolderWatching:
    """Starts and stops watching, and knows how it stands.

    `start`, `stop`, `resume` and `close` wait for the disk and for each other: not for the thread that draws.
    `changed` is called in another thread, with whether frames have landed, and so is `trouble`.
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
        """The folder watched last at this station."""
        return read_watched_folder(self._shoot, self._station)

    def resume(self) -> None:
        """Goes on where this station was when the screens were closed."""
        import coloraide  # noqa: F401  it takes a while to load: better now than when the first frame lands

        last = self.remembered()
        if last is not None and last.on:
            self._begin(Path(last.folder), last.label)

    def start(self, folder: Path, label: str = "") -> None:
        """Watches a folder from now on, instead of the one before. Raises Problem where there is none."""
        folder = folder.expanduser().absolute()
        if not folder.is_dir():
            raise Problem(f"There is no folder {folder}.", "Check the path, or whether the disk is there.")
        save_watched_folder(self._shoot, self._station, WatchedFolder(str(folder), label))
        self._end()
        self._begin(folder, label)

    def stop(self) -> None:
        """Watches no more, also when the screens are opened again."""
        state = self._state
        self._end()
        if state.folder is not None:
            save_watched_folder(
                self._shoot, self._station, WatchedFolder(str(state.folder), state.label, on=False)
            )
        self._changed(False)

    def close(self) -> None:
        """Ends watching for this time."""
        self._end()

    def look_over(self) -> None:
        """Forgets files that were coming in and were taken away."""
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

        while not stop.is_set():  # what is in the shoot already is not taken in twice
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
            case FrameTroubled(path, reason) if path.is_dir():  # of a frame, a warning tells
                self._trouble(Problem(f"The folder {path} does not open: {reason}."))
        self._changed(isinstance(what, FramesLanded))

    def _update(self, **changes: object) -> None:
        with self._changing:
            self._state = replace(self._state, **changes)  # type: ignore[arg-type]

    def _still_coming(self) -> tuple[Path, ...]:
        """Of the files that were coming in, those that the shoot does not have yet."""
        from onsite.frames.save_frames import known_places

        coming = self._state.coming
        if coming:
            with suppress(Problem), self._shoot.reading() as session:
                known = known_places(session, {str(path.resolve()) for path in coming})
                coming = tuple(path for path in coming if str(path.resolve()) not in known)
        return coming
