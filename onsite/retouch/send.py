"""Sending a batch: a folder with the picks, their notes, a list and a manifest, whole or not at all."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from sqlmodel import Session

from onsite.files.called import Name, called, told_empty
from onsite.files.names import draft_of
from onsite.files.pattern import pattern_of
from onsite.files.saving import cannot_write, draft_folder
from onsite.frames.called import frame_labels
from onsite.problems import Problem
from onsite.progress.after import read_after
from onsite.progress.batches import Out, next_name, outs_of, read_batches
from onsite.retouch.batch_folder import MANIFEST, write_folder
from onsite.retouch.due_out import DueOut, Item, NotOut, Order, Sent, due_out
from onsite.retouch.memory import Went, alone, forget_batch, remember_batch
from onsite.retouch.names import name_out
from onsite.retouch.sources import (
    Developed,
    NoSource,
    Original,
    Source,
    originals,
    source_of,
    without_metadata,
)
from onsite.roster.groups import in_group
from onsite.roster.people import people
from onsite.store.record import Kind, add
from onsite.store.shoot import Shoot
from onsite.wrap.choose import choose
from onsite.wrap.current import stands

Progress = Callable[[int, int], None]


def send(
    shoot: Shoot,
    folder: Path,
    order: Order,
    station: str = "",
    dry_run: bool = False,
    progress: Progress | None = None,
    announce: Callable[[Sent], None] | None = None,
) -> Sent:
    """Sends what is due into `folder`, which must be new or empty.

    Originals are only read; every copy is read back. What is about to go out is announced first. Raises
    Problem, with nothing sent, where nothing is due, where the folder cannot be written whole, or where
    another station sent one of the picks meanwhile.
    """
    with alone(shoot):
        _refuse_used(shoot, folder)
        batch, due, not_out, files = _plan(shoot, order)
        named = _named(shoot, order, due, files)
        names = {
            one.frame: name_out(one.person, one.frame, named[one.frame].text if named else "") for one in due
        }
        items, without = _with_sources(shoot, order, due, files, names, progress)
        if not items:
            raise Problem(*_nothing(shoot, order, [*not_out, *without]))
        price = None if order.price is None else order.price * len(items)
        notices = told_empty((one.due.person, named[one.due.frame]) for one in items if named)
        sent = Sent(batch, folder, tuple(items), (*not_out, *without), price, tuple(notices))
        if announce:
            announce(sent)
        if not dry_run:
            _send(shoot, sent, order, station)
        return sent


def _named(
    shoot: Shoot, order: Order, due: Sequence[DueOut], files: dict[int, list[Original]]
) -> dict[int, Name]:
    """What the file of each frame is called by the shoot's pattern; nothing where no names are to go out."""
    if not order.named:
        return {}
    pattern = pattern_of(shoot.settings.agreed.names)
    return {
        one.frame: called(
            pattern,
            one.person,
            shoot.settings,
            frame=one.frame,
            pick=one.pick,
            original=Path(files[one.frame][0].name).stem if one.frame in files else "",
            ascii_only=True,
        )
        for one in due
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


def _plan(shoot: Shoot, order: Order) -> tuple[str, list[DueOut], list[NotOut], dict[int, list[Original]]]:
    owners = {frame: stand.person for frame, stand in stands(shoot).items()}
    with shoot.reading() as session:
        frames = choose(session, order.frames) if order.frames else None
        batches = read_batches(session)
        awaited = {frame: out.version for frame, out in outs_of(batches).items()}
        everybody = {one.id: one for one in in_group(people(session), order.group, lambda one: one.group)}
        after = {person: theirs for person, theirs in read_after(session).items() if person in everybody}
        due, not_out = due_out(after, everybody, owners, awaited, frames)
        files = originals(session, {one.frame for one in due})
    return next_name(batches), due, not_out, files


def _with_sources(
    shoot: Shoot,
    order: Order,
    due: Sequence[DueOut],
    files: dict[int, list[Original]],
    names: dict[int, str],
    progress: Progress | None,
) -> tuple[list[Item], list[NotOut]]:
    developed = Developed(order.developed) if order.developed is not None else None
    items, without = [], []

    def look(one: DueOut) -> Source | NotOut:
        try:
            found = source_of(shoot, one.frame, files.get(one.frame, []), developed)
            return found if order.metadata else without_metadata(found)
        except NoSource as error:
            return NotOut(one.frame, str(error))

    with ThreadPoolExecutor(os.cpu_count(), thread_name_prefix="look") as pool:
        for one, found in zip(due, pool.map(look, due), strict=True):
            if isinstance(found, NotOut):
                without.append(found)
            else:
                file = names[one.frame] + found.path.suffix.lower()
                items.append(Item(one, file, found, files[one.frame][0].name))
            if progress:
                progress(len(items) + len(without), len(due))
    return items, without


def _nothing(shoot: Shoot, order: Order, not_out: Sequence[NotOut]) -> tuple[str, str]:
    if not_out:
        first, more = not_out[0], len(not_out) - 1
        others = f" ({more} more do not go out either)" if more else ""
        with shoot.reading() as session:
            name = frame_labels(session)[first.frame]
        return f"Nothing can be sent: {name}: {first.why}{others}.", "See: onsite retouch list"
    where = f" in group {order.group!r}" if order.group else ""
    return f"No pick{where} waits to be retouched.", "See what is out with: onsite retouch list"


def _send(shoot: Shoot, sent: Sent, order: Order, station: str) -> None:
    """Only one send of a shoot is on at a time (`alone`), and the draft's name holds its mark."""
    draft = draft_of(sent.folder.resolve(), f".{shoot.mark}")
    try:
        with draft_folder(draft):
            write_folder(draft, shoot, sent, order)
            _give_place_and_record(draft, shoot, sent, order, station)
    except OSError as error:
        raise cannot_write(sent.folder, error) from error


def _give_place_and_record(draft: Path, shoot: Shoot, sent: Sent, order: Order, station: str) -> None:
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


def _went(item: Item) -> Went:
    seen = item.source.seen
    return Went(
        item.due.frame,
        item.file,
        item.source.sha256,
        seen.pixels if seen else "",
        seen.width if seen else 0,
        seen.height if seen else 0,
    )


def _refuse_sent_meanwhile(session: Session, sent: Sent) -> None:
    batches = read_batches(session)
    outs = outs_of(batches)
    taken = any(batch.name == sent.batch for batch in batches)
    if taken or not all(_is_due(item.due, outs.get(item.due.frame)) for item in sent.items):
        raise Problem(
            "Another station sent some of these picks meanwhile: nothing was sent.",
            "Do it again for the rest.",
        )


def _is_due(due: DueOut, out: Out | None) -> bool:
    """Whether a pick may still go out: it is not out for this person, or it was sent back and waits."""
    return out is None or out.person != due.person.id or (out.again and out.version == due.version)


def _record(session: Session, shoot: Shoot, sent: Sent, order: Order, station: str) -> None:
    now = shoot.now()
    add(
        session,
        Kind.BATCH,
        now,
        station=station,
        batch=sent.batch,
        hand=order.hand,
        folder=str(sent.folder.resolve()),
        due=order.due,
        price="" if sent.price is None else str(sent.price),
        currency=order.currency,
    )
    for item in sent.items:
        add(
            session,
            Kind.SENT,
            now,
            station=station,
            person_id=item.due.person.id,
            frame_id=item.due.frame,
            batch=sent.batch,
            file=item.file,
            version=item.due.version,
        )


def _give_place(draft: Path, folder: Path) -> None:
    """The finished folder takes its name. Raises OSError where something is there by now."""
    folder = folder.resolve()
    if folder.exists() and os.name == "nt":
        folder.rmdir()
    draft.rename(folder)
