"""Marks picks for the raw developer: XMP sidecars, and a plain list of file names.

Sidecars `NAME.xmp` and `NAME.EXT.xmp` are both kept up to date where they exist. A new one is `NAME.xmp`, for
raw and JPEG together, or `NAME.EXT.xmp` with `full_names`. `onsite.metadata.xmp_sidecar` writes the marks and
removes them, without touching anything else.
"""

from __future__ import annotations

import os
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from sqlmodel import Session, select

from onsite.core.errors import FileReason, Problem
from onsite.core.frame_ref import frame_id_text
from onsite.core.progress import Progress, no_progress
from onsite.core.text import shown
from onsite.files.atomic_write import atomic_file, require_ending
from onsite.files.file_names import MAX_BYTES, fits_limit
from onsite.frames.find_frame_files import FileKind, file_kind_of_name
from onsite.frames.find_frames import frame_labels
from onsite.matching.evidence import FrameKind
from onsite.metadata.xmp_fields import RawMark
from onsite.metadata.xmp_sidecar import SidecarBackups, existing_sidecars, mark_sidecar
from onsite.reconcile.current_match import current_verdicts
from onsite.roster.find_people import RosterPerson
from onsite.roster.read_people import read_people
from onsite.status.picture_status import read_picture_statuses
from onsite.store.events import EventKind, read_events
from onsite.store.schema import File, FilePlace
from onsite.store.shoot import Shoot

BACKUP_FOLDER = "sidecars-before"
"""Folder in the shoot's folder for sidecars as they were before they were changed."""

PICK = "pick"
"""The keyword of every picked frame."""


@dataclass(frozen=True, slots=True)
class MarkResult:
    """The result of marking."""

    frames: int  # picked frames
    changed: int  # sidecars written
    as_before: int  # sidecars that were right already
    cleared: int  # sidecars whose mark was removed, because the pick was withdrawn
    listed: int | None  # picks listed by name; None where no list was asked for
    refused: tuple[FileReason, ...]


@dataclass(frozen=True, slots=True)
class _Target:
    """A sidecar to write. A new one begins with the settings of `base`, the sidecar beside the original."""

    frame: int
    path: Path
    base: Path | None = None


def mark_picks(
    shoot: Shoot,
    parallel: Path | None,
    rating: int = 5,
    full_names: bool = False,
    progress: Progress = no_progress,
    people_named: bool = True,
) -> MarkResult:
    """Marks every pick in sidecars, and removes the marks of withdrawn picks.

    The sidecars lie beside each file, copies included, or in the folder `parallel`, which mirrors the tree of
    the originals. With `full_names` new sidecars are named NAME.EXT.xmp. Without `people_named` a mark is
    only a rating and the keyword, and a new sidecar takes only the rating and the label from the one beside
    the original. Raises Problem for a rating outside 1 to 5.
    """
    if rating not in range(1, 6):
        raise Problem(f"{rating} is no rating.", "Use 1 to 5.")
    marks, withdrawn, refused = _wanted(shoot, rating, people_named)
    with shoot.reading() as session:
        places = _places(session, {*marks, *withdrawn})
        roots = _common(session) if parallel else None
        names = frame_labels(session)
    targets: list[_Target] = []
    for frame, files in places.items():
        found = [path for path in files if path.exists()]
        if parallel is not None and roots is not None:
            targets += _parallel(frame, files, parallel, roots, full_names)
        elif found:
            targets += _beside(frame, found, full_names)
        elif frame in marks:
            refused.append((files[0].name, f"none of its files is where it was: {files[0]}"))
    backups = SidecarBackups(shoot.folder / BACKUP_FOLDER, shoot.now())
    changed = as_before = cleared = 0
    for done, target in enumerate(_without_repeats(targets, names, refused), 1):
        try:
            _check_name(target.path)
            if parallel is not None and target.frame in marks:
                _make_folder(target.path.parent)
            written = mark_sidecar(target.path, marks.get(target.frame), backups, target.base, people_named)
        except Problem as problem:
            refused.append((str(target.path), problem.what))
        else:
            changed += written and target.frame in marks
            cleared += written and target.frame not in marks
            as_before += not written and target.frame in marks
        progress(done, len(targets))
    return MarkResult(
        len(marks), changed, as_before, cleared, None, tuple(FileReason(*each) for each in refused)
    )


def write_pick_list(shoot: Shoot, path: Path) -> int:
    """Writes the picks' file names, one a line, and returns how many.

    Of several files of a frame it is the raw. A name that several frames share is written with its whole
    path. Frames that no longer belong to the person who picked them are left out, as they are of the marks.
    """
    require_ending(path, ".txt")
    marks, _, _ = _wanted(shoot, 5, people_named=False)
    with shoot.reading() as session:
        names = _names(session, marks)
        places = _places(session, marks)
        used = Counter(session.exec(select(File.name)))
    lines = []
    for frame, files in names.items():
        name = _developed(files)
        whole = next((str(path) for path in places.get(frame, ()) if path.name == name), name)
        lines.append(name if used[name] == 1 else whole)
    with atomic_file(path) as stream:
        stream.write("".join(f"{shown(line)}\n" for line in lines).encode())
    return len(lines)


