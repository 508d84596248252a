"""Whose pictures are whose: the people of a shoot with their frames as they are named now."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from sqlmodel import Session, col, select

from onsite.frames.called import frame_labels
from onsite.frames.found import FileKind
from onsite.matching.evidence import FrameKind
from onsite.proofs.code import holder_of
from onsite.roster.find import Someone
from onsite.roster.people import people
from onsite.store.shoot import Shoot
from onsite.store.tables import File, Frame, Person, Place, Verdict
from onsite.words import shown
from onsite.wrap.current import Stand, stands

_BEST_FIRST = (FileKind.JPEG, FileKind.HEIF, FileKind.TIFF, FileKind.RAW)
"""Of a raw and the JPEG of one exposure, the JPEG is what the photographer saw."""

_AS_TAKEN = (col(Frame.taken), col(Frame.camera_id), col(Frame.counter), col(Frame.id))


@dataclass(frozen=True, slots=True)
class Source:
    """A place where a file of a frame was; `size` and `head` tell whether it still is that file."""

    path: Path
    kind: FileKind
    sha256: str
    size: int
    head: str


@dataclass(frozen=True, slots=True)
class ProofFrame:
    """A frame to be proofed: how it is called beside its picture, and where its files are, best first."""

    id: int
    label: str
    sources: tuple[Source, ...]


@dataclass(frozen=True, slots=True)
class Sitter:
    """A person with the frames under their name, in the order taken; `language` as the list has it."""

    person: Someone
    email: str
    language: str
    frames: tuple[ProofFrame, ...]

    @property
    def holder(self) -> str:
        return holder_of(self.person.code)


def sitters(shoot: Shoot) -> list[Sitter]:
    """Everybody, those without frames among them, in the order of the roster."""
    decided = stands(shoot)
    with shoot.reading() as session:
        theirs = _theirs(session, decided)
        labels = frame_labels(session)
        named = [frame for frames in theirs.values() for frame in frames]
        sources = _sources(session, named)
        rows = session.exec(select(Person.id, Person.email, Person.language))
        written = {row[0]: row[1:] for row in rows}
        return [
            Sitter(
                someone,
                *written[someone.id],
                tuple(
                    ProofFrame(frame, labels[frame], sources.get(frame, ())) for frame in theirs[someone.id]
                ),
            )
            for someone in people(session)
        ]


def owners(decided: Mapping[int, Stand]) -> dict[int, int]:
    """Frame -> the person whose it is now."""
    return {
        frame: stand.person
        for frame, stand in decided.items()
        if stand.kind is FrameKind.NAMED and stand.person is not None
    }


def not_theirs(stand: Stand | None, person: int, names: Mapping[int, str]) -> str:
    """What a frame is that is not, or no longer, that person's; empty where it is theirs."""
    if stand is None:
        return "is not here any more"
    if stand.kind is FrameKind.NAMED:
        return "" if stand.person == person else f"is {shown(names.get(stand.person or 0, 'somebody'))}'s now"
    return {FrameKind.ASIDE: "is set aside", FrameKind.LOOSE: "is loose now"}.get(stand.kind, "is a slate")


def _theirs(session: Session, decided: Mapping[int, Stand]) -> dict[int, list[int]]:
    """Person -> their frames in the order taken."""
    owner = owners(decided)
    order = select(Frame.id).order_by(*_AS_TAKEN)
    theirs: dict[int, list[int]] = defaultdict(list)
    for frame in session.exec(order):
        if frame in owner:
            theirs[owner[frame]].append(frame)
    return theirs


@dataclass(frozen=True, slots=True)
class Theirs:
    """A frame under somebody's name, and how it is called."""

    frame: int
    name: str


def frames_of_person(session: Session, person_id: int) -> list[Theirs]:
    """The frames under this person's name, as last matched, in the order taken."""
    labels = frame_labels(session)
    rows = session.exec(
        select(Frame.id)
        .join(Verdict, col(Verdict.frame_id) == col(Frame.id))
        .where(Verdict.person_id == person_id, Verdict.kind == FrameKind.NAMED.value)
        .order_by(*_AS_TAKEN)
    )
    return [Theirs(frame, shown(labels[frame])) for frame in rows if frame is not None]


def _sources(session: Session, frames: Iterable[int]) -> dict[int, tuple[Source, ...]]:
    wanted = set(frames)
    found: dict[int, list[tuple[tuple[int, bool], Source]]] = defaultdict(list)
    rows = session.exec(
        select(File.frame_id, File.kind, File.sha256, Place.path, Place.size, Place.head, Place.is_copy)  # type: ignore[call-overload]
        .where(Place.file_id == File.id)
        .order_by(col(Place.id))
    )
    for frame, kind_text, sha256, path, size, head, is_copy in rows:
        if frame in wanted:
            kind = FileKind(kind_text)
            source = Source(Path(path), kind, sha256, size, head)
            found[frame].append(((_BEST_FIRST.index(kind), is_copy), source))
    return {
        frame: tuple(source for _, source in sorted(places, key=lambda place: place[0]))
        for frame, places in found.items()
    }
