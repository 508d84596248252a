"""Receives returned files: matched by name, checked by content, accepted where there is no doubt."""

from __future__ import annotations

import os
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from datetime import datetime
from functools import lru_cache
from math import ceil
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlmodel import Session

from onsite.core.errors import Problem
from onsite.core.progress import Progress, no_progress
from onsite.files.verified_copies import CopyFailed, copy_verified_as
from onsite.frames.find_frames import frame_labels
from onsite.frames.frame_previews import read_or_make_preview
from onsite.reconcile.current_match import current_verdicts
from onsite.retouch.batch_folder import OWN_FILES
from onsite.retouch.check_returned import ExpectedFiles, Fault, FaultKind, ReturnedFile, check_file
from onsite.retouch.retouch_folder import (
    HeldFile,
    SentFile,
    held_files,
    picture_colours,
    retouch_lock,
    save_held_files,
    sent_files,
    sight_of,
)
from onsite.retouch.same_picture.picture_likeness import Compared, working_size
from onsite.status.batch_status import Batch, BatchFrame, frames_at_retouch, read_batches
from onsite.store.events import EventKind, add_event
from onsite.store.shoot import Shoot

if TYPE_CHECKING:
    from PIL import Image

    from onsite.retouch.same_picture.identify_picture import Sight

RETOUCHED = "retouched"
"""Folder in the shoot's folder for accepted files."""

_SIGHTS = 4096
"""Small pictures cached while files are compared: some 600 MB at most."""

_COMPARED = 200
"""Pictures of which also the computed structure is cached, 1 to 2 MB each."""


@dataclass(frozen=True, slots=True)
class ReceiveResult:
    """The outcome for a folder of returned files."""

    accepted: tuple[tuple[ReturnedFile, str], ...]  # with the path in the shoot's folder
    held: tuple[ReturnedFile, ...]  # not accepted
    known: tuple[ReturnedFile, ...]  # accepted before
    repeated: tuple[Path, ...]  # same content as another file for the same pick
    missing: tuple[BatchFrame, ...]  # awaited from these batches and not in the folder


def receive_batch(
    shoot: Shoot,
    folder: Path,
    batch: str = "",
    spot: int = 0,
    station: str = "",
    dry_run: bool = False,
    progress: Progress = no_progress,
) -> ReceiveResult:
    """Takes in the returned files below `folder`. They are only read; accepted ones are copied and
    verified.

    `spot` per cent of the faultless files are held for a person to look at (`accept`). It can be run again on
    the same folder. Raises Problem where the folder cannot be listed or there is no such batch.
    """
    paths = _files(folder)
    with retouch_lock(shoot):
        batches = _batches_named(shoot, batch)
        expected = _expected(shoot, batches)
        checked = _checked(paths, expected, progress)
        checked, repeated = _doubled(checked)
        checked = _spot_checks(checked, spot)
        right = [returned for returned in checked if not returned.wrong and not returned.known]
        accepted, unkept = (
            ([(returned, "") for returned in right], []) if dry_run else _accept(shoot, right, station)
        )
        held = [returned for returned in checked if returned.wrong] + unkept
        if not dry_run:
            _keep_waiting(shoot, held, [returned for returned, _ in accepted])
    known = tuple(returned for returned in checked if returned.known)
    there = {returned.out.frame for returned in checked if returned.out}
    touched = {returned.out.batch for returned in checked if returned.out} if not batch else {batch}
    missing = [
        out
        for frame, out in expected.outs.items()
        if out.received is None and frame not in there and (out.batch in touched or not touched)
    ]
    return ReceiveResult(tuple(accepted), tuple(held), known, tuple(repeated), tuple(missing))


def _files(folder: Path) -> list[Path]:
    """All files below a folder, except hidden files and a batch's own lists."""

    def note(error: OSError) -> None:
        raise Problem(f"{error.filename} cannot be listed: {error.strerror}.", "Check its permissions.")

    if not folder.is_dir():
        raise Problem(f"{folder} is not a folder.", "Name the folder with the files that came back.")
    found = []
    for where, folders, names in os.walk(folder, onerror=note):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        found += [Path(where, n) for n in sorted(names) if not n.startswith(".") and n not in OWN_FILES]
    return found


