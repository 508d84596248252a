"""Where a person's data lies outside the tables: in files of the shoot's folder, and out of its reach."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from sqlmodel import Session, select

from onsite.core.errors import FileReason
from onsite.core.frame_ref import frame_id_text
from onsite.core.text import shown
from onsite.delivery.deliver import RECEIPTS
from onsite.delivery.delivery_receipt_and_index import receipt_without
from onsite.delivery.delivery_sets import SetPer
from onsite.frames.frame_previews import preview_place
from onsite.picks.pick_reminders import mails_without
from onsite.proofs.build_proofs import proofs_without
from onsite.retouch.retouch_folder import FOLDER as BATCHES
from onsite.retouch.retouch_folder import lists_without
from onsite.store.backups import FOLDER as BACKUPS
from onsite.store.backups import list_backups
from onsite.store.events import Event, EventKind, read_events
from onsite.store.local_copy import FOLDER as LAST_KNOWN
from onsite.store.schema import File, FilePlace, Person
from onsite.store.settings import SQLITE_FILE
from onsite.store.shoot import Shoot

_MADE_OF_FRAMES = (EventKind.SENT, EventKind.RECEIVED, EventKind.DELIVERED)
"""Events that say where a picture of a frame went, or came back to."""

FORGOTTEN = "(removed)"
"""In place of a name."""


@dataclass(frozen=True, slots=True)
class DataPlaces:
    """The files that hold a person's data."""

    own: tuple[Path, ...]
    """In the shoot's folder, of this person alone or made again when needed."""
    texts: Mapping[Path, str]
    """In the shoot's folder, with others too: receipts, and lists of batches, proofs and mails; each with its
    text without the person."""
    backups: tuple[Path, ...]
    """Earlier states of the database, here and in the folder for backups elsewhere."""
    beyond: tuple[FileReason, ...]
    """Out of reach: what the program never deletes, or does not know the place of."""


def data_places(shoot: Shoot, session: Session, person_id: int, frames: Collection[int]) -> DataPlaces:
    """The places of a person's data, whose frames are `frames`: also what was made of these under another
    name, before they were given to this person."""
    events = read_events(session, person_id=person_id, undone_too=True)
    made = [
        event
        for event in read_events(session, _MADE_OF_FRAMES, undone_too=True)
        if event.person_id == person_id or event.frame_id in frames
    ]
    files = session.exec(select(File.sha256).where(File.frame_id.in_(frames))).all()
    own = [preview_place(shoot.folder, sha256) for sha256 in files]
    sent = {(_text(event, "batch", EventKind.SENT), event.frame_id or 0) for event in made} - {("", 0)}
    for batch, frame in {*(("*", frame) for frame in frames), *sent}:
        own += shoot.folder.glob(f"{BATCHES}/{batch}/{frame_id_text(frame)}.*")
    own += [shoot.folder / text for event in made if (text := _text(event, "file", EventKind.RECEIVED))]
    person = session.get_one(Person, person_id)
    texts = _receipts_without(shoot, person, events)
    mails, tables = mails_without(shoot, _ever(person.key, "key", events))
    proofs, lists = proofs_without(shoot.folder, person.code, person.key, _pages(events))
    own += [*mails, *proofs]
    texts |= tables | lists
    texts |= lists_without(shoot, person_id, frames, sent)
    return DataPlaces(
        tuple(path for path in dict.fromkeys(own) if path.is_file()),
        texts,
        tuple(_earlier_states(shoot)),
        tuple(_beyond(shoot, session, [*events, *made], frames, texts)),
    )


