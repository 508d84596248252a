"""Export of the frame list for other programs, one row a frame."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from datetime import datetime
from pathlib import Path

from sqlmodel import Session, select

from onsite.core.errors import Problem
from onsite.core.frame_ref import frame_id_text
from onsite.files.atomic_write import require_ending
from onsite.files.write_tables import write_csv
from onsite.matching.evidence import FrameVerdict
from onsite.reconcile.current_match import current_verdicts
from onsite.reconcile.gather_evidence import camera_zone
from onsite.reconcile.shoot_times import corrected_times
from onsite.roster.read_people import read_people
from onsite.store.events import EventKind, read_events
from onsite.store.schema import Camera, File, FilePlace, Frame
from onsite.store.shoot import Shoot


@dataclass(frozen=True, slots=True)
class FrameLine:
    """One row of the frame list."""

    frame: str
    files: str
    """Relative to the folder that was ingested, with `/`, separated by `;`."""
    camera: str
    counter: str
    taken_at: str
    """Shoot time, ISO 8601, local and without an offset."""
    kind: str
    key: str
    sequence: str
    name: str
    how: str
    doubt: str
    suggestions: str
    camera_time: str
    """The camera's own time, in the same form."""
    certainty: str
    """Probability of the name, 0 to 1; empty where nothing is named."""


COLUMNS = tuple(field.name for field in fields(FrameLine))


def frame_lines(shoot: Shoot) -> list[FrameLine]:
    """Every frame with its verdict, by camera, in the order taken."""
    decided = current_verdicts(shoot)
    with shoot.reading() as session:
        return _lines(session, decided, corrected_times(session, camera_zone(shoot)))


def _lines(
    session: Session, decided: Mapping[int, FrameVerdict], times: Mapping[int, datetime]
) -> list[FrameLine]:
    everybody = {person.id: person for person in read_people(session, removed_too=True)}
    files = _files(session)
    rows = session.exec(
        select(Frame.id, Camera.label, Frame.counter, Frame.taken)
        .where(Frame.camera_id == Camera.id)
        .order_by(Camera.label, Frame.taken, Frame.counter, Frame.id)
    )
    lines = []
    for frame, label, counter, taken in rows:
        verdict = decided.get(frame)
        if verdict is None:  # it has landed since the match: the next list has it
            continue
        person = everybody.get(verdict.person or 0)
        lines.append(
            FrameLine(
                frame=frame_id_text(frame),
                files=";".join(sorted(files.get(frame, ()))),
                camera=label,
                counter="" if counter is None else str(counter),
                taken_at="" if taken is None else times.get(frame, taken).replace(tzinfo=None).isoformat(),
                kind=verdict.kind.value,
                key=person.key if person else "",
                sequence=str(person.sequence or "") if person else "",
                name=person.name if person else "",
                how=verdict.how.value,
                doubt=verdict.doubt,
                suggestions=" ".join(everybody[s.person].key for s in verdict.suggestions),
                camera_time="" if taken is None else taken.isoformat(),
                certainty="" if verdict.certainty is None else f"{verdict.certainty:.6g}",
            )
        )
    return lines


def _files(session: Session) -> dict[int, list[str]]:
    """The first place of each file, relative to the folder then ingested, by frame id."""
    roots: dict[Path, None] = {}
    for event in read_events(session, [EventKind.INGESTED]):
        details = event.details
        roots |= dict.fromkeys(Path(root) for root in details.get("roots", details.get("folders", ())))
    first: dict[int, tuple[int, Path]] = {}
    for frame, file, place in session.exec(
        select(File.frame_id, File.id, FilePlace.path)
        .where(FilePlace.file_id == File.id, FilePlace.is_copy.is_(False))
        .order_by(FilePlace.id)
    ):
        first.setdefault(file or 0, (frame, Path(place)))
    files: dict[int, list[str]] = {}
    for frame, path in first.values():
        root = next((root for root in roots if path.is_relative_to(root)), path.parent.parent)
        files.setdefault(frame, []).append(path.relative_to(root).as_posix())
    return files


def export_frames(shoot: Shoot, path: Path) -> int:
    """Write the list as CSV (RFC 4180, UTF-8), whole or not at all, and return its number of frames."""
    require_ending(path, ".csv")
    _refuse_other_list(path)
    lines = frame_lines(shoot)
    write_csv(path, COLUMNS, ([getattr(line, column) for column in COLUMNS] for line in lines))
    return len(lines)


def _refuse_other_list(path: Path) -> None:
    """Refuse to write over any file that is not an earlier export."""
    if not path.is_file():
        return
    with path.open("rb") as file:
        is_own = file.readline().strip() == ",".join(COLUMNS).encode()
    if not is_own:
        raise Problem(f"{path} is there and is not a list of frames", "Name another file, or move it away.")