def _batches_named(shoot: Shoot, name: str) -> list[Batch]:
    with shoot.reading() as session:
        batches = read_batches(session)
    if not batches:
        raise Problem("No batch was sent from this shoot.", "Send one: onsite retouch send DIR")
    if not name:
        return batches
    named = [batch for batch in batches if batch.name == name]
    if not named:
        names = ", ".join(batch.name for batch in batches)
        raise Problem(f"There is no batch {name!r}.", f"Batches here: {names}.")
    return named


def _expected(shoot: Shoot, batches: Iterable[Batch]) -> ExpectedFiles:
    outs = frames_at_retouch(batches)
    with shoot.reading() as session:
        labels = frame_labels(session)
    went: dict[int, SentFile] = {}
    for name in {out.batch for out in outs.values()}:
        went |= {
            frame: entry for frame, entry in sent_files(shoot, name).items() if outs[frame].batch == name
        }

    @lru_cache(_SIGHTS)
    def sent(frame: int) -> Image.Image | None:
        return sight_of(shoot, outs[frame].batch, frame)

    @lru_cache(_SIGHTS)
    def taken(frame: int) -> Image.Image | None:
        from PIL import Image

        path = read_or_make_preview(shoot, frame)
        if path is None:
            return None
        with Image.open(path) as picture:
            return working_size(picture)

    return ExpectedFiles(
        outs,
        went,
        {frame: verdict.person for frame, verdict in current_verdicts(shoot).items()},
        frozenset(entry.sha256 for entry in held_files(shoot) if entry.sent_back),
        shoot.settings.agreed.long_side,
        _compared(sent),
        _compared(taken),
        lambda frame: picture_colours(shoot, outs[frame].batch, frame),
        labels,
    )


def _compared(look: Callable[[int], Image.Image | None]) -> Sight:
    @lru_cache(_COMPARED)
    def sight(frame: int) -> Compared | None:
        picture = look(frame)
        return None if picture is None else Compared(picture)

    return sight


def _checked(paths: Sequence[Path], expected: ExpectedFiles, progress: Progress) -> list[ReturnedFile]:
    checked = []
    with ThreadPoolExecutor(os.cpu_count(), thread_name_prefix="check") as pool:
        try:
            for returned in pool.map(lambda path: check_file(path, expected), paths):
                checked.append(returned)
                progress(len(checked), len(paths))
        finally:
            pool.shutdown(cancel_futures=True)
    return checked


def _doubled(checked: Sequence[ReturnedFile]) -> tuple[list[ReturnedFile], list[Path]]:
    """(files, paths left out). Of several files with the same content the first is kept; of several with
    different contents for the same pick none is accepted."""
    repeated, seen = [], set()
    single = []
    for returned in checked:
        frame = returned.out.frame if returned.out else None
        if frame is not None and (frame, returned.sha256) in seen:
            repeated.append(returned.path)
        else:
            seen.add((frame, returned.sha256))
            single.append(returned)
    by_frame: dict[int, list[ReturnedFile]] = defaultdict(list)
    for returned in single:
        if returned.out and not returned.known and _may_be(returned):
            by_frame[returned.out.frame].append(returned)
    doubled = {id(returned): others for others in by_frame.values() if len(others) > 1 for returned in others}
    return [
        _as_double(returned, doubled[id(returned)]) if id(returned) in doubled else returned
        for returned in single
    ], repeated


def _may_be(returned: ReturnedFile) -> bool:
    """Whether a file may be the awaited version of its pick."""
    never = {FaultKind.REFUSED_BEFORE, FaultKind.UNREADABLE, FaultKind.BACK_ALREADY, FaultKind.RENAMED}
    return never.isdisjoint(wrong.trouble for wrong in returned.wrong)


def _as_double(returned: ReturnedFile, others: Sequence[ReturnedFile]) -> ReturnedFile:
    names = ", ".join(other.path.name for other in others if other is not returned)
    return replace(
        returned, wrong=(*returned.wrong, Fault(FaultKind.DOUBLED, f"there is another one for it: {names}"))
    )


