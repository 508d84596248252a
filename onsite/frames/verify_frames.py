"""Reading every file of a shoot again: what is missing, changed or extra, which cards may be formatted."""

from __future__ import annotations

import os
from collections.abc import Collection, Iterable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

from sqlmodel import select

from onsite.core.errors import FileReason, Problem
from onsite.core.json_data import NOT_JSON
from onsite.core.progress import Progress, no_progress
from onsite.files.atomic_write import sha256_of, write_atomic
from onsite.files.file_names import UsedNames, folder_name
from onsite.frames.find_frame_files import FoundFiles, find_picture_files
from onsite.frames.frame_previews import FOLDER as PREVIEWS
from onsite.store.events import EventKind, read_events
from onsite.store.schema import File, FilePlace
from onsite.store.shoot import Shoot

MANIFESTS = "manifests"
"""The folder in the shoot's with a manifest for each card."""

SAFE_PLACES = 2
"""Places besides the card at which each of its files must read back, before the card may be formatted."""


@dataclass(frozen=True, slots=True)
class ChangedFile:
    """A file whose content is no longer the one that was read."""

    file: Path
    was: str
    """SHA-256."""
    now: str
    good: Path | None
    """A place where the file is whole; None where there is none."""


@dataclass(frozen=True, slots=True)
class CardState:
    """A memory card or folder that was ingested."""

    card: Path
    files: int
    """Pictures of it in the shoot, and those on it that are not."""
    manifest: Path | None
    """For `sha256sum -c`, run in the card's folder or in that of its copies; None where it cannot be
    written."""
    unsafe: int
    """Those that do not read back at `SAFE_PLACES` places besides the card."""
    one_disk: int
    """Those that do, with all these places on one file system: one fall takes them all."""
    others: Mapping[str, int] | None
    """Numbers of other files on it, by ending, such as films; None where it is not here."""

    @property
    def safe_to_format(self) -> bool:
        return self.unsafe == 0

    def data(self) -> dict[str, object]:
        """The fields, and whether the card may be formatted."""
        return {
            "card": self.card,
            "files": self.files,
            "manifest": self.manifest,
            "unsafe": self.unsafe,
            "one_disk": self.one_disk,
            "others": self.others,
            "safe_to_format": self.safe_to_format,
        }


@dataclass(slots=True)
class VerifiedFiles:
    """The outcome of reading every file again."""

    whole: int = 0
    """Places at which a file reads back as it was."""
    missing: list[Path] = field(default_factory=list)
    changed: list[ChangedFile] = field(default_factory=list)
    unreadable: list[FileReason] = field(default_factory=list)
    extra: list[Path] = field(default_factory=list)
    """Pictures on the cards that are not in the shoot."""
    cards: list[CardState] = field(default_factory=list)
    good: dict[str, list[Path]] = field(default_factory=dict, metadata=NOT_JSON)
    """The places of each whole file, by SHA-256."""


@dataclass(frozen=True, slots=True)
class _Place:
    path: Path
    sha256: str
    is_copy: bool


def verify_files(shoot: Shoot, copies_only: bool = False, progress: Progress = no_progress) -> VerifiedFiles:
    """Reads every original and every copy again, or the copies alone, and writes manifests of the cards."""
    with shoot.reading() as session:
        rows = session.exec(
            select(FilePlace.path, File.sha256, FilePlace.is_copy)
            .where(FilePlace.file_id == File.id)
            .order_by(FilePlace.path)
        ).all()
        events = read_events(session, [EventKind.INGESTED])
    places = [_Place(Path(path), sha256, is_copy) for path, sha256, is_copy in rows]
    roots = {Path(root) for event in events for root in event.details.get("roots", ())}
    done = VerifiedFiles()
    read = [place for place in places if place.is_copy or not copies_only]
    _read_again(read, [place for place in places if not place.is_copy and copies_only], done, progress)
    cards = _by_card([place for place in places if not place.is_copy], roots)
    names, known = UsedNames(), {place.path for place in places}
    for card, on_card in cards.items():
        here = _on_card(card, shoot.folder / PREVIEWS)
        extra = _extra(here, known) if here else []
        done.extra += [path for path in extra if path not in done.extra]
        name = names.unused_name(folder_name(card.name) or "card", ".sha256")
        manifest = _write_manifest(shoot.folder / MANIFESTS / name, card, on_card)
        held = [_elsewhere(done.good.get(place.sha256, ()), card) for place in on_card]
        done.cards.append(
            CardState(
                card,
                len(on_card) + len(extra),
                manifest,
                unsafe=sum(len(devices) < SAFE_PLACES for devices in held) + len(extra),
                one_disk=sum(len(devices) >= SAFE_PLACES and len(set(devices)) == 1 for devices in held),
                others=here.others if here else None,
            )
        )
    return done