def _receipts_without(shoot: Shoot, person: Person, events: Iterable[Event]) -> dict[Path, str]:
    """The receipts that name a person, and their texts without."""
    names, groups = _ever(person.name, "name", events), _ever(person.group, "group", events)
    files: set[str] = set()
    keys: set[str] = set()
    for event in events:
        files.add(_text(event, "sha256", EventKind.DELIVERED))
        prefix, own, key = _text(event, "set", EventKind.DELIVERED).partition(f"{SetPer.PERSON}: ")
        keys |= {shown(key)} if own and not prefix else set()
    left_out = {(shown(name), shown(group)) for name in names for group in groups}
    texts = {}
    for path in sorted((shoot.folder / RECEIPTS).rglob("*.html")):
        text = path.read_text(encoding="utf-8")
        without = receipt_without(text, files - {""}, keys, left_out, FORGOTTEN)
        if without != text:
            texts[path] = without
    return texts


def _ever(now: str, field: str, events: Iterable[Event]) -> set[str]:
    """All that a field of a person ever was, as events and corrections say."""
    ever = {now}
    for event in events:
        said = event.details.get(field, ())  # of a correction [old, new]
        ever.update([said] if isinstance(said, str) else said)
    return ever


def _pages(events: Iterable[Event]) -> set[str]:
    """The file names of a person's proof pages."""
    return {_text(event, "page", EventKind.PROOFED) for event in events} - {""}


def _earlier_states(shoot: Shoot) -> Iterable[Path]:
    for folder in (shoot.folder / BACKUPS, *shoot.backups_elsewhere):
        yield from (backup.path for backup in list_backups(folder))
        yield from sorted(path for path in folder.glob(".*.part*") if path.is_file())  # killed in the middle
    yield from sorted(path for path in (shoot.folder / BACKUPS).glob("replaced-*/*") if path.is_file())
    yield from sorted(shoot.folder.glob(f"{SQLITE_FILE}.version-*"))
    yield from sorted(shoot.folder.glob(f"{LAST_KNOWN}/{SQLITE_FILE}*"))
    yield from sorted(shoot.folder.glob(f"{LAST_KNOWN}/.*.part/*"))


def _beyond(
    shoot: Shoot, session: Session, events: Iterable[Event], frames: Collection[int], texts: Iterable[Path]
) -> Iterable[FileReason]:
    rows = session.exec(
        select(FilePlace.path, FilePlace.is_copy)
        .where(FilePlace.file_id == File.id, File.frame_id.in_(frames))
        .order_by(FilePlace.path)
    )
    for path, is_copy in rows:
        yield FileReason(path, "a copy of a frame" if is_copy else "an original, which is never changed")
    batches = {_text(event, "batch", EventKind.SENT) for event in events} - {""}
    for event in read_events(session, [EventKind.BATCH]):
        if event.details.get("batch") in batches:
            yield FileReason(str(event.details.get("folder", "")), "a batch for a retoucher, with its files")
    folders = {_text(event, "folder", EventKind.DELIVERED) for event in events}
    numbers = {word for path in texts for word in path.name.split()}  # of receipts, as in their names
    for event in read_events(session, [EventKind.DELIVERED], undone_too=True):
        if f"{event.details.get('delivery', 0):04}" in numbers:
            folders.add(_text(event, "folder", EventKind.DELIVERED))
    for folder in sorted(folders - {""}):
        yield FileReason(folder, "a delivery, and what the client has of it")
    for page in sorted(_pages(events)):
        yield FileReason(page, "a proof page, on its host, and where proofs were made outside this folder")
    if any(event.kind is EventKind.PROOFED for event in events):
        yield FileReason("", "a contact sheet and a list of pages, where proofs lie outside this folder")
    for elsewhere in shoot.backups_elsewhere:
        if not elsewhere.is_dir():
            yield FileReason(elsewhere, "backups, which are not there now")
    if shoot.settings.store:
        kept = "what other stations keep for when the server is gone, until they next open the shoot"
        yield FileReason("", kept)
    yield FileReason("", "the client's list, printed tickets, mails, and copies of the shoot's folder")


def _text(event: Event, name: str, kind: EventKind) -> str:
    return str(event.details.get(name) or "") if event.kind is kind else ""
