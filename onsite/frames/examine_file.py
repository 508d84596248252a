"""Examining one file: its hash, its facts, the slates in it, its look and its measures.

Runs in worker threads. A picture is decoded once, reduced; again in full only for a slate that needs it.
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
from onsite.frames.exif import ExifFacts
from onsite.frames.find_files import CandidateFile, FileKind
from onsite.frames.open_picture import (
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
from onsite.frames.picture_measures import PictureMeasures
from onsite.slates.reader.seen_symbol import SymbolSeen

if TYPE_CHECKING:
    from PIL import Image

    from onsite.slates.reader.closed_set import KnownSlates

HEAD_BYTES = 1 << 16
_TINY = 192  # pixels, at least, on the long side of the picture that look and colours come from


@dataclass(frozen=True, slots=True)
class Fingerprint:
    """What tells, without reading all of a file, that it is the one seen before."""

    size: int
    mtime_ns: int
    head: str


@dataclass(frozen=True, slots=True)
class ExaminedFile:
    """A file of a frame. `trouble` says why its picture could not be looked at; `looked` is False as well
    where that was not asked for. What there is with trouble comes from a preview in the file."""

    candidate: CandidateFile
    fingerprint: Fingerprint
    sha256: str
    facts: ExifFacts
    counter: int | None
    width: int = 0
    height: int = 0
    looked: bool = False
    symbols: tuple[SymbolSeen, ...] = ()
    look: bytes | None = None
    measures: PictureMeasures = field(default_factory=PictureMeasures)
    preview: bytes = b""
    trouble: str = ""


@dataclass(frozen=True, slots=True)
class RefusedFile:
    """A file that is no frame, or that cannot be read; `is_transient` where that may change by itself."""

    path: Path
    reason: str
    is_transient: bool = False


@dataclass(frozen=True, slots=True)
class _InPicture:
    """What looking at a picture gave. `preview` is a JPEG."""

    symbols: tuple[SymbolSeen, ...] = ()
    look: bytes | None = None
    measures: PictureMeasures = field(default_factory=PictureMeasures)
    preview: bytes = b""


def fingerprint(path: Path) -> Fingerprint:
    """Raises OSError."""
    now = path.stat()
    with path.open("rb") as file:
        return Fingerprint(now.st_size, now.st_mtime_ns, hashlib.sha256(file.read(HEAD_BYTES)).hexdigest())


def examine_file(
    candidate: CandidateFile, look: bool = True, known: KnownSlates | None = None
) -> ExaminedFile | RefusedFile:
    """Reads one file. With `look` False its picture is left alone: only facts and hash are read. A slate that
    does not read by itself is compared with the `known` codes."""
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
    """Looks at an opened picture; of `candidate` a larger one is to be had."""
    from onsite.frames.picture_measures import colour_signature, measure_picture
    from onsite.frames.previews import preview_jpeg
    from onsite.slates.reader.read_slates import read_symbols

    whole = picture.size
    scale = scale_for(whole)
    colour = reduced(picture, scale)

    @cache
    def full() -> Image.Image:
        if candidate is None or picture.size == whole:  # its format cannot be decoded reduced
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
    """What the preview in a damaged JPEG shows, if there is one. It is not measured: what the camera made of
    it does not compare with pictures."""
    from onsite.frames.previews import embedded_preview

    if candidate.kind is not FileKind.JPEG:
        return _InPicture()
    try:
        with open_picture(candidate.path, candidate.kind) as (picture, _):
            preview = embedded_preview(candidate.path, picture) if picture is not None else None
        seen = _look_at(preview, None, orientation, known) if preview is not None else _InPicture()
    except UnreadablePicture:
        return _InPicture()
    return replace(seen, measures=PictureMeasures())