def _read_again(
    places: Sequence[_Place], others: Sequence[_Place], done: VerifiedFiles, progress: Progress
) -> None:
    """Reads these places; of the `others` only those of a file that has changed, which may be whole there."""
    changed: list[tuple[_Place, str]] = []
    with ThreadPoolExecutor(os.cpu_count() or 1, thread_name_prefix="verify") as pool:
        for number, (place, read) in enumerate(zip(places, pool.map(_hash_of, places), strict=True), 1):
            progress(number, len(places))
            if isinstance(read, FileNotFoundError):
                done.missing.append(place.path)
            elif isinstance(read, OSError):
                done.unreadable.append(FileReason(place.path, read.strerror or str(read)))
            elif read == place.sha256:
                done.whole += 1
                done.good.setdefault(place.sha256, []).append(place.path)
            else:
                changed.append((place, read))
    for place, now in changed:
        elsewhere = (one.path for one in others if one.sha256 == place.sha256 == _hash_of(one))
        good = next(iter(done.good.get(place.sha256, ())), None) or next(elsewhere, None)
        done.changed.append(ChangedFile(place.path, place.sha256, now, good))


def _hash_of(place: _Place) -> str | OSError:
    try:
        return sha256_of(place.path)
    except OSError as error:
        return error


def _by_card(originals: Iterable[_Place], roots: Iterable[Path]) -> dict[Path, list[_Place]]:
    """The originals of each folder that was ingested; each file belongs to the innermost one."""
    innermost_first = sorted(roots, key=lambda root: len(root.parts), reverse=True)
    cards: dict[Path, list[_Place]] = {}
    for place in originals:
        card = next((root for root in innermost_first if place.path.is_relative_to(root)), place.path.parent)
        cards.setdefault(card, []).append(place)
    return cards


def _on_card(card: Path, previews: Path) -> FoundFiles | None:
    """The files on a card; None where it is not here or cannot be read."""
    try:
        return find_picture_files([card], leave=previews) if card.is_dir() else None
    except Problem:
        return None


def _extra(here: FoundFiles, known: Collection[Path]) -> list[Path]:
    """What may be a picture on a card and is not in the shoot."""
    found = (candidate.path for candidate in here.candidates if candidate.path.resolve() not in known)
    return [*found, *(Path(path) for path, _ in here.refused)]


def _elsewhere(good: Sequence[Path], card: Path) -> list[int]:
    """The device of each of these places that is not on the card; -1 for one that is gone by now."""
    return [_device(path) for path in good if not path.is_relative_to(card)]


def _device(path: Path) -> int:
    try:
        return path.stat().st_dev
    except OSError:
        return -1


def _write_manifest(manifest: Path, card: Path, on_card: Iterable[_Place]) -> Path | None:
    lines = (_manifest_line(place.sha256, place.path.relative_to(card).as_posix()) for place in on_card)
    try:
        manifest.parent.mkdir(mode=0o700, exist_ok=True)
        write_atomic(manifest, "".join(lines).encode())
    except OSError:  # a full disk must not keep anybody from knowing what is whole
        return None
    return manifest


def _manifest_line(sha256: str, name: str) -> str:
    """A line for `sha256sum -c`: names with a backslash or a line break are escaped, after a backslash (GNU
    coreutils, "md5sum invocation")."""
    escapes: Mapping[str, str] = {"\\": "\\\\", "\n": "\\n", "\r": "\\r"}
    escaped = "".join(escapes.get(character, character) for character in name)
    return f"{'' if escaped == name else chr(92)}{sha256}  {escaped}\n"
