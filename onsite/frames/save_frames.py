"""Writing examined files to the store: one frame per exposure, one file per content.

The raw file and the JPEG (or HEIC) that a camera writes of one exposure are one frame (`is_same_exposure`).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from sqlmodel import Session, select

from onsite.frames.camera_bodies import find_or_add_camera
from onsite.frames.examine_frame import ExaminedFile, Fingerprint, fingerprint
from onsite.frames.frame_measures import Lab, PictureMeasures
from onsite.slates.reader.seen_symbol import SymbolSeen
from onsite.store.events import EventKind, add_event
from onsite.store.schema import Camera, File, FilePlace, Frame, MeasureRow, SymbolReading

NOT_LOOKED_AT = "not looked at yet"

FEW = 500
"""Most paths that are queried by name; for more, all rows are read."""


@dataclass(slots=True)
class WrittenFrames:
    """Counts of what was written."""

    frames: int = 0
    files: int = 0
    repeated: int = 0
    """Files whose content was in the shoot already, from another place."""
    completed: int = 0
    """Files that were read before while they were being copied."""
    frame_ids: dict[Path, int] = field(default_factory=dict)
    """Frames of new files, by path."""


def write_frames(
    session: Session, batch: Sequence[ExaminedFile], label: str, now: datetime, codes: int = 0
) -> WrittenFrames:
    """Add files in the order given, and frames where they are new, and record one event.

    `codes` is the number of codes that their slates were compared with.
    """
    written = WrittenFrames()
    there = _files_by_hash(session, [item.sha256 for item in batch])
    for item in batch:
        file_id = there.get(item.sha256)
        if file_id is not None:
            written.repeated += 1
        elif file_id := _completed(session, item, codes):
            there[item.sha256] = file_id
            written.completed += 1
        else:
            camera = find_or_add_camera(session, item.facts, str(item.candidate.root), label)
            frame, is_new = _frame_for(session, camera, item, codes)
            written.frames += is_new
            written.files += 1
            if frame.taken is None:
                frame.taken, frame.utc_offset = item.facts.taken, item.facts.utc_offset
            if not is_new and frame.trouble and item.looked:
                _take_picture(session, frame, item, codes)
            file_id = _add_file(session, frame, item)
            there[item.sha256] = file_id
            written.frame_ids[item.candidate.path] = frame.id
        _add_place(session, file_id, item.candidate.path, item)
    if written.files or written.completed:
        folders = sorted({item.candidate.root for item in batch})
        roots = [str(folder.resolve()) for folder in folders]
        named = [str(folder) for folder in folders]
        many, files = written.frames, written.files
        add_event(session, EventKind.INGESTED, now, frames=many, files=files, folders=named, roots=roots)
    return written


def _completed(session: Session, item: ExaminedFile, codes: int) -> int | None:
    """The file that was read before while it was being copied, with its whole content now; None for another.

    Its frame stays the same, with all decisions about it."""
    file = session.exec(select(File).where(File.sha256 == item.replaces)).first() if item.replaces else None
    if file is None:
        return None
    for place in session.exec(select(FilePlace).where(FilePlace.file_id == file.id, ~FilePlace.is_copy)):
        session.delete(place)  # with the beginning alone; this place is added again
    file.sha256, file.size = item.sha256, item.fingerprint.size
    frame = session.get_one(Frame, file.frame_id)
    if frame.taken is None:
        frame.taken, frame.utc_offset = item.facts.taken, item.facts.utc_offset
    if item.looked or item.trouble:
        _take_picture(session, frame, item, codes)
    session.flush()
    return file.id


def complete_frame(session: Session, frame: Frame, item: ExaminedFile, now: datetime, codes: int = 0) -> None:
    """Store the result of examining a frame's picture later, and record an event."""
    _take_picture(session, frame, item, codes)
    add_event(session, EventKind.INGESTED, now, frames=0, files=0, folders=[str(item.candidate.root)])


def unexamined_frames(session: Session, paths: Collection[str]) -> dict[str, int]:
    """Return frame ids by path of their files, for frames whose picture was never examined.

    Only for files at these paths, or for all files where there are many.
    """
    wanted = select(FilePlace.path, File.frame_id).where(
        FilePlace.file_id == File.id, File.frame_id == Frame.id, Frame.trouble == NOT_LOOKED_AT
    )
    if len(paths) <= FEW:
        wanted = wanted.where(FilePlace.path.in_(paths))
    return dict(session.exec(wanted).all())


def known_places(session: Session, paths: Collection[str]) -> dict[str, dict[Fingerprint, str]]:
    """Return hashes by path and fingerprint, for these paths, or for all where there are many."""
    wanted = select(FilePlace, File.sha256).where(FilePlace.file_id == File.id)
    if len(paths) <= FEW:
        wanted = wanted.where(FilePlace.path.in_(paths))
    places: dict[str, dict[Fingerprint, str]] = {}
    for place, sha256 in session.exec(wanted):
        print_ = Fingerprint(place.size, place.mtime_ns, place.head)
        places.setdefault(place.path, {})[print_] = sha256
    return places


def recorded_copies(session: Session) -> dict[str, set[str]]:
    """Return the paths of all copies, by SHA-256."""
    wanted = select(File.sha256, FilePlace.path).where(FilePlace.file_id == File.id, FilePlace.is_copy)
    copies: dict[str, set[str]] = {}
    for sha256, path in session.exec(wanted):
        copies.setdefault(sha256, set()).add(path)
    return copies


