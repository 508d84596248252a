"""Ingest: reads files from memory cards and folders into the shoot as frames. Idempotent and resumable."""

from __future__ import annotations

import os
import time
from collections import deque
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from sqlmodel import select

from onsite.core.errors import FileReason
from onsite.core.json_data import NOT_JSON
from onsite.core.progress import Progress, no_progress
from onsite.files.atomic_write import sha256_of
from onsite.files.verified_copies import CopyFailed, changed_unseen, check_destination, copy_verified
from onsite.frames.examine_frame import (
    ExaminedFile,
    Fingerprint,
    RefusedFile,
    begins_with,
    examine_file,
    fingerprint,
)
from onsite.frames.find_frame_files import CandidateFile, find_picture_files
from onsite.frames.frame_previews import FOLDER as PREVIEWS
from onsite.frames.frame_previews import preview_place, save_preview
from onsite.frames.remeasure_colours import remeasure_colours
from onsite.frames.reread_frame_slates import CodeSet, ShootCodes, reread_slates
from onsite.frames.save_frames import (
    WrittenFrames,
    complete_frame,
    known_places,
    record_copies,
    recorded_copies,
    unexamined_frames,
    write_frames,
)
from onsite.slates.slate_verdict import SlateCounts, slate_verdict
from onsite.store.schema import Camera, File, FilePlace, Frame
from onsite.store.shoot import Shoot

if TYPE_CHECKING:
    from onsite.slates.reader.closed_set import KnownSlates

_Places = dict[str, dict[Fingerprint, str]]
"""By path: the SHA-256 of each fingerprint found there before."""

_BATCH_SECONDS = 1.0  # between two writes: the door waits for one no longer than for another's arrival
_BATCH_FILES = 200  # in one write, for the same reason
_AHEAD = 4  # files submitted per thread: bounds memory


@dataclass(slots=True)
class IngestResult:
    """The outcome of an ingest."""

    frames: int = 0
    """New frames."""
    files: int = 0
    """New files."""
    known: int = 0
    """Files skipped because they were read before and are unchanged."""
    repeated: int = 0
    """Files whose content was in the shoot already, from another place."""
    completed: int = 0
    """Files that were read before while they were being copied, and are whole now."""
    copies: int = 0
    """Verified copies that exist now."""
    refused: list[FileReason] = field(default_factory=list)
    """Files that are not in the shoot, and files without their copy."""
    troubled: list[FileReason] = field(default_factory=list)
    """Files that are in the shoot although their picture could not be examined."""
    slates: SlateCounts = field(default_factory=SlateCounts.none)
    """New files by the verdict on their slates."""
    reread: int = 0
    """Earlier frames whose slate reads now that more codes are known."""
    looked_again: int = 0
    """Earlier frames whose colour signature was of an earlier version, and is no longer."""
    others: dict[str, int] = field(default_factory=dict)
    """Numbers of files that are not pictures, by ending."""
    cameras: list[str] = field(default_factory=list)
    """Labels of all cameras in the shoot."""
    seconds: float = 0.0
    """How long it took, to the millisecond."""
    frame_ids: dict[Path, int] = field(default_factory=dict, metadata=NOT_JSON)
    """Frames of new files, by path."""
    passing: set[Path] = field(default_factory=set, metadata=NOT_JSON)
    """Refused files for which a later attempt may succeed."""
    uncopied: dict[Path, str] = field(default_factory=dict, metadata=NOT_JSON)
    """Files that are in the shoot and lack a copy, with the reason."""


@dataclass(frozen=True, slots=True)
class _KnownFile:
    """A file that is in the shoot already and unchanged, with its hash."""

    path: Path
    sha256: str


@dataclass(frozen=True, slots=True)
class _CopiedFile:
    """The outcome of examining a file, the places of its copies, and why others failed."""

    outcome: ExaminedFile | RefusedFile | _KnownFile
    places: tuple[Path, ...] = ()
    failed: tuple[str, ...] = ()


