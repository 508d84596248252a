"""Writes the folder of a batch: pictures with or without their metadata, list, notes and manifest."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from onsite.core.errors import Problem
from onsite.core.text import format_iso_date
from onsite.files.atomic_write import atomic_file, sha256_of, write_atomic
from onsite.files.verified_copies import CopyFailed, copy_verified_as
from onsite.files.write_tables import write_csv, write_workbook
from onsite.frames.find_frame_files import file_kind
from onsite.frames.open_frame_picture import NotAPicture, UnreadablePicture
from onsite.retouch.decode_returned_file import picture_facts
from onsite.retouch.files_to_retouch import NoSource, SourceFile, stripped_content
from onsite.store.shoot import Shoot

if TYPE_CHECKING:
    from onsite.retouch.batch_contents import BatchItem, BatchOrder, SentBatch


MANIFEST = "manifest-sha256.txt"
OWN_FILES = frozenset({"list.csv", "list.xlsx", "notes.txt", MANIFEST})
"""The files of a batch that are not pictures."""


def write_batch_folder(draft: Path, shoot: Shoot, sent: SentBatch, order: BatchOrder) -> None:
    """Writes a batch into a draft of its folder and reads every picture back. Raises Problem or OSError."""
    try:
        for item in sent.items:
            if item.source.stripped:
                _write_stripped(item.source, draft / item.file)
            else:
                copy_verified_as(item.source.path, draft / item.file, item.source.sha256)
    except CopyFailed as error:
        reason = str(error).replace(str(draft), str(sent.folder))
        raise Problem(f"The batch cannot be written: {reason}.", "Free the disk or name another.") from error
    headings, rows = _list_rows(sent, order)
    write_csv(draft / "list.csv", headings, rows)
    write_workbook(draft / "list.xlsx", "batch", headings, rows)
    with atomic_file(draft / "notes.txt") as stream:
        stream.write(notes_text(shoot.settings.name, sent, order).encode())
    _write_manifest(draft, sent)


def _write_stripped(source: SourceFile, place: Path) -> None:
    """Writes a file without its metadata and checks that its pixels are the same. Raises CopyFailed."""
    try:
        content = stripped_content(source.path)
    except NoSource as error:
        raise CopyFailed(str(error)) from error
    write_atomic(place, content)
    if sha256_of(place) != source.sha256:
        raise CopyFailed(f"{source.path} has changed, or does not read back as it was written")
    kind = file_kind(place)
    try:
        same = source.seen is None or (kind and picture_facts(place, kind).pixels == source.seen.pixels)
    except (UnreadablePicture, NotAPicture):
        same = False
    if not same:
        raise CopyFailed(f"{source.path.name} would not show the same picture without its metadata")


def _list_rows(sent: SentBatch, order: BatchOrder) -> tuple[list[str], list[list[str]]]:
    """(headings, rows) of the list. It holds people's names if the files do, and the originals' names if
    names or metadata go out."""
    headings = [
        "file",
        "original",
        "sequence",
        "version",
        "note",
        "note for all of theirs",
        "sent back because",
    ]
    rows = []
    for item in sent.items:
        due = item.due
        sequence = str(due.person.sequence or "")
        original = item.original if order.named or order.metadata else ""  # it may name a person or a camera
        row = [item.file, original, sequence, str(due.version), due.note, due.person_note, due.reason]
        rows.append([*row, due.person.name, due.person.group] if order.named else row)
    return [*headings, *(["name", "group"] if order.named else [])], rows


def _write_manifest(draft: Path, sent: SentBatch) -> None:
    """Writes a manifest for `sha256sum -c` (GNU coreutils). Names are ASCII, so none needs escaping."""
    sums = {item.file: item.source.sha256 for item in sent.items}
    sums |= {name: sha256_of(draft / name) for name in sorted(OWN_FILES - {MANIFEST})}
    with atomic_file(draft / MANIFEST) as stream:
        stream.write("".join(f"{sha256}  {name}\n" for name, sha256 in sums.items()).encode())


def notes_text(shoot: str, sent: SentBatch, order: BatchOrder) -> str:
    """The notes to the retoucher: what is asked for, and what was said about each picture."""
    head = f"{shoot}, {sent.batch}" if order.named or order.metadata else sent.batch  # it may name a place
    said = [head, f"Pictures: {len(sent.items)}", f"For: {order.retoucher}"]
    if order.due:
        said.append(f"Back by: {format_iso_date(order.due)}")
    if sent.price is not None:
        said.append(f"Price: {sent.price} {order.currency} ({order.price} each)")
    said += ["", "Please keep the names of the files; something may be added to them.", ""]
    for item in sent.items:
        said += [item.file, *(f"    {line}" for line in _about(item)), ""]
    return "\n".join(said)


def _about(item: BatchItem) -> list[str]:
    due = item.due
    lines = [f"version {due.version}: {due.reason}"] if due.reason else []
    lines += [line for text in (due.note, due.person_note) for line in text.splitlines() if line.strip()]
    return lines or ["no note"]