def record_copies(session: Session, copies: Iterable[tuple[str, Path]]) -> None:
    """Store the places of verified copies: (sha256, path)."""
    copies = list(copies)
    files = _files_by_hash(session, [sha256 for sha256, _ in copies])
    for sha256, path in copies:
        place = _place(session, files[sha256], path)
        print_ = fingerprint(path)
        if place is None:
            place = FilePlace(
                file_id=files[sha256], path=str(path.resolve()), size=0, mtime_ns=0, head="", is_copy=True
            )
        place.size, place.mtime_ns, place.head = print_.size, print_.mtime_ns, print_.head
        session.add(place)


def _files_by_hash(session: Session, hashes: Sequence[str]) -> dict[str, int]:
    """Return the ids of stored files by SHA-256."""
    rows = session.exec(select(File.sha256, File.id).where(File.sha256.in_(hashes)))
    return dict(rows.all())


def _frame_for(session: Session, camera: Camera, item: ExaminedFile, codes: int) -> tuple[Frame, bool]:
    """Return the frame that a file belongs to, added where it is new, and whether it is new."""
    path = item.candidate.path
    mine = ExposureFile(path.stem, item.candidate.kind, str(path.parent), item.facts.taken)
    for frame in session.exec(select(Frame).where(Frame.camera_id == camera.id, Frame.name == path.stem)):
        files = session.exec(select(File).where(File.frame_id == frame.id)).all()
        if all(
            is_same_exposure(mine, ExposureFile(frame.name, file.kind, frame.source, frame.taken))
            for file in files
        ):
            return frame, False
    frame = Frame(
        camera_id=camera.id,
        counter=item.counter,
        name=path.stem,
        taken=item.facts.taken,
        utc_offset=item.facts.utc_offset,
        source=str(path.parent),
        trouble=NOT_LOOKED_AT,
    )
    session.add(frame)
    session.flush()
    if item.looked or item.trouble:
        _take_picture(session, frame, item, codes)
    return frame, True


def _take_picture(session: Session, frame: Frame, item: ExaminedFile, codes: int) -> None:
    """Store size, colour signature, measures and symbols of a frame's picture."""
    frame.width, frame.height = item.width, item.height
    frame.trouble = item.trouble
    frame.look = item.look
    _keep_measures(session, frame.id, item.measures)
    save_symbols(session, frame, item.symbols, codes)


def save_symbols(session: Session, frame: Frame, symbols: Iterable[SymbolSeen], codes: int) -> None:
    """Replace the stored symbols of a frame."""
    for before in session.exec(select(SymbolReading).where(SymbolReading.frame_id == frame.id)):
        session.delete(before)
    for symbol in symbols:
        session.add(
            SymbolReading(
                frame_id=frame.id,
                text=symbol.text,
                turned=symbol.turned,
                share=symbol.share,
                by=symbol.by,
                margin=symbol.margin,
            )
        )
    frame.codes = codes
    session.add(frame)


def _keep_measures(session: Session, frame_id: int, measures: PictureMeasures) -> None:
    row = session.get(MeasureRow, frame_id) or MeasureRow(frame_id=frame_id)
    row.brightness, row.sharpness = measures.brightness, measures.sharpness
    row.backdrop_l, row.backdrop_a, row.backdrop_b = measures.backdrop or (None, None, None)
    session.add(row)


def measures_of(session: Session, frame_ids: Collection[int]) -> dict[int, PictureMeasures]:
    """Return the measures of these frames, by id. One query."""
    rows = session.exec(select(MeasureRow).where(MeasureRow.frame_id.in_(frame_ids)))
    return {row.frame_id: _measures(row) for row in rows}


def _measures(row: MeasureRow) -> PictureMeasures:
    lightness, a, b = row.backdrop_l, row.backdrop_a, row.backdrop_b
    backdrop = None if lightness is None or a is None or b is None else Lab(lightness, a, b)
    return PictureMeasures(row.brightness, row.sharpness, backdrop)


def _add_file(session: Session, frame: Frame, item: ExaminedFile) -> int:
    file = File(
        frame_id=frame.id,
        name=item.candidate.path.name,
        kind=item.candidate.kind,
        size=item.fingerprint.size,
        sha256=item.sha256,
    )
    session.add(file)
    session.flush()
    return file.id


def _add_place(session: Session, file_id: int, path: Path, item: ExaminedFile) -> None:
    """Store where a file was found, or update its fingerprint there."""
    place = _place(session, file_id, path)
    if place is None:
        place = FilePlace(file_id=file_id, path=str(path.resolve()), size=0, mtime_ns=0, head="")
    place.size, place.mtime_ns = item.fingerprint.size, item.fingerprint.mtime_ns
    place.head = item.fingerprint.head
    session.add(place)


def _place(session: Session, file_id: int, path: Path) -> FilePlace | None:
    return session.exec(
        select(FilePlace).where(FilePlace.file_id == file_id, FilePlace.path == str(path.resolve()))
    ).first()


SAME_EXPOSURE_SECONDS = 1.0
"""Largest difference of times: some cameras write sub-seconds into only one of the two files."""


@dataclass(frozen=True, slots=True)
class ExposureFile:
    """Facts that identify an exposure: file name without ending, kind, folder and camera time."""

    stem: str
    kind: str
    folder: str
    taken: datetime | None


def is_same_exposure(first: ExposureFile, other: ExposureFile) -> bool:
    """Whether two files of one camera are of the same exposure.

    They must differ in kind: two JPEGs of one name are two frames. Without times they must be in the same
    folder.
    """
    if first.stem != other.stem or first.kind == other.kind:
        return False
    if first.taken is None or other.taken is None:
        return first.folder == other.folder
    return abs((first.taken - other.taken).total_seconds()) <= SAME_EXPOSURE_SECONDS
