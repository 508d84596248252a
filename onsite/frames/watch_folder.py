"""Watching a folder that a tethering program writes into: each frame is ingested as it lands.

The folder is listed repeatedly, which misses nothing; notifications by the operating system only shorten the
delay. A file is ingested when it is complete, and retried until it is in the shoot.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from threading import Event

from sqlalchemy.exc import SQLAlchemyError
from sqlmodel import select

from onsite.core.errors import Problem
from onsite.files.verified_copies import check_destination
from onsite.frames.find_frame_files import (
    CandidateFile,
    FileKind,
    file_kind_of_name,
    has_encodable_name,
    printable_path,
    with_partners,
)
from onsite.frames.folder_watch_events import (
    FileIncomplete,
    FileRefused,
    FolderBack,
    FolderGone,
    FramesLanded,
    FrameTroubled,
    WatchEvent,
    WatchReady,
)
from onsite.frames.frame_previews import FOLDER as PREVIEWS
from onsite.frames.ingest import IngestResult, ingest_files
from onsite.frames.reread_frame_slates import ShootCodes
from onsite.frames.watched_folder_changes import (
    BETWEEN_LOOKS,
    ChangeWaiter,
    FileEnding,
    FileState,
    NotificationWaiter,
    PollingWaiter,
    Stamp,
    ending_of,
    is_complete,
    is_passed_over,
    list_files,
)
from onsite.store.schema import FilePlace
from onsite.store.shoot import Shoot

_LIST_SECONDS = 1.0  # least time between listings, with notifications
_LIST_SECONDS_POLLING = 0.25  # and without
_LIST_SHARE = 0.1  # largest share of time spent listing a folder with very many files
_GONE_SECONDS = 1.0  # between looks for a folder that is not there
_AGAIN_SECONDS = 2.0  # until a file that could not be ingested is retried
_SLOW_SECONDS = 0.5  # after which an incomplete file is reported
_AT_ONCE = 8  # files ingested before the next look at the folder
_PICTURES = [e for ending in (".jpg", ".jpeg", ".heic", ".heif", ".hif") for e in (ending, ending.upper())]


def watch_folder(
    shoot: Shoot,
    folder: Path,
    label: str = "",
    *,
    stop: Event,
    tell: Callable[[WatchEvent], None],
    copy_to: Sequence[Path] = (),
    by_events: bool = True,
) -> None:
    """Ingest the files in `folder`, then every frame as it lands, until `stop` is set. Run it in a thread.

    `tell` is called in that thread with every event. Without `by_events` the folder is only polled, for
    network shares without notifications. Original files are never changed. A folder that does not exist yet
    is waited for. Raises Problem where `copy_to` cannot be copied to.
    """
    for destination in copy_to:
        check_destination(destination, [folder])
    _Watcher(shoot, folder, label, stop, tell, copy_to, by_events).run()


@dataclass(slots=True)
class _PendingFile:
    """A file not ingested yet. Times are of the monotonic clock."""

    kind: FileKind
    first: FileState
    """The first observation of its present size and modification time."""
    since: float
    """When it was first seen."""
    late: bool
    """Whether it came after the files that were there at the start."""
    ending: FileEnding | None = None
    is_reported: bool = False
    held: float = 0.0
    """Time before which it is not retried."""


@dataclass(slots=True)
class _Watcher:
    """The state of watching one folder."""

    shoot: Shoot
    folder: Path
    label: str
    stop: Event
    emit: Callable[[WatchEvent], None]
    copy_to: Sequence[Path]
    by_events: bool
    done: dict[str, Stamp] = field(default_factory=dict)
    troubled: set[str] = field(default_factory=set)
    pending: dict[str, _PendingFile] = field(default_factory=dict)
    reported: set[tuple[str, str]] = field(default_factory=set)
    identity: tuple[int, int] = (0, 0)
    is_ready: bool = False
    wake: ChangeWaiter | None = None
    list_at: float = 0.0
    codes: ShootCodes = field(init=False)

    def __post_init__(self) -> None:
        self.codes = ShootCodes(self.shoot)

    def run(self) -> None:
        """Watch until stopped."""
        try:
            self._recall()
            while not self.stop.is_set():
                self._turn()
        finally:
            if self.wake:
                self.wake.close()

    def _turn(self) -> None:
        """List the folder if due, ingest complete files, then wait."""
        if time.monotonic() >= self.list_at and not self._list():
            return
        complete = self._complete(time.monotonic())
        if complete:
            self._take_in(complete[:_AT_ONCE])
        elif not self.is_ready and not any(not p.late and not p.is_reported for p in self.pending.values()):
            self.is_ready = True
            self.emit(WatchReady())
        if self.wake:
            seconds = 0.0 if len(complete) > _AT_ONCE else self._patience(time.monotonic())
            for path in self.wake.wait(seconds):
                self._hear(path)

    def _recall(self) -> None:
        """Load what the shoot has from this folder already, retrying until the database answers.

        Where copies are wanted, nothing counts as done: the copies of each file are checked again.
        """
        there = self.folder.resolve()
        while not self.copy_to and not self.stop.is_set():
            try:
                with self.shoot.reading() as session:
                    rows = session.exec(
                        select(FilePlace.path, FilePlace.size, FilePlace.mtime_ns)
                        .where(FilePlace.path.startswith(f"{there}{os.sep}", autoescape=True))
                        .order_by(FilePlace.id)
                    ).all()
            except Problem as problem:
                self._report_once(self.folder, problem.what)
                self.stop.wait(_AGAIN_SECONDS)
                continue
            for path, size, mtime_ns in rows:
                if Path(path).is_relative_to(there):  # LIKE may ignore case
                    self.done[str(self.folder / Path(path).relative_to(there))] = size, mtime_ns
            return

    # Observing the folder

    def _list(self) -> bool:
        """List the folder. Where it is gone, report that, wait and return False."""
        began = time.monotonic()
        try:
            listing = list_files(self.folder, self.shoot.folder / PREVIEWS)
        except OSError:
            if self.identity != (0, 0) or self.wake is None:
                self._lose()
            self.stop.wait(_GONE_SECONDS)
            return False
        if listing.identity != self.identity:
            self._listen(listing.identity)
        for path, reason in listing.unlisted.items():
            self._report_once(Path(path), reason)
        now = time.monotonic()
        for path in [path for path in self.pending if path not in listing.files]:
            del self.pending[path]
        for path, stamp in listing.files.items():
            if self.done.get(path) != stamp:
                self._note(path, stamp, now)
        rest = _LIST_SECONDS if isinstance(self.wake, NotificationWaiter) else _LIST_SECONDS_POLLING
        self.list_at = now + max(rest, (now - began) / _LIST_SHARE)
        return True

    def _lose(self) -> None:
        """Report that the folder is gone, and poll for it."""
        self.emit(FolderGone(self.folder))
        self.pending.clear()
        if self.wake:
            self.wake.close()
        self.wake, self.identity = PollingWaiter(self.stop), (0, 0)

    def _listen(self, identity: tuple[int, int]) -> None:
        """Start notifications for the present folder, which may be another one of the same name."""
        if self.wake is not None and self.identity == (0, 0):
            self.is_ready = False
            self.emit(FolderBack(self.folder))
        if self.wake:
            self.wake.close()
        self.wake = NotificationWaiter(self.stop, self.folder) if self.by_events else PollingWaiter(self.stop)
        self.identity = identity

    def _hear(self, path: Path) -> None:
        """Observe a path from a notification, if it may be a frame; listing finds everything else."""
        try:
            below = path.relative_to(self.folder.absolute())
        except ValueError:
            self.list_at = 0.0  # reported under another name of the folder
            return
        if not below.parts:
            self.list_at = 0.0  # the folder itself, perhaps gone
        if any(map(is_passed_over, below.parts)) or file_kind_of_name(path.name) is None:
            return
        path = self.folder / below
        if path.resolve().is_relative_to((self.shoot.folder / PREVIEWS).resolve()):
            return
        stamp = _stamp(path) if path.is_file() else None
        if stamp is not None and self.done.get(str(path)) != stamp:
            self._note(str(path), stamp, time.monotonic())

    def _note(self, path: str, stamp: Stamp, now: float) -> None:
        """Add a file to the pending ones, or update its observation."""
        kind = file_kind_of_name(path)
        seen = FileState(*stamp, now)
        pending = self.pending.get(path)
        if pending is not None:
            if not pending.first.same_as(seen):
                pending.first, pending.ending = seen, None
        elif not has_encodable_name(Path(path)):
            self._refuse(path, "the file's name is not in UTF-8: rename it")
            self.done[path] = stamp
        elif kind is not None:
            self.pending[path] = _PendingFile(kind, seen, now, late=self.is_ready)

    # Waiting

    def _complete(self, now: float) -> list[str]:
        """Return the complete files; those that came while watching before those from the start."""
        complete = []
        for path, pending in list(self.pending.items()):
            if pending.held > now or now - pending.first.at < BETWEEN_LOOKS:
                continue
            try:
                there = Path(path).stat()
                self._note(path, (there.st_size, there.st_mtime_ns), now)
                if pending.ending in (None, FileEnding.CUT) and pending.first.size:
                    pending.ending = ending_of(Path(path), pending.kind)
            except FileNotFoundError:
                del self.pending[path]
                continue
            except OSError as error:
                if now - pending.since > _AGAIN_SECONDS:  # the writing program may lock it for a while
                    self._refuse(path, f"the file cannot be read: {error.strerror or error}")
                    pending.is_reported = True
                pending.held = now + min(max(now - pending.since, BETWEEN_LOOKS), _AGAIN_SECONDS)
                continue
            seen = FileState(there.st_size, there.st_mtime_ns, now)
            if pending.ending is not None and is_complete(pending.first, seen, pending.ending):
                complete.append(path)
            elif now - pending.since > _SLOW_SECONDS and not pending.is_reported:
                pending.is_reported = True
                self.emit(FileIncomplete(Path(path)))
        return sorted(complete, key=lambda path: (not self.pending[path].late, path))

    def _patience(self, now: float) -> float:
        """Return the seconds until there may be something to do."""
        if not self.is_ready and not self.pending:
            return 0.0
        due = [self.list_at]
        for pending in self.pending.values():
            settles = pending.first.at + BETWEEN_LOOKS
            due.append(max(pending.held, settles if settles > now else now + BETWEEN_LOOKS))
        return max(min(due) - now, 0.0)

    # Ingesting

    def _take_in(self, paths: Sequence[str]) -> None:
        """Ingest complete files and report the outcome."""
        done = IngestResult()
        stamps = {path: (self.pending[path].first.size, self.pending[path].first.mtime_ns) for path in paths}
        try:
            ingest_files(
                self.shoot, self._candidates(paths), done, self.label, self.copy_to, codes=self.codes
            )
        except (Problem, OSError, SQLAlchemyError) as error:
            self._report_once(self.folder, error.what if isinstance(error, Problem) else _first_line(error))
            self._hold(paths)
        else:
            self.reported = {pair for pair in self.reported if pair[0] != str(self.folder)}
            self._settle(stamps, done)
        if done.frame_ids:
            self.emit(FramesLanded(tuple(dict.fromkeys(done.frame_ids.values()))))

    def _candidates(self, paths: Iterable[str]) -> list[CandidateFile]:
        found = with_partners(CandidateFile(Path(p), self.folder, self.pending[p].kind) for p in paths)
        return [
            replace(c, has_picture_partner=True) if c.kind is FileKind.RAW and self._has_picture(c) else c
            for c in found
        ]

    def _has_picture(self, raw: CandidateFile) -> bool:
        """Whether the JPEG or HEIC beside a raw file has been ingested and examined."""
        beside = (str(raw.path.with_suffix(ending)) for ending in _PICTURES)
        return any(path in self.done and path not in self.troubled for path in beside)

    def _settle(self, stamps: dict[str, Stamp], done: IngestResult) -> None:
        """Drop pending files that are in the shoot or never will be; hold the rest for a retry."""
        refused = {str(path): reason for path, reason in done.refused}
        for path, reason in ((Path(file), why) for file, why in done.troubled):
            self.troubled.add(str(path))
            self.emit(FrameTroubled(path, reason))
        for path, reason in done.uncopied.items():
            self._report_once(path, reason)
            self._hold([str(path)])
        for path in done.passing:
            if _stamp(path) == stamps[str(path)]:  # else it is gone or being rewritten
                self._refuse(str(path), refused[str(path)])
            self._hold([str(path)])
        for key in stamps.keys() - {str(path) for path in (*done.uncopied, *done.passing)}:
            if key in refused:
                self._refuse(key, refused[key])
            self.done[key] = stamps[key]
            del self.pending[key]

    def _hold(self, paths: Iterable[str]) -> None:
        """Leave files alone until their next retry."""
        for path in paths:
            self.pending[path].held = time.monotonic() + _AGAIN_SECONDS
            self.pending[path].is_reported = True

    def _refuse(self, path: str, reason: str) -> None:
        if (path, reason) not in self.reported:
            self.reported.add((path, reason))
            self.emit(FileRefused(printable_path(Path(path)), reason))

    def _report_once(self, path: Path, reason: str) -> None:
        if (str(path), reason) not in self.reported:
            self.reported.add((str(path), reason))
            self.emit(FrameTroubled(path, reason))


def _stamp(path: Path) -> Stamp | None:
    """Return size and modification time of a file; None where it is gone."""
    try:
        now = path.stat()
    except OSError:
        return None
    return now.st_size, now.st_mtime_ns


def _first_line(error: Exception) -> str:
    """Return the first line of an error's message, else its type."""
    return next(iter(str(error).splitlines()), "") or type(error).__name__
