"""Examining one file: its hash, EXIF facts, slates, colour signature, measures and preview.

Runs in worker threads. A picture is decoded once, reduced; again at full size only for a slate that needs it.
"""

from __future__ import annotations

import hashlib
import stat
from dataclasses import dataclass, field, replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from onsite.core.file_counter import counter_from_name
from onsite.files.atomic_write import sha256_of
from onsite.frames.find_frame_files import CandidateFile, FileKind
from onsite.frames.frame_exif import ExifFacts
from onsite.frames.frame_measures import PictureMeasures
from onsite.frames.open_frame_picture import (
    NotAPicture,
    UnreadablePicture,
    check_content,
    damaged_picture,
    full_grey,
    open_picture,
    reduced,
    scale_for,
    small_of,
)
from onsite.slates.reader.seen_symbol import SymbolSeen

if TYPE_CHECKING:
    from PIL import Image

    from onsite.slates.reader.closed_set import KnownSlates

HEAD_BYTES = 1 << 16
"""Bytes of a file's beginning that tell it from another of its size and time. Own choice."""
_TINY = 192  # least pixels on the long side of the picture for colour signature and measures


@dataclass(frozen=True, slots=True)
class Fingerprint:
    """Identifies a file seen before without reading all of it. `head` is the SHA-256 of its first bytes."""

    size: int
    mtime_ns: int
    head: str


@dataclass(frozen=True, slots=True)
class ExaminedFile:
    """The result of examining a file of a frame."""

    candidate: CandidateFile
    fingerprint: Fingerprint
    sha256: str
    facts: ExifFacts
    counter: int | None
    width: int = 0
    height: int = 0
    looked: bool = False
    """False where the picture could not be examined, or where that was not requested."""
    symbols: tuple[SymbolSeen, ...] = ()
    look: bytes | None = None
    """The colour signature."""
    measures: PictureMeasures = field(default_factory=PictureMeasures)
    preview: bytes = b""
    """A JPEG."""
    trouble: str = ""
    """Why the picture could not be examined; what there is besides comes from a preview in the file."""
    replaces: str = ""
    """SHA-256 of the beginning of this file, which was read before, while it was being copied."""


@dataclass(frozen=True, slots=True)
class RefusedFile:
    """A file that is no frame or cannot be read; `is_transient` where a later attempt may succeed."""

    path: Path
    reason: str
    is_transient: bool = False
    was: str = ""
    """SHA-256 of the content that was read there before, where that is damaged by now."""


@dataclass(frozen=True, slots=True)
class _InPicture:
    """The results of examining a picture. `look` is the colour signature, `preview` a JPEG."""

    symbols: tuple[SymbolSeen, ...] = ()
    look: bytes | None = None
    measures: PictureMeasures = field(default_factory=PictureMeasures)
    preview: bytes = b""


def fingerprint(path: Path) -> Fingerprint:
    """Take the fingerprint of a file. Raises OSError."""
    now = path.stat()
    with path.open("rb") as file:
        return Fingerprint(now.st_size, now.st_mtime_ns, hashlib.sha256(file.read(HEAD_BYTES)).hexdigest())


def begins_with(path: Path, earlier: Fingerprint) -> bool:
    """Whether a file begins as the one with an earlier fingerprint did. Raises OSError."""
    with path.open("rb") as file:
        beginning = file.read(min(HEAD_BYTES, earlier.size))
    return earlier.size > 0 and hashlib.sha256(beginning).hexdigest() == earlier.head


def examine_file(
    candidate: CandidateFile, look: bool = True, known: KnownSlates | None = None
) -> ExaminedFile | RefusedFile:
    """Examine one file. With `look` False only facts and hash are read, and the picture is not decoded.

    Slates that the general decoder does not read are compared with the `known` codes.
    """
    path = candidate.path
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            return RefusedFile(path, "this is not a regular file")
        with path.open("rb") as file:
            check_content(path, candidate.kind, file.read(16))
        print_ = fingerprint(path)
        sha256 = sha256_of(path)
        examined = _examined(candidate, print_, sha256, look, known)
        now = path.stat()
        if (now.st_size, now.st_mtime_ns) != (print_.size, print_.mtime_ns):
            return RefusedFile(path, "the file changed while it was read", is_transient=True)
        return examined
    except NotAPicture as error:
        return RefusedFile(path, str(error))
    except OSError as error:
        return RefusedFile(path, f"the file cannot be read: {error.strerror or error}", is_transient=True)


def _examined(
    candidate: CandidateFile, print_: Fingerprint, sha256: str, look: bool, known: KnownSlates | None
) -> ExaminedFile:
    facts = ExifFacts()
    width = height = 0
    seen, trouble = _InPicture(), ""
    try:
        with open_picture(candidate.path, candidate.kind) as (picture, facts):
            if picture is not None:
                width, height = picture.size
            if look and picture is None:
                raise UnreadablePicture("looking into raw files needs an extra: pip install 'onsite[raw]'")
            if look and picture is not None:
                seen = _look_at(picture, candidate, facts.orientation, known)
    except UnreadablePicture as error:
        facts = error.facts or facts
        seen, trouble = _look_at_what_is_left(candidate, facts.orientation, known), str(error)
    return ExaminedFile(
        candidate,
        print_,
        sha256,
        facts,
        counter_from_name(candidate.path.stem),
        width,
        height,
        looked=look and not trouble,
        symbols=seen.symbols,
        look=seen.look,
        measures=seen.measures,
        preview=seen.preview,
        trouble=trouble,
    )


def _look_at(
    picture: Image.Image, candidate: CandidateFile | None, orientation: int, known: KnownSlates | None
) -> _InPicture:
    """Examine an opened picture; `candidate` is its file, which can be decoded at full size."""
    from onsite.frames.frame_measures import measure_picture
    from onsite.frames.frame_previews import preview_jpeg
    from onsite.frames.measure_colours import colour_signature
    from onsite.slates.reader.read_slates import read_symbols

    whole = picture.size
    scale = scale_for(whole)
    colour = reduced(picture, scale)

    @cache
    def full() -> Image.Image:
        if candidate is None or picture.size == whole:  # no larger version, or decoded at full size already
            return picture.convert("L")
        return full_grey(candidate.path, candidate.kind)

    try:
        grey = colour.convert("L")
        symbols = read_symbols(grey, full if scale > 1 else None, orientation, known)
        small = small_of(colour)
        tiny = small.reduce(max(max(small.size) // _TINY, 1))
        return _InPicture(
            symbols,
            colour_signature(tiny, symbols, orientation),
            measure_picture(grey, tiny, orientation),
            preview_jpeg(small, orientation),
        )
    except (NotAPicture, UnreadablePicture):
        raise
    except Exception as error:
        raise damaged_picture(error) from error


def _look_at_what_is_left(
    candidate: CandidateFile, orientation: int, known: KnownSlates | None
) -> _InPicture:
    """Examine the preview in a damaged JPEG, if it has one.

    It is not measured: measures of a preview do not compare with those of pictures.
    """
    from onsite.frames.frame_previews import embedded_preview

    if candidate.kind is not FileKind.JPEG:
        return _InPicture()
    try:
        with open_picture(candidate.path, candidate.kind) as (picture, _):
            preview = embedded_preview(candidate.path, picture) if picture is not None else None
        seen = _look_at(preview, None, orientation, known) if preview is not None else _InPicture()
    except UnreadablePicture:
        return _InPicture()
    return replace(seen, measures=PictureMeasures())
