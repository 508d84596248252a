"""Ingest: from files on cards and in folders to frames in the shoot. It can be run again at any time."""

from __future__ import annotations

import os
import time
from collections import deque
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

from sqlmodel import select

from onsite.frames.examine_file import ExaminedFile, Fingerprint, RefusedFile, examine_file, fingerprint
from onsite.frames.find_files import CandidateFile, find_files
from onsite.frames.previews import FOLDER as PREVIEWS
from onsite.frames.previews import save_preview
from onsite.frames.reread_slates import CodeSet, ShootCodes, reread_slates
from onsite.frames.save_frames import (
    WrittenFrames,
    complete_frame,
    known_places,
    record_copies,
    unexamined_frames,
    write_frames,
)
from onsite.frames.verified_copies import CopyFailed, check_destination, copy_verified
from onsite.slates.slate_verdict import SlateCounts, slate_verdict
from onsite.store.schema import Camera, Frame
from onsite.store.shoot import Shoot

if TYPE_CHECKING:
    from onsite.slates.reader.closed_set import KnownSlates

Progress = Callable[[int, int], None]
"""Called with how many files are done, of how many."""

_Places = dict[str, dict[Fingerprint, str]]
"""By path: what was found there, and the hash it had."""

_BATCH_SECONDS = 1.0
_BATCH_FILES = 200
_AHEAD = 4  # files in work or waiting per core: bounds the memory


@dataclass(slots=True)
class IngestResult:
    """What an ingest did. `frame_ids` are the frames of new files, by path. `refused` and `troubled` are
    (path, reason): the first are not in the shoot, the second are, but nobody could look at their picture;
    `passing` are those refused ones that may be read another time, `uncopied` those that only lack a copy.
    `slates` counts new files by what was said of the slates in them; `reread` the frames that were there with
    a slate that did not read, and reads now that more codes are known."""

    frames: int = 0
    files: int = 0
    known: int = 0
    repeated: int = 0
    copies: int = 0
    frame_ids: dict[Path, int] = field(default_factory=dict)
    refused: list[tuple[Path, str]] = field(default_factory=list)
    passing: set[Path] = field(default_factory=set)
    uncopied: dict[Path, str] = field(default_factory=dict)
    troubled: list[tuple[Path, str]] = field(default_factory=list)
    others: dict[str, int] = field(default_factory=dict)
    cameras: list[str] = field(default_factory=list)
    slates: SlateCounts = field(default_factory=SlateCounts.none)
    reread: int = 0
    seconds: float = 0.0


@dataclass(frozen=True, slots=True)
class _KnownFile:
    """A file that is in the shoot already, with the hash it had."""

    path: Path
    sha256: str


@dataclass(frozen=True, slots=True)
class _CopiedFile:
    """A file's outcome with where its copies are and what went wrong with them."""

    outcome: ExaminedFile | RefusedFile | _KnownFile
    places: tuple[Path, ...] = ()
    failed: tuple[str, ...] = ()


def ingest(
    shoot: Shoot,
    paths: Sequence[Path],
    label: str = "",
    copy_to: Sequence[Path] = (),
    progress: Progress | None = None,
    workers: int | None = None,
) -> IngestResult:
    """Reads every frame below `paths` into the shoot. Files are only read.

    What was read before, unchanged, is passed over. Work is saved about once a second, so that an ingest
    that was broken off is taken up where it stopped. Raises Problem where a path cannot be read at all.
    """
    began = time.monotonic()
    found = find_files(paths, leave=shoot.folder / PREVIEWS)
    for destination in copy_to:
        check_destination(destination, [path for path in paths if path.is_dir()])
    done = IngestResult(others=found.others, refused=list(found.refused))
    ingest_files(shoot, found.candidates, done, label, copy_to, progress, workers)
    done.cameras = _camera_labels(shoot)
    done.seconds = time.monotonic() - began
    return done


def ingest_files(
    shoot: Shoot,
    candidates: Sequence[CandidateFile],
    done: IngestResult,
    label: str = "",
    copy_to: Sequence[Path] = (),
    progress: Progress | None = None,
    workers: int | None = None,
    codes: ShootCodes | None = None,
) -> None:
    """Reads these files into the shoot and counts in `done` what is saved. Cheap for a few files, however
    many frames the shoot has, and cheaper where the same `codes` are given again. Raises Problem where the
    database cannot be written: nothing is lost, the same files can be taken in again."""
    compared = (codes or ShootCodes(shoot)).now()
    paths = {str(candidate.path.resolve()) for candidate in candidates}
    with shoot.reading() as session:
        known = known_places(session, paths)
    outcomes = _examined(shoot.folder, candidates, known, copy_to, workers, compared)
    for batch in _batches(outcomes, len(candidates), progress):
        _save(shoot, batch, label, done, compared.count)
    _look_at_the_rest(shoot, candidates, paths, done, compared)
    done.reread += reread_slates(shoot, candidates, paths, compared, workers)


def _examined(
    folder: Path,
    candidates: Sequence[CandidateFile],
    known: _Places,
    copy_to: Sequence[Path],
    workers: int | None,
    codes: CodeSet,
) -> Iterator[_CopiedFile]:
    """Every candidate's outcome, in order, a bounded number ahead, on all cores."""
    threads = workers or os.cpu_count() or 1
    waiting: deque[Future[_CopiedFile]] = deque()
    with ThreadPoolExecutor(threads, thread_name_prefix="examine") as pool:
        try:
            for candidate in candidates:
                waiting.append(
                    pool.submit(_examine_and_copy, folder, candidate, known, copy_to, codes.slates)
                )
                if len(waiting) >= threads * _AHEAD:
                    yield waiting.popleft().result()
            while waiting:
                yield waiting.popleft().result()
        finally:
            pool.shutdown(cancel_futures=True)


