"""Sends a batch: a folder with the picks, their notes, a list and a manifest, whole or not at all.

The folder is written beside its place under a hidden name, and renamed inside the transaction that records
it. A crash before leaves no batch; a crash at that instant leaves a folder that is reported as unrecorded.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from sqlmodel import Session

from onsite.core.errors import Problem
from onsite.core.progress import Progress, no_progress
from onsite.files.atomic_write import draft_folder, write_problem
from onsite.files.file_name_pattern import FileName, empty_field_notices, file_stem, parse_pattern
from onsite.files.file_names import draft_of
from onsite.frames.find_frames import find_frames, frame_labels
from onsite.reconcile.current_match import current_verdicts
from onsite.retouch.batch_contents import (
    BatchItem,
    BatchOrder,
    DuePick,
    PickNotSent,
    SentBatch,
    due_picks,
    file_name_out,
)
from onsite.retouch.batch_folder import MANIFEST, write_batch_folder
from onsite.retouch.files_to_retouch import (
    DevelopedFiles,
    NoSource,
    OriginalFile,
    SourceFile,
    originals,
    source_of,
    without_metadata,
)
from onsite.retouch.retouch_folder import SentFile, forget_batch, remember_batch, retouch_lock
from onsite.roster.read_people import read_people
from onsite.roster.roster_groups import in_group
from onsite.status.batch_status import BatchFrame, frames_at_retouch, next_name, read_batches
from onsite.status.picture_status import read_picture_statuses
from onsite.store.events import EventKind, add_event
from onsite.store.shoot import Shoot


def send_batch(
    shoot: Shoot,
    folder: Path,
    order: BatchOrder,
    station: str = "",
    dry_run: bool = False,
    progress: Progress = no_progress,
    announce: Callable[[SentBatch], None] | None = None,
) -> SentBatch:
    """Sends what is due into `folder`, which must be new or empty.

    Originals are only read; every copy is read back. `announce` is called with the batch before it goes out.
    Raises Problem, and sends nothing, where nothing is due, where the folder cannot be written completely, or
    where another station has sent one of the picks since.
    """
    with retouch_lock(shoot):
        _refuse_used(shoot, folder)
        batch, due, not_out, files = _plan(shoot, order)
        named = _named(shoot, order, due, files)
        names = {
            due_pick.frame: file_name_out(
                due_pick.person, due_pick.frame, named[due_pick.frame].text if named else ""
            )
            for due_pick in due
        }
        items, without = _with_sources(shoot, order, due, files, names, progress)
        if not items:
            raise Problem(*_nothing(shoot, order, [*not_out, *without]))
        price = None if order.price is None else order.price * len(items)
        notices = empty_field_notices(
            (due_pick.due.person, named[due_pick.due.frame]) for due_pick in items if named
        )
        sent = SentBatch(batch, folder, tuple(items), (*not_out, *without), price, tuple(notices))
        if announce:
            announce(sent)
        if not dry_run:
            _send(shoot, sent, order, station)
        return sent


def _named(
    shoot: Shoot, order: BatchOrder, due: Sequence[DuePick], files: dict[int, list[OriginalFile]]
) -> dict[int, FileName]:
    """The file name of each frame by the shoot's pattern; empty where no names are to go out."""
    if not order.named:
        return {}
    pattern = parse_pattern(shoot.settings.agreed.names)
    return {
        pick.frame: file_stem(
            pattern,
            pick.person,
            shoot.settings,
            frame=pick.frame,
            pick=pick.pick,
            original=Path(files[pick.frame][0].name).stem if pick.frame in files else "",
            ascii_only=True,
        )
        for pick in due
    }


def _refuse_used(shoot: Shoot, folder: Path) -> None:
    if not folder.exists() or (folder.is_dir() and not any(folder.iterdir())):
        return
    with shoot.reading() as session:
        recorded = {batch.folder for batch in read_batches(session)}
    if (folder / MANIFEST).is_file() and str(folder.resolve()) not in recorded:
        raise Problem(
            f"{folder} holds a batch that is not in the record: sending it was broken off.",
            "Remove that folder and send again.",
        )
    raise Problem(f"{folder} is not an empty folder.", "Name a new folder for the batch.")


def _plan(
    shoot: Shoot, order: BatchOrder
) -> tuple[str, list[DuePick], list[PickNotSent], dict[int, list[OriginalFile]]]:
    owners = {frame: verdict.person for frame, verdict in current_verdicts(shoot).items()}
    with shoot.reading() as session:
        frames = find_frames(session, order.frames) if order.frames else None
        batches = read_batches(session)
        awaited = {frame: out.version for frame, out in frames_at_retouch(batches).items()}
        everybody = {
            entry.id: entry
            for entry in in_group(read_people(session), order.group, lambda entry: entry.group)
        }
        after = {
            person: status for person, status in read_picture_statuses(session).items() if person in everybody
        }
        due, not_out = due_picks(after, everybody, owners, awaited, frames)
        files = originals(session, {entry.frame for entry in due})
        return next_name(session), due, not_out, files


