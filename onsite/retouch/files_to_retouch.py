"""Finds the files to send: developed files where they are given, else originals, with or without metadata."""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from pathlib import Path

import sqlalchemy as sa
from sqlmodel import Session

from onsite.files.atomic_write import sha256_of
from onsite.frames.find_frame_files import FileKind, file_kind, find_picture_files
from onsite.frames.frame_previews import read_or_make_preview
from onsite.frames.open_frame_picture import NotAPicture, UnreadablePicture
from onsite.metadata.strip_metadata import CannotStrip, strip_jpeg, strip_tiff
from onsite.retouch.decode_returned_file import PictureFacts, picture_facts
from onsite.retouch.same_picture.picture_likeness import likeness, working_size
from onsite.store.schema import File, FilePlace
from onsite.store.shoot import Shoot


class NoSource(Exception):  # noqa: N818
    """There is no file to send for a pick; the message gives the reason."""


@dataclass(frozen=True, slots=True)
class OriginalFile:
    """An original of a frame as recorded, and the places where it may lie."""

    name: str
    kind: FileKind
    sha256: str
    places: tuple[Path, ...]


@dataclass(frozen=True, slots=True)
class SourceFile:
    """A file to send."""

    path: Path
    sha256: str  # of what goes out
    seen: PictureFacts | None  # None where it cannot be decoded
    remark: str = ""  # to show with it
    stripped: bool = False  # it goes out without its metadata (`stripped_content`)


def originals(session: Session, frames: Collection[int]) -> dict[int, list[OriginalFile]]:
    """The files of these frames, other pictures before raws."""
    rows = session.execute(
        sa.select(File.frame_id, File.name, File.kind, File.sha256, FilePlace.path)
        .where(FilePlace.file_id == File.id)
        .order_by(File.id, FilePlace.is_copy, FilePlace.id)
    )
    places: dict[tuple[int, str, str, str], list[Path]] = defaultdict(list)
    for frame, name, kind, sha256, path in rows:
        if frame in frames:
            places[frame, name, kind, sha256].append(Path(path))
    found: dict[int, list[OriginalFile]] = defaultdict(list)
    for (frame, name, kind, sha256), paths in places.items():
        found[frame].append(OriginalFile(name, FileKind(kind), sha256, tuple(paths)))
    for files in found.values():
        files.sort(key=lambda file: file.kind is FileKind.RAW)
    return found


class DevelopedFiles:
    """The developed files in a folder, by file name without extension."""

    def __init__(self, folder: Path) -> None:
        """Raises Problem where the folder cannot be listed."""
        self._files: dict[str, list[Path]] = defaultdict(list)
        for candidate in find_picture_files([folder]).candidates:
            if candidate.kind in (FileKind.JPEG, FileKind.TIFF):
                self._files[candidate.path.stem.casefold()].append(candidate.path)

    def of(self, names: Iterable[str]) -> list[Path]:
        """The developed files of a frame, given the names of its own files."""
        stems = {Path(name).stem.casefold() for name in names}
        return [path for stem in sorted(stems) for path in self._files.get(stem, ())]


def source_of(
    shoot: Shoot, frame: int, files: list[OriginalFile], developed: DevelopedFiles | None
) -> SourceFile:
    """The file to send for a frame. Raises NoSource."""
    if developed is not None:
        paths = developed.of(file.name for file in files)
        if paths:
            return _developed(shoot, frame, paths)
        return _original(files, "there is no developed file of it; the original goes out")
    return _original(files, "")


def _developed(shoot: Shoot, frame: int, paths: list[Path]) -> SourceFile:
    """The developed file that shows the frame: frames of two cameras may share a file name."""
    before = read_or_make_preview(shoot, frame)
    if before is None:
        raise NoSource(f"{paths[0].name} cannot be compared with the frame: there is no picture of it")
    from PIL import Image

    with Image.open(before) as picture:
        pick = working_size(picture)
    fitting, others = [], []
    for path in paths:
        seen = _look(path)
        if likeness(pick, seen.sight).same:
            fitting.append(SourceFile(path, sha256_of(path), seen))
        else:
            others.append(path)
    if len(fitting) > 1:
        names = ", ".join(str(source.path) for source in fitting)
        raise NoSource(f"there are {len(fitting)} developed files of it: {names}")
    if not fitting:
        raise NoSource(f"the developed file {others[0]} does not show the same picture")
    return fitting[0]


def _look(path: Path) -> PictureFacts:
    kind = file_kind(path)
    assert kind is not None
    try:
        return picture_facts(path, kind)
    except (UnreadablePicture, NotAPicture) as error:
        raise NoSource(f"{path}: {error}") from error
    except OSError as error:
        raise NoSource(f"{path} cannot be read: {error.strerror or error}") from error


def _original(files: list[OriginalFile], remark: str) -> SourceFile:
    """The first original that is in its place and unchanged."""
    trouble = "no file of it is known"
    for file in files:
        for path in file.places:
            try:
                if sha256_of(path) != file.sha256:
                    trouble = f"{path} is not what it was when it was read"
                    continue
            except OSError as error:
                trouble = f"{path} cannot be read: {error.strerror or error}"
                continue
            return _as_source(path, file, remark)
    raise NoSource(trouble)


def _as_source(path: Path, original: OriginalFile, remark: str) -> SourceFile:
    remarks = [remark] if remark else []
    if original.kind is FileKind.RAW:
        remarks.append("there is only a raw of it")
    try:
        seen = picture_facts(path, original.kind)
    except (UnreadablePicture, NotAPicture, OSError) as error:
        remarks.append(f"nobody can look at it, so what comes back cannot be checked ({error})")
        seen = None
    return SourceFile(path, original.sha256, seen, "; ".join(remarks))


_STRIP = {FileKind.JPEG: strip_jpeg, FileKind.TIFF: strip_tiff}


def without_metadata(source: SourceFile) -> SourceFile:
    """The same file, to go out with only its pixels, colour profile and orientation. Raises NoSource for
    formats whose metadata cannot be removed, and for damaged files."""
    return replace(source, sha256=hashlib.sha256(stripped_content(source.path)).hexdigest(), stripped=True)


def stripped_content(path: Path) -> bytes:
    """The bytes of a picture file without its metadata. Raises NoSource."""
    kind = file_kind(path)
    if kind not in _STRIP:
        what = "a raw file" if kind is FileKind.RAW else f"a {kind.upper()}" if kind else path.suffix
        raise NoSource(
            f"the metadata cannot be taken out of {what}, {path.name}: give a developed JPEG or TIFF of it"
            " (--from), or send it as it is (--keep-metadata)"
        )
    try:
        return _STRIP[kind](path.read_bytes())
    except CannotStrip as error:
        raise NoSource(f"the metadata cannot be taken out of {path.name}: {error}") from error
    except OSError as error:
        raise NoSource(f"{path} cannot be read: {error.strerror or error}") from error
