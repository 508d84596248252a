"""Which frames are whose: the people of a shoot with the frames that are currently named for them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

import sqlalchemy as sa
from sqlmodel import Session, select

from onsite.core.codes import holder_of
from onsite.core.text import shown
from onsite.frames.find_frame_files import FileKind
from onsite.frames.find_frames import frame_labels
from onsite.matching.evidence import FrameKind, FrameVerdict
from onsite.reconcile.current_match import current_verdicts
from onsite.roster.find_people import RosterPerson
from onsite.roster.read_people import read_people
from onsite.store.schema import File, FilePlace, Frame, Person, VerdictRow
from onsite.store.shoot import Shoot

_BEST_FIRST = (FileKind.JPEG, FileKind.HEIF, FileKind.TIFF, FileKind.RAW)
"""Of a raw file and the JPEG of one exposure, the JPEG is what the photographer saw."""

_AS_TAKEN = (Frame.taken, Frame.camera_id, Frame.counter, Frame.id)


@dataclass(frozen=True, slots=True)
class ProofSource:
    """A place of one of a frame's files; `size` and `head` identify the file there."""

    path: Path
    kind: FileKind
    sha256: str
    size: int
    head: str


@dataclass(frozen=True, slots=True)
class ProofFrame:
    """A frame to be proofed."""

    id: int
    label: str
    """The label printed beside its picture."""
    sources: tuple[ProofSource, ...]
    """Its files, best first."""


@dataclass(frozen=True, slots=True)
class PersonWithFrames:
    """A person with the frames named for them, in the order taken; `language` as in the roster."""

    person: RosterPerson
    email: str
    language: str
    frames: tuple[ProofFrame, ...]

    @property
    def holder(self) -> str:
        """The part of their slate code that identifies the person."""
        return holder_of(self.person.code)


def people_with_frames(shoot: Shoot) -> list[PersonWithFrames]:
    """Everybody, with or without frames, in the order of the roster."""
    decided = current_verdicts(shoot)
    with shoot.reading() as session:
        by_owner = _frames_by_owner(session, decided)
        labels = frame_labels(session)
        named = [frame for frames in by_owner.values() for frame in frames]
        sources = _sources(session, named)
        rows = session.exec(select(Person.id, Person.email, Person.language))
        written = {row[0]: row[1:] for row in rows}
        return [
            PersonWithFrames(
                person,
                *written[person.id],
                tuple(
                    ProofFrame(frame, labels[frame], sources.get(frame, ())) for frame in by_owner[person.id]
                ),
            )
            for person in read_people(session)
        ]


def frame_owners(decided: Mapping[int, FrameVerdict]) -> dict[int, int]:
    """The person of each named frame."""
    return {
        frame: verdict.person
        for frame, verdict in decided.items()
        if verdict.kind is FrameKind.NAMED and verdict.person is not None
    }


def not_owned_reason(verdict: FrameVerdict | None, person: int, names: Mapping[int, str]) -> str:
    """Why a frame is not, or no longer, that person's, as a predicate; empty where it is."""
    if verdict is None:
        return "is not here any more"
    if verdict.kind is FrameKind.NAMED:
        return (
            ""
            if verdict.person == person
            else f"is {shown(names.get(verdict.person or 0, 'somebody'))}'s now"
        )
    return {FrameKind.SET_ASIDE: "is set aside", FrameKind.LOOSE: "is loose now"}.get(
        verdict.kind, "is a slate"
    )


def _frames_by_owner(session: Session, decided: Mapping[int, FrameVerdict]) -> dict[int, list[int]]:
    """The frames of each person in the order taken."""
    owner = frame_owners(decided)
    order = select(Frame.id).order_by(*_AS_TAKEN)
    by_owner: dict[int, list[int]] = defaultdict(list)
    for frame in session.exec(order):
        if frame in owner:
            by_owner[owner[frame]].append(frame)
    return by_owner


@dataclass(frozen=True, slots=True)
class OwnedFrame:
    """A frame named for a person, and its label."""

    frame: int
    name: str


def frames_of_person(session: Session, person_id: int) -> list[OwnedFrame]:
    """The frames named for this person, as last matched, in the order taken."""
    labels = frame_labels(session)
    rows = session.exec(
        select(Frame.id)
        .join(VerdictRow, VerdictRow.frame_id == Frame.id)
        .where(VerdictRow.person_id == person_id, VerdictRow.kind == FrameKind.NAMED.value)
        .order_by(*_AS_TAKEN)
    )
    return [OwnedFrame(frame, shown(labels[frame])) for frame in rows]


def _sources(session: Session, frames: Iterable[int]) -> dict[int, tuple[ProofSource, ...]]:
    wanted = set(frames)
    found: dict[int, list[tuple[tuple[int, bool], ProofSource]]] = defaultdict(list)
    rows = session.execute(
        sa.select(
            File.frame_id,
            File.kind,
            File.sha256,
            FilePlace.path,
            FilePlace.size,
            FilePlace.head,
            FilePlace.is_copy,
        )
        .where(FilePlace.file_id == File.id)
        .order_by(FilePlace.id)
    )
    for frame, kind_text, sha256, path, size, head, is_copy in rows:
        if frame in wanted:
            kind = FileKind(kind_text)
            source = ProofSource(Path(path), kind, sha256, size, head)
            found[frame].append(((_BEST_FIRST.index(kind), is_copy), source))
    return {
        frame: tuple(source for _, source in sorted(places, key=lambda place: place[0]))
        for frame, places in found.items()
    }