def ingest(
    shoot: Shoot,
    paths: Sequence[Path],
    label: str = "",
    copy_to: Sequence[Path] = (),
    progress: Progress = no_progress,
    workers: int | None = None,
    look_again: bool = False,
) -> IngestResult:
    """Read every frame below `paths` into the shoot. Original files are never changed.

    Files read before and unchanged are skipped. Work is saved about once a second, so an interrupted ingest
    resumes where it stopped. `label` names the camera; `copy_to` are folders for verified copies. With
    `look_again`, colour signatures of earlier versions are made anew. Raises Problem where a path cannot be
    read at all.
    """
    began = time.monotonic()
    found = find_picture_files(paths, leave=shoot.folder / PREVIEWS)
    for destination in copy_to:
        check_destination(destination, [path for path in paths if path.is_dir()])
    done = IngestResult(others=found.others, refused=list(found.refused))
    ingest_files(shoot, found.candidates, done, label, copy_to, progress, workers)
    if look_again:
        paths_found = {str(candidate.path.resolve()) for candidate in found.candidates}
        done.looked_again = remeasure_colours(shoot, found.candidates, paths_found, workers)
    done.cameras = _camera_labels(shoot)
    done.seconds = round(time.monotonic() - began, 3)
    return done


def ingest_files(
    shoot: Shoot,
    candidates: Sequence[CandidateFile],
    done: IngestResult,
    label: str = "",
    copy_to: Sequence[Path] = (),
    progress: Progress = no_progress,
    workers: int | None = None,
    codes: ShootCodes | None = None,
) -> None:
    """Read these files into the shoot and add the outcome to `done`.

    Cheap for a few files, however many frames the shoot has, and cheaper when the same `codes` are passed
    again. Raises Problem where the database cannot be written: nothing is lost, and the same files can be
    ingested again.
    """
    compared = (codes or ShootCodes(shoot)).now()
    paths = {str(candidate.path.resolve()) for candidate in candidates}
    with shoot.reading() as session:
        known = known_places(session, paths)
        copies = recorded_copies(session) if copy_to else {}
    examine = partial(_examine_and_copy, shoot.folder, known, copy_to, copies, compared.slates)
    outcomes = _examined(candidates, examine, workers)
    for batch in _batches(outcomes, len(candidates), progress):
        _save(shoot, batch, label, done, compared.count)
    _look_at_the_rest(shoot, candidates, paths, done, compared)
    done.reread += reread_slates(shoot, candidates, paths, compared, workers)


def _examined(
    candidates: Sequence[CandidateFile],
    examine: Callable[[CandidateFile], _CopiedFile],
    workers: int | None,
) -> Iterator[_CopiedFile]:
    """Examine and copy candidates on all cores; yield outcomes in order, a bounded number ahead."""
    threads = workers or os.cpu_count() or 1
    waiting: deque[Future[_CopiedFile]] = deque()
    with ThreadPoolExecutor(threads, thread_name_prefix="examine") as pool:
        try:
            for candidate in candidates:
                waiting.append(pool.submit(examine, candidate))
                if len(waiting) >= threads * _AHEAD:
                    yield waiting.popleft().result()
            while waiting:
                yield waiting.popleft().result()
        finally:
            pool.shutdown(cancel_futures=True)


def _examine_and_copy(
    folder: Path,
    known: _Places,
    copy_to: Sequence[Path],
    copies: Mapping[str, Collection[str]],
    slates: KnownSlates | None,
    candidate: CandidateFile,
) -> _CopiedFile:
    """Examine a file and copy it; `copies` are the paths of earlier copies, by SHA-256."""
    outcome = _examine_if_new(candidate, known, slates)
    if isinstance(outcome, ExaminedFile) and outcome.preview:
        save_preview(folder, outcome.sha256, outcome.preview)
        outcome = replace(outcome, preview=b"")
    if not copy_to or isinstance(outcome, RefusedFile):
        return _CopiedFile(outcome)
    replaces = outcome.replaces if isinstance(outcome, ExaminedFile) else ""
    made_before = copies.get(outcome.sha256, ())
    places, failed = [], []
    for destination in copy_to:
        try:
            places.append(
                copy_verified(
                    candidate.path, candidate.root, destination, outcome.sha256, replaces, made_before
                )
            )
        except CopyFailed as error:
            failed.append(str(error))
    return _CopiedFile(outcome, tuple(places), tuple(failed))


def _examine_if_new(
    candidate: CandidateFile, known: _Places, slates: KnownSlates | None
) -> ExaminedFile | RefusedFile | _KnownFile:
    try:
        before = _read_before(candidate.path, known.get(str(candidate.path.resolve()), {}))
    except OSError as error:
        return RefusedFile(
            candidate.path, f"the file cannot be read: {error.strerror or error}", is_transient=True
        )
    if isinstance(before, RefusedFile | _KnownFile):
        return before
    examined = examine_file(candidate, look=not candidate.has_picture_partner, known=slates)
    return replace(examined, replaces=before) if isinstance(examined, ExaminedFile) else examined


