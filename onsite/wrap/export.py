"""The list of frames for other programs: one row a frame."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from datetime import datetime
from pathlib import Path

from sqlmodel import Session, col, select

from onsite.files.saving import must_end_in
from onsite.files.tables import write_csv
from onsite.problems import Problem
from onsite.roster.people import people
from onsite.store.record import Kind, happened
from onsite.store.shoot import Shoot
from onsite.store.tables import Camera, File, Frame, Place
from onsite.wrap.choose import frame_name
from onsite.wrap.current import Stand, stands
from onsite.wrap.gather import camera_zone
from onsite.wrap.timing import corrected


@dataclass(frozen=True, slots=True)
class FrameLine:
    """One frame as listed. `files` are relative to the folder that was read in, with `/`, and `;` between;
    `taken_at` is shoot time, `camera_time` what the camera wrote; both ISO 8601,
    local and without an offset."""

    frame: str
    files: str
    camera: str
    counter: str
    taken_at: str
    kind: str
    key: str
    sequence: str
    name: str
    how: str
    doubt: str
    suggestions: str
    camera_time: str


COLUMNS = tuple(field.name for field in fields(FrameLine))


def frame_lines(shoot: Shoot) -> list[FrameLine]:
    """Every frame with its verdict: by camera, in the order taken."""
    decided = stands(shoot)
    with shoot.reading() as session:
        return _lines(session, decided, corrected(session, camera_zone(shoot)))


def _lines(session: Session, decided: Mapping[int, Stand], times: Mapping[int, datetime]) -> list[FrameLine]:
    everybody = {person.id: person for person in people(session, removed_too=True)}
    files = _files(session)
    rows = session.exec(
        select(Frame.id, Camera.label, Frame.counter, Frame.taken)
        .where(Frame.camera_id == Camera.id)
        .order_by(Camera.label, col(Frame.taken), col(Frame.counter), col(Frame.id))
    )
    lines = []
    for frame, label, counter, taken in rows:
        assert frame is not None
        stand = decided[frame]
        person = everybody.get(stand.person or 0)
        lines.append(
            FrameLine(
                frame=frame_name(frame),
                files=";".join(sorted(files.get(frame, ()))),
                camera=label,
                counter="" if counter is None else str(counter),
                taken_at="" if taken is None else times.get(frame, taken).replace(tzinfo=None).isoformat(),
                kind=stand.kind.value,
                key=person.key if person else "",
                sequence=str(person.sequence or "") if person else "",
                name=person.name if person else "",
                how=stand.how,
                doubt=stand.doubt,
                suggestions=" ".join(everybody[s["person"]].key for s in stand.suggestions),
                camera_time="" if taken is None else taken.isoformat(),
            )
        )
    return lines


def _files(session: Session) -> dict[int, list[str]]:
    """Frame id -> where each of its files was found first, below the folder that was read in then."""
    roots: dict[Path, None] = {}
    for event in happened(session, [Kind.INGESTED]):
        details = event.details
        roots |= dict.fromkeys(Path(root) for root in details.get("roots", details.get("folders", ())))
    first: dict[int, tuple[int, Path]] = {}
    for frame, file, place in session.exec(
        select(File.frame_id, File.id, Place.path)
        .where(Place.file_id == File.id, col(Place.is_copy).is_(False))
        .order_by(col(Place.id))
    ):
        first.setdefault(file or 0, (frame, Path(place)))
    files: dict[int, list[str]] = {}
    for frame, path in first.values():
        root = next((root for root in roots if path.is_relative_to(root)), path.parent.parent)
        files.setdefault(frame, []).append(path.relative_to(root).as_posix())
    return files


def export_frames(shoot: Shoot, path: Path) -> int:
    """Writes the list as CSV (RFC 4180, UTF-8), whole or not at all, and returns how many frames it has."""
    must_end_in(path, ".csv")
    _refuse_other_list(path)
    lines = frame_lines(shoot)
    write_csv(path, COLUMNS, ([getattr(line, column) for column in COLUMNS] for line in lines))
    return len(lines)


def _refuse_other_list(path: Path) -> None:
    """An earlier export may be written over, a list of somebody's must not."""
    if not path.is_file():
        return
    with path.open("rb") as file:
        ours = file.readline().strip() == ",".join(COLUMNS).encode()
    if not ours:
        raise Problem(f"{path} is there and is not a list of frames", "Name another file, or move it away.")