def _wanted(
    shoot: Shoot, rating: int, people_named: bool
) -> tuple[dict[int, RawMark], set[int], list[tuple[str, str]]]:
    """(frame id -> its mark, ids of frames no longer picked, (label, reason) of picks without a mark)."""
    decided = current_verdicts(shoot)
    with shoot.reading() as session:
        after = read_picture_statuses(session)
        everybody = {person.id: person for person in read_people(session)}
        names = frame_labels(session)
        ever = {
            frame
            for event in read_events(session, [EventKind.PICKED], undone_too=True)
            for frame in event.details.get("frames", ())
        }
    refused: list[tuple[str, str]] = []
    who: dict[int, list[RosterPerson]] = defaultdict(list)
    for person_id, status in after.items():
        for pick in status.picks:
            verdict = decided.get(pick.frame)
            if verdict is not None and verdict.kind is FrameKind.NAMED and verdict.person == person_id:
                who[pick.frame].append(everybody[person_id])
            else:
                name = everybody[person_id].name
                label = names.get(pick.frame, frame_id_text(pick.frame))
                refused.append((label, f"picked by {name}, and no longer under their name"))
    marks = {
        frame: _mark(persons, rating) if people_named else RawMark(rating, keywords=(PICK,))
        for frame, persons in who.items()
    }
    return marks, ever - set(marks), refused


def _mark(persons: Sequence[RosterPerson], rating: int) -> RawMark:
    names = tuple(shown(person.name) for person in persons)
    groups = dict.fromkeys(shown(person.group) for person in persons if person.group)
    return RawMark(rating, ", ".join(names), (PICK, *groups), names)


def _places(session: Session, frames: Iterable[int]) -> dict[int, list[Path]]:
    """Frame id -> present and former places of its files, originals first."""
    places: dict[int, list[Path]] = {}
    rows = session.exec(
        select(File.frame_id, FilePlace.path)
        .where(FilePlace.file_id == File.id)
        .order_by(FilePlace.is_copy, FilePlace.path)
    )
    wanted = set(frames)
    for frame, path in rows:
        if frame in wanted:
            places.setdefault(frame, []).append(Path(path))
    return places


def _names(session: Session, frames: Mapping[int, RawMark]) -> dict[int, list[str]]:
    names: dict[int, list[str]] = {}
    for frame, name in session.exec(select(File.frame_id, File.name).order_by(File.frame_id, File.name)):
        if frame in frames:
            names.setdefault(frame, []).append(name)
    return names


def _developed(names: Sequence[str]) -> str:
    """The file of an exposure that gets developed: the raw, if there is one."""
    return next((name for name in names if file_kind_of_name(name) is FileKind.RAW), names[0])


def _beside(frame: int, files: Sequence[Path], full_names: bool) -> list[_Target]:
    """The sidecars beside the files of a frame, and a new one in each folder where the file that gets
    developed has none."""
    targets: dict[Path, _Target] = {}
    folders: dict[Path, list[Path]] = {}
    for path in files:
        folders.setdefault(path.parent, []).append(path)
    for inside in folders.values():
        developed = inside[0].with_name(_developed([path.name for path in inside]))
        there = {path: existing_sidecars(path) for path in inside}
        if not there[developed]:
            new = developed.with_name(_sidecar_name(developed, full_names))
            targets[new] = _Target(frame, new)
        for found in there.values():
            targets |= {sidecar: _Target(frame, sidecar) for sidecar in found}
    return list(targets.values())


def _parallel(frame: int, files: Sequence[Path], folder: Path, root: Path, full_names: bool) -> list[_Target]:
    """The sidecars of a frame in `folder`, which mirrors `root`. A new one begins with the contents of the
    sidecar beside the original."""
    originals = [path for path in files if path.is_relative_to(root)] or [files[0]]
    first = originals[0].parent
    inside = [path for path in originals if path.parent == first]
    developed = first / _developed([path.name for path in inside])
    below = first.relative_to(root) if first.is_relative_to(root) else Path(first.name)
    mirrored = folder / below / developed.name
    there = existing_sidecars(mirrored)
    if there:
        return [_Target(frame, path) for path in there]
    base = next(iter(existing_sidecars(developed)), None)
    return [_Target(frame, mirrored.with_name(_sidecar_name(developed, full_names)), base)]


def _sidecar_name(picture: Path, full_names: bool) -> str:
    return f"{picture.name if full_names else picture.stem}.xmp"


def _common(session: Session) -> Path:
    """The common parent folder of all originals of the shoot."""
    originals = session.exec(select(FilePlace.path).where(FilePlace.is_copy.is_(False))).all()
    try:
        return Path(os.path.commonpath([Path(path).parent for path in originals]))
    except ValueError:  # none, or on several drives
        return Path("/")


def _without_repeats(
    targets: Sequence[_Target], names: Mapping[int, str], refused: list[tuple[str, str]]
) -> list[_Target]:
    """The sidecars that belong to one frame only; two frames must not share one."""
    by_path: dict[Path, list[_Target]] = {}
    for target in targets:
        by_path.setdefault(target.path, []).append(target)
    single = []
    for path, sharing in by_path.items():
        if len({target.frame for target in sharing}) == 1:
            single.append(sharing[0])
        else:
            frames = " and ".join(names[target.frame] for target in sharing)
            refused.append((str(path), f"{frames} would share it: use --full-names"))
    return single


def _check_name(sidecar: Path) -> None:
    if not fits_limit(sidecar.name):
        raise Problem(
            f"its name would have more than {MAX_BYTES} bytes", "Leave --full-names away, or rename the file."
        )


def _make_folder(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise Problem(
            f"{folder} cannot be made: {error.strerror or error}.", "Name another folder."
        ) from error
