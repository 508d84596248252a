"""What can be delivered: everybody's picks, each with the file that it is finished from."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from sqlmodel import Session, select

from onsite.checkin.waiting_people import arrivals
from onsite.core.frame_ref import frame_id_text
from onsite.frames.find_frame_files import FileKind, file_kind_of_name
from onsite.frames.find_frames import frame_labels
from onsite.matching.evidence import FrameKind, FrameVerdict
from onsite.reconcile.current_match import current_verdicts
from onsite.roster.find_people import RosterPerson
from onsite.roster.read_people import read_people
from onsite.status.picture_status import Pick, read_picture_statuses
from onsite.store.events import Event, EventKind, read_events
from onsite.store.schema import File, FilePlace, Frame
from onsite.store.shoot import Shoot

_ORDER = (FileKind.TIFF, FileKind.HEIF, FileKind.JPEG)
"""Of several files of an exposure, the format that holds most is preferred."""


@dataclass(frozen=True, slots=True)
class Deliverable:
    """A picture for a person."""

    person: RosterPerson
    frame: int
    pick: int  # its place among the person's picks, from 1
    source: Path  # the file that it is finished from
    sha256: str  # of `source`
    original: str  # the frame's own file name without extension
    day: date | None  # when the person was there
    frame_label: str

    @property
    def text(self) -> str:
        """The picture and its person, for messages."""
        return _deliverable_text(self.frame_label, self.person)


@dataclass(frozen=True, slots=True)
class DeliveryOutlook:
    """All that could be delivered."""

    wanted: tuple[Deliverable, ...]
    waiting: int  # picks without an accepted file
    refused: tuple[tuple[str, str], ...]  # (picture, reason)
    everybody: tuple[RosterPerson, ...]  # all people of the shoot
    misnamed: tuple[str, ...] = ()  # notices about files delivered under a name that was wrong


@dataclass(frozen=True, slots=True)
class _Source:
    path: Path | None
    sha256: str = ""
    reason: str = ""


def read_deliverables(shoot: Shoot, originals: bool) -> DeliveryOutlook:
    """The picks with an accepted retouched file; with `originals` also the other picks, unretouched.

    A pick whose frame is no longer the person's is refused: a wrong name is worse than no name.
    """
    decided = current_verdicts(shoot)
    with shoot.reading() as session:
        after = read_picture_statuses(session)
        everybody = tuple(read_people(session))
        # the day on which each person arrived, by the door's clock: camera clocks may be wrong
        days = {person: at.astimezone(shoot.zone).date() for person, (at, *_) in arrivals(session).items()}
        labels = frame_labels(session)
        names = {row[0]: row[1] for row in session.exec(select(Frame.id, Frame.name))}
        picked = {pick.frame for status in after.values() for pick in status.picks if not pick.file}
        taken = _originals(session) if originals and picked else {}
        delivered = read_events(session, [EventKind.DELIVERED])
    wanted: list[Deliverable] = []
    refused: list[tuple[str, str]] = []
    waiting = 0
    for person in everybody:
        for number, pick in enumerate(after[person.id].picks if person.id in after else (), 1):
            name = labels.get(pick.frame, frame_id_text(pick.frame))
            text = _deliverable_text(name, person)
            wrong = _ownership_problem(decided, pick.frame, person.id)
            source = _retouched(shoot.folder, pick) if pick.file else taken.get(pick.frame, _Source(None))
            if wrong:
                refused.append((text, wrong))
            elif not pick.file and not originals:
                waiting += 1
            elif source.path is None:
                refused.append((text, source.reason or "the frame has no file"))
            else:
                stem = names.get(pick.frame, "")
                day = days.get(person.id)
                wanted.append(
                    Deliverable(person, pick.frame, number, source.path, source.sha256, stem, day, name)
                )
    misnamed = _misnamed(delivered, decided, everybody, labels)
    return DeliveryOutlook(tuple(wanted), waiting, tuple(refused), everybody, misnamed)


def _misnamed(
    delivered: Iterable[Event],
    decided: Mapping[int, FrameVerdict],
    everybody: Iterable[RosterPerson],
    labels: Mapping[int, str],
) -> tuple[str, ...]:
    """Notices about files that were delivered as one person's and whose frames are another's now."""
    people = {person.id: person for person in everybody}
    found: dict[str, None] = {}
    for event in delivered:
        verdict = decided.get(event.frame_id or 0)
        before, now = people.get(event.person_id or 0), people.get(verdict.person or 0) if verdict else None
        if verdict and verdict.kind is FrameKind.NAMED and before and now and before is not now:
            found[
                f"{event.details['file']} of delivery {event.details['delivery']} went out as {before.name}'s"
                f" ({before.key}), and {labels[verdict.frame]} is {now.name}'s ({now.key}):"
                " tell whoever has it."
            ] = None
    return tuple(found)


def _deliverable_text(label: str, person: RosterPerson) -> str:
    return f"{label} of {person.name} ({person.key})"


def _ownership_problem(decided: Mapping[int, FrameVerdict], frame: int, person: int) -> str:
    """Why a frame must not be delivered to a person, or empty."""
    verdict = decided.get(frame)
    if verdict is None:
        return "there is no such frame"
    if verdict.kind is FrameKind.NAMED and verdict.person == person:
        return ""
    return "the frame is no longer under their name: settle it with onsite frames give, or pick again"


def _retouched(folder: Path, pick: Pick) -> _Source:
    path = (folder / pick.file).resolve()
    if not path.is_relative_to(folder.resolve()):
        return _Source(None, reason=f"{pick.file} lies outside the shoot's folder")
    return _Source(path, pick.sha256)


def _originals(session: Session) -> dict[int, _Source]:
    """The best file of each frame that can be finished undeveloped, from a place where it still lies."""
    rows = session.exec(
        select(File.frame_id, File.name, File.sha256, FilePlace.path)
        .where(FilePlace.file_id == File.id)
        .order_by(FilePlace.is_copy, FilePlace.id)
    ).all()
    best: dict[int, tuple[int, _Source]] = {}
    seen: dict[int, str] = {}
    for frame, name, sha256, path in rows:
        kind = file_kind_of_name(name)
        if kind not in _ORDER:
            seen.setdefault(frame, f"{name} is a raw: develop it, and have it retouched or received")
        elif not Path(path).is_file():
            seen[frame] = f"{name} is not where it was: {path}"
        elif frame not in best or _ORDER.index(kind) < best[frame][0]:
            best[frame] = (_ORDER.index(kind), _Source(Path(path), sha256))
    missing = {frame: _Source(None, reason=reason) for frame, reason in seen.items()}
    return missing | {frame: source for frame, (_, source) in best.items()}