def _spot_checks(checked: Sequence[ReturnedFile], spot: int) -> list[ReturnedFile]:
    """The files, with `spot` per cent of the faultless ones held for a person to look at: the same ones each
    time for the same files."""
    right = sorted(returned.sha256 for returned in checked if not returned.wrong and not returned.known)
    chosen = set(right[: ceil(len(right) * spot / 100)])
    wrong = (Fault(FaultKind.SPOT, "somebody should look at it, and accept it"),)
    return [
        replace(returned, wrong=wrong)
        if returned.sha256 in chosen and not returned.wrong and not returned.known
        else returned
        for returned in checked
    ]


def _accept(
    shoot: Shoot, right: Sequence[ReturnedFile], station: str
) -> tuple[list[tuple[ReturnedFile, str]], list[ReturnedFile]]:
    accepted, unkept = [], []
    for returned in right:
        assert returned.out is not None
        try:
            accepted.append((returned, keep_retouched(shoot, returned.path, returned.sha256, returned.out)))
        except CopyFailed as error:
            unkept.append(replace(returned, wrong=(Fault(FaultKind.NOT_KEPT, str(error)),)))
    if accepted:
        record_received(
            shoot,
            [(returned.out, file, returned.sha256) for returned, file in accepted if returned.out],
            station,
        )
    return accepted, unkept


def keep_retouched(shoot: Shoot, path: Path, sha256: str, out: BatchFrame) -> str:
    """Copies an accepted file into the shoot's folder; returns its path in there. Raises CopyFailed."""
    version = f"-v{out.version}" if out.version > 1 else ""
    name = f"{Path(out.file).stem}{version}{path.suffix.lower()}"
    place = copy_verified_as(path, shoot.folder / RETOUCHED / name, sha256)
    return place.relative_to(shoot.folder).as_posix()


def record_received(
    shoot: Shoot, files: Sequence[tuple[BatchFrame, str, str]], station: str, reason: str = ""
) -> None:
    """Records (pick, path in the shoot's folder, SHA-256) as accepted, all or none. Raises Problem where
    another station has decided on one of them since."""
    now = shoot.now()
    why: dict[str, Any] = {"reason": reason} if reason else {}
    with shoot.writing() as session:
        outs = frames_at_retouch(read_batches(session))
        for out, file, sha256 in files:
            if out.received is not None or outs.get(out.frame) != out:
                name = frame_labels(session)[out.frame]
                raise Problem(
                    f"Another station decided on {name} meanwhile: nothing was accepted.", "Do it again."
                )
            add_retouch_event(session, EventKind.RECEIVED, out, now, station, file=file, sha256=sha256, **why)


def add_retouch_event(
    session: Session, kind: EventKind, out: BatchFrame, at: datetime, station: str, **details: Any
) -> None:
    """Adds an event about a version of a pick in its batch."""
    whose = {"person_id": out.person, "frame_id": out.frame}
    add_event(session, kind, at, station=station, **whose, batch=out.batch, version=out.version, **details)


def _keep_waiting(shoot: Shoot, held: Sequence[ReturnedFile], accepted: Sequence[ReturnedFile]) -> None:
    """Saves which files are held. Entries about the same files from earlier runs are replaced."""
    done = {returned.out.frame for returned in accepted if returned.out}
    now = {str(returned.path.resolve()) for returned in (*held, *accepted)}
    before = [w for w in held_files(shoot) if w.sent_back or (w.path not in now and w.frame not in done)]
    decided = {(w.path, w.sha256) for w in before if w.sent_back}
    added = [
        HeldFile(
            returned.out.frame,
            returned.out.person,
            returned.out.batch,
            returned.out.version,
            str(returned.path.resolve()),
            returned.sha256,
            "; ".join(wrong.text for wrong in returned.wrong),
        )
        for returned in held
        if returned.out
        and _may_be(returned)
        and (str(returned.path.resolve()), returned.sha256) not in decided
    ]
    save_held_files(shoot, [*before, *added])
