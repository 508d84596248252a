"""Finding picture files in folders and on memory cards, at any depth."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from onsite.core.errors import FileReason, Problem


class FileKind(StrEnum):
    """Kind of a picture file, by the ending of its name."""

    JPEG = "jpeg"
    HEIF = "heif"
    TIFF = "tiff"
    RAW = "raw"


_ENDINGS = {
    FileKind.JPEG: ".jpg .jpeg .jpe",
    FileKind.HEIF: ".heic .heif .hif",
    FileKind.TIFF: ".tif .tiff",
    FileKind.RAW: ".3fr .arw .cr2 .cr3 .crw .dcr .dng .erf .fff .gpr .iiq .kdc .mef .mos .mrw .nef .nrw"
    " .orf .ori .pef .raf .raw .rw2 .rwl .sr2 .srf .srw .x3f",
}
_KIND = {ending: kind for kind, endings in _ENDINGS.items() for ending in endings.split()}


@dataclass(frozen=True, slots=True)
class CandidateFile:
    """A file that may belong to a frame."""

    path: Path
    root: Path
    """The folder given for ingest that the file was found in."""
    kind: FileKind
    has_picture_partner: bool = False
    """True for a raw file with a JPEG or HEIC of the same name beside it: its own preview need not be
    examined."""


@dataclass(frozen=True, slots=True)
class FoundFiles:
    """The files found below some folders."""

    candidates: tuple[CandidateFile, ...]
    others: dict[str, int]
    """Numbers of files that are not pictures, by ending."""
    refused: tuple[FileReason, ...]
    """Paths that cannot be used, each with the reason."""


def file_kind(path: Path) -> FileKind | None:
    """Return the kind of a file by its ending; None where it is no picture."""
    return file_kind_of_name(path.name)


def file_kind_of_name(name: str) -> FileKind | None:
    """Return the kind of a file of this name; cheaper than `file_kind` for many names."""
    return _KIND.get(f".{name.rpartition('.')[2].lower()}")


def find_picture_files(paths: Iterable[Path], leave: Path | None = None) -> FoundFiles:
    """Find all picture files below `paths`, sorted by name.

    Hidden files and folders are skipped, and so is the folder `leave`. Raises Problem where a path is missing
    or its top folder cannot be listed.
    """
    candidates: dict[Path, CandidateFile] = {}
    others: Counter[str] = Counter()
    refused: list[FileReason] = []
    for root in paths:
        if not root.exists():
            raise Problem(f"{root} does not exist.", "Check the path, or whether the card is in.")
        top = root if root.is_dir() else root.parent
        files = _walk(root, refused, leave) if root.is_dir() else [root]
        for path in files:
            kind = file_kind(path)
            if not has_encodable_name(path):
                refused.append(FileReason(printable_path(path), "the file's name is not in UTF-8: rename it"))
            elif kind is None:
                others[path.suffix.lower() or "without ending"] += 1
            elif (resolved := _resolved(path)) is None:
                refused.append(FileReason(path, "it is a link that leads in a circle"))
            else:
                candidates.setdefault(resolved, CandidateFile(path, top, kind))
    return FoundFiles(tuple(with_partners(candidates.values())), dict(others), tuple(refused))


def _resolved(path: Path) -> Path | None:
    """Return where a path leads; None where links lead in a circle."""
    try:
        return path.resolve()
    except (OSError, RuntimeError):
        return None


def has_encodable_name(path: Path) -> bool:
    """Whether a path is valid UTF-8, as the database requires."""
    try:
        str(path).encode()
    except UnicodeEncodeError:
        return False
    return True


def printable_path(path: Path) -> Path:
    """Return the path with bytes that are not UTF-8 replaced."""
    return Path(os.fsencode(path).decode(errors="replace"))


def _walk(root: Path, refused: list[FileReason], leave: Path | None) -> list[Path]:
    """List the files below `root`, adding folders that do not open to `refused`."""

    def note(error: OSError) -> None:
        where = Path(error.filename or root)
        if where == root:
            raise Problem(f"{root} cannot be listed: {error.strerror}.", "Check its permissions.") from error
        refused.append(FileReason(where, error.strerror or str(error)))

    found = []
    for folder, folders, names in os.walk(root, onerror=note):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        if leave is not None and leave.name in folders and Path(folder).resolve() == leave.parent.resolve():
            folders.remove(leave.name)
        found += [Path(folder, name) for name in sorted(names) if not name.startswith(".")]
    return found


def with_partners(candidates: Iterable[CandidateFile]) -> list[CandidateFile]:
    """Return the candidates with `has_picture_partner` set on each raw whose JPEG or HEIC is among them."""
    candidates = list(candidates)
    pictures = {_stem(c) for c in candidates if c.kind is not FileKind.RAW}
    return [
        CandidateFile(
            c.path, c.root, c.kind, has_picture_partner=c.kind is FileKind.RAW and _stem(c) in pictures
        )
        for c in candidates
    ]


def _stem(candidate: CandidateFile) -> tuple[Path, str]:
    return candidate.path.parent, candidate.path.stem.casefold()