def _read_before(path: Path, seen: dict[Fingerprint, str]) -> RefusedFile | _KnownFile | str:
    """What was read at a path before, by the fingerprints seen there, compared with what is there now.

    The same file; a file that is damaged by now; the SHA-256 of this file's beginning, where it was read half
    copied; or an empty text for another file. Raises OSError.
    """
    if not seen:
        return ""
    now = fingerprint(path)
    if now in seen:
        return _KnownFile(path, seen[now])
    for earlier, sha256 in seen.items():
        if (earlier.size, earlier.mtime_ns) == (now.size, now.mtime_ns):
            return RefusedFile(path, changed_unseen(sha256, sha256_of(path)), was=sha256)
    for earlier, sha256 in seen.items():
        if begins_with(path, earlier):
            if now.size >= earlier.size:
                return sha256
            lost = f"the file has lost its end: {now.size:,} of {earlier.size:,} bytes are left"
            return RefusedFile(path, lost, was=sha256)
    return ""


def _batches(outcomes: Iterable[_CopiedFile], total: int, progress: Progress) -> Iterator[list[_CopiedFile]]:
    """Yield outcomes in batches, about one a second."""
    batch: list[_CopiedFile] = []
    since = time.monotonic()
    for number, outcome in enumerate(outcomes, 1):
        batch.append(outcome)
        progress(number, total)
        if len(batch) >= _BATCH_FILES or time.monotonic() - since > _BATCH_SECONDS:
            yield batch
            batch, since = [], time.monotonic()
    if batch:
        yield batch


def _save(shoot: Shoot, batch: Sequence[_CopiedFile], label: str, done: IngestResult, codes: int) -> None:
    """Write a batch in one transaction and add it to `done`."""
    good = _good_copies(shoot, [c.outcome.was for c in batch if isinstance(c.outcome, RefusedFile)])
    for copied in batch:
        match copied.outcome:
            case RefusedFile(path, reason, passing, was):
                whole = f"; a whole copy is {good[was]}" if was in good else ""
                done.refused.append(FileReason(path, reason + whole))
                if passing:
                    done.passing.add(path)
            case _KnownFile():
                done.known += 1
            case ExaminedFile(candidate=candidate, trouble=trouble) if trouble:
                done.troubled.append(FileReason(candidate.path, trouble))
        done.copies += len(copied.places)
        done.refused += [FileReason(_path(copied.outcome), reason) for reason in copied.failed]
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
        if item.replaces:
            preview_place(shoot.folder, item.replaces).unlink(missing_ok=True)
        if (item.looked or item.symbols) and item.candidate.path in written.frame_ids:
            done.slates.add(slate_verdict(item.symbols, shoot.mark))


def _good_copies(shoot: Shoot, hashes: Iterable[str]) -> dict[str, Path]:
    """A copy that reads back whole, by SHA-256, of files whose original is damaged."""
    good: dict[str, Path] = {}
    wanted = set(filter(None, hashes))
    if not wanted:
        return good
    with shoot.reading() as session:
        rows = session.exec(
            select(File.sha256, FilePlace.path).where(
                FilePlace.file_id == File.id, File.sha256.in_(wanted), FilePlace.is_copy
            )
        ).all()
    for sha256, place in rows:
        with suppress(OSError):
            if sha256 not in good and sha256_of(Path(place)) == sha256:
                good[sha256] = Path(place)
    return good


def _count(done: IngestResult, written: WrittenFrames) -> None:
    done.frames += written.frames
    done.files += written.files
    done.repeated += written.repeated
    done.completed += written.completed
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
    """Examine raw files that were skipped for their JPEG, where the JPEG is of another exposure."""
    with shoot.reading() as session:
        left = unexamined_frames(session, paths)
    looked_at: set[int] = set()
    for candidate in candidates if left else ():
        frame_id = left.get(str(candidate.path.resolve()))
        if frame_id is None or frame_id in looked_at:
            continue
        outcome = examine_file(candidate, known=codes.slates)
        if isinstance(outcome, RefusedFile):
            done.refused.append(FileReason(outcome.path, outcome.reason))
            continue
        if outcome.trouble:
            done.troubled.append(FileReason(candidate.path, outcome.trouble))
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