def _examine_and_copy(
    folder: Path,
    candidate: CandidateFile,
    known: _Places,
    copy_to: Sequence[Path],
    slates: KnownSlates | None,
) -> _CopiedFile:
    outcome = _examine_if_new(candidate, known, slates)
    if isinstance(outcome, ExaminedFile) and outcome.preview:
        save_preview(folder, outcome.sha256, outcome.preview)
        outcome = replace(outcome, preview=b"")
    if not copy_to or isinstance(outcome, RefusedFile):
        return _CopiedFile(outcome)
    places, failed = [], []
    for destination in copy_to:
        try:
            places.append(copy_verified(candidate.path, candidate.root, destination, outcome.sha256))
        except CopyFailed as error:
            failed.append(str(error))
    return _CopiedFile(outcome, tuple(places), tuple(failed))


def _examine_if_new(
    candidate: CandidateFile, known: _Places, slates: KnownSlates | None
) -> ExaminedFile | RefusedFile | _KnownFile:
    seen = known.get(str(candidate.path.resolve()))
    if seen:
        try:
            sha256 = seen.get(fingerprint(candidate.path))
            if sha256 is not None:
                return _KnownFile(candidate.path, sha256)
        except OSError as error:
            return RefusedFile(
                candidate.path, f"the file cannot be read: {error.strerror or error}", is_transient=True
            )
    return examine_file(candidate, look=not candidate.has_raw_partner, known=slates)


def _batches(
    outcomes: Iterable[_CopiedFile], total: int, progress: Progress | None
) -> Iterator[list[_CopiedFile]]:
    batch: list[_CopiedFile] = []
    since = time.monotonic()
    for number, outcome in enumerate(outcomes, 1):
        batch.append(outcome)
        if progress:
            progress(number, total)
        if len(batch) >= _BATCH_FILES or time.monotonic() - since > _BATCH_SECONDS:
            yield batch
            batch, since = [], time.monotonic()
    if batch:
        yield batch


def _save(shoot: Shoot, batch: Sequence[_CopiedFile], label: str, done: IngestResult, codes: int) -> None:
    for copied in batch:
        match copied.outcome:
            case RefusedFile(path, reason, passing):
                done.refused.append((path, reason))
                if passing:
                    done.passing.add(path)
            case _KnownFile():
                done.known += 1
            case ExaminedFile(candidate=candidate, trouble=trouble) if trouble:
                done.troubled.append((candidate.path, trouble))
        done.copies += len(copied.places)
        done.refused += [(_path(copied.outcome), reason) for reason in copied.failed]
        done.uncopied.update((_path(copied.outcome), reason) for reason in copied.failed)
    new = [copied.outcome for copied in batch if isinstance(copied.outcome, ExaminedFile)]
    copies = [
        (copied.outcome.sha256, place)
        for copied in batch
        if not isinstance(copied.outcome, RefusedFile)
        for place in copied.places
    ]
    if not new and not copies:
        return
    with shoot.writing() as session:
        written = write_frames(session, new, label, shoot.now(), codes)
        record_copies(session, copies)
    _count(done, written)
    for item in new:
        if (item.looked or item.symbols) and item.candidate.path in written.frame_ids:
            done.slates.add(slate_verdict(item.symbols, shoot.mark))


def _count(done: IngestResult, written: WrittenFrames) -> None:
    done.frames += written.frames
    done.files += written.files
    done.repeated += written.repeated
    done.frame_ids.update(written.frame_ids)


def _path(outcome: ExaminedFile | RefusedFile | _KnownFile) -> Path:
    return outcome.candidate.path if isinstance(outcome, ExaminedFile) else outcome.path


def _look_at_the_rest(
    shoot: Shoot,
    candidates: Iterable[CandidateFile],
    paths: Collection[str],
    done: IngestResult,
    codes: CodeSet,
) -> None:
    """Raws that were to be seen through their JPEG, where the JPEG turned out to be of another exposure."""
    with shoot.reading() as session:
        left = unexamined_frames(session, paths)
    looked_at: set[int] = set()
    for candidate in candidates if left else ():
        frame_id = left.get(str(candidate.path.resolve()))
        if frame_id is None or frame_id in looked_at:
            continue
        outcome = examine_file(candidate, known=codes.slates)
        if isinstance(outcome, RefusedFile):
            done.refused.append((outcome.path, outcome.reason))
            continue
        if outcome.trouble:
            done.troubled.append((candidate.path, outcome.trouble))
        if outcome.preview:
            save_preview(shoot.folder, outcome.sha256, outcome.preview)
        with shoot.writing() as session:
            complete_frame(session, session.get_one(Frame, frame_id), outcome, shoot.now(), codes.count)
        if outcome.looked:
            done.slates.add(slate_verdict(outcome.symbols, shoot.mark))
            looked_at.add(frame_id)


def _camera_labels(shoot: Shoot) -> list[str]:
    with shoot.reading() as session:
        return sorted(session.exec(select(Camera.label)))