def _with_sources(
    shoot: Shoot,
    order: BatchOrder,
    due: Sequence[DuePick],
    files: dict[int, list[OriginalFile]],
    names: dict[int, str],
    progress: Progress,
) -> tuple[list[BatchItem], list[PickNotSent]]:
    developed = DevelopedFiles(order.developed) if order.developed is not None else None
    items, without = [], []

    def look(due_pick: DuePick) -> SourceFile | PickNotSent:
        try:
            found = source_of(shoot, due_pick.frame, files.get(due_pick.frame, []), developed)
            return found if order.metadata else without_metadata(found)
        except NoSource as error:
            return PickNotSent(due_pick.frame, str(error))

    with ThreadPoolExecutor(os.cpu_count(), thread_name_prefix="look") as pool:
        for due_pick, found in zip(due, pool.map(look, due), strict=True):
            if isinstance(found, PickNotSent):
                without.append(found)
            else:
                file = names[due_pick.frame] + found.path.suffix.lower()
                items.append(BatchItem(due_pick, file, found, files[due_pick.frame][0].name))
            progress(len(items) + len(without), len(due))
    return items, without


def _nothing(shoot: Shoot, order: BatchOrder, not_out: Sequence[PickNotSent]) -> tuple[str, str]:
    if not_out:
        first, more = not_out[0], len(not_out) - 1
        others = f" ({more} more do not go out either)" if more else ""
        with shoot.reading() as session:
            name = frame_labels(session)[first.frame]
        return f"Nothing can be sent: {name}: {first.why}{others}.", "See: onsite retouch list"
    where = f" in group {order.group!r}" if order.group else ""
    return f"No pick{where} waits to be retouched.", "See what is out with: onsite retouch list"


def _send(shoot: Shoot, sent: SentBatch, order: BatchOrder, station: str) -> None:
    """Writes and records the batch under the caller's lock. The draft's name holds the shoot's mark."""
    draft = draft_of(sent.folder.resolve(), f".{shoot.mark}")
    try:
        with draft_folder(draft):
            write_batch_folder(draft, shoot, sent, order)
            _give_place_and_record(draft, shoot, sent, order, station)
    except OSError as error:
        raise write_problem(sent.folder, error) from error


def _give_place_and_record(
    draft: Path, shoot: Shoot, sent: SentBatch, order: BatchOrder, station: str
) -> None:
    went = [_went(item) for item in sent.items]
    sights = {item.due.frame: item.source.seen.colours for item in sent.items if item.source.seen}
    try:
        remember_batch(shoot, sent.batch, went, sights)
        with shoot.writing() as session:
            _refuse_sent_meanwhile(session, sent)
            _record(session, shoot, sent, order, station)
            session.flush()
            _give_place(draft, sent.folder)
    except BaseException:
        forget_batch(shoot, sent.batch)
        if not draft.exists():
            shutil.rmtree(sent.folder, ignore_errors=True)  # it has no record
        raise


def _went(item: BatchItem) -> SentFile:
    seen = item.source.seen
    return SentFile(
        item.due.frame,
        item.file,
        item.source.sha256,
        seen.pixels if seen else "",
        seen.width if seen else 0,
        seen.height if seen else 0,
    )


def _refuse_sent_meanwhile(session: Session, sent: SentBatch) -> None:
    batches = read_batches(session)
    outs = frames_at_retouch(batches)
    taken = any(batch.name == sent.batch for batch in batches)
    if taken or not all(_is_due(item.due, outs.get(item.due.frame)) for item in sent.items):
        raise Problem(
            "Another station sent some of these picks meanwhile: nothing was sent.",
            "Do it again for the rest.",
        )


def _is_due(due: DuePick, out: BatchFrame | None) -> bool:
    """Whether a pick may still be sent: it is not out for this person, or it was sent back."""
    return out is None or out.person != due.person.id or (out.again and out.version == due.version)


def _record(session: Session, shoot: Shoot, sent: SentBatch, order: BatchOrder, station: str) -> None:
    now = shoot.now()
    add_event(
        session,
        EventKind.BATCH,
        now,
        station=station,
        batch=sent.batch,
        hand=order.retoucher,
        folder=str(sent.folder.resolve()),
        due=order.due,
        price="" if sent.price is None else str(sent.price),
        currency=order.currency,
    )
    for item in sent.items:
        add_event(
            session,
            EventKind.SENT,
            now,
            station=station,
            person_id=item.due.person.id,
            frame_id=item.due.frame,
            batch=sent.batch,
            file=item.file,
            version=item.due.version,
        )


def _give_place(draft: Path, folder: Path) -> None:
    """Renames the finished draft to `folder`. Raises OSError where something is there by now."""
    folder = folder.resolve()
    if folder.exists() and os.name == "nt":
        folder.rmdir()
    draft.rename(folder)
