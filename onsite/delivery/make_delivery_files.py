"""Makes the finished files of a delivery on all cores, each whole or not at all, and reads them back.

A finished file holds in its XMP what it was made from (`MadeFrom`). By this a delivery finds the files that
an interrupted delivery has left, and makes none twice.
"""

from __future__ import annotations

import hashlib
import io
import os
import warnings
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import BinaryIO

from onsite.core.errors import Problem
from onsite.core.progress import Progress
from onsite.delivery.deliverables import Deliverable
from onsite.delivery.finish_delivered_picture import FinishTerms, finish_picture
from onsite.files.atomic_write import sha256_of, write_atomic
from onsite.frames.open_frame_picture import NotAPicture, UnreadablePicture
from onsite.metadata.xmp_fields import MADE, MetadataFields
from onsite.metadata.xmp_packet import NotXmp, parse_xmp
from onsite.metadata.xmp_properties import read_value


class NotWritten(Exception):  # noqa: N818
    """A finished file could not be written or does not read back: the whole delivery stops."""


def make_all(
    jobs: Sequence[tuple[DeliveryJob, Path]], terms: FinishTerms, progress: Progress
) -> list[DeliveredFile | str]:
    """Makes each file in its folder; returns for each the file, or why it was not made.

    Works in threads, since decoders, encoders and hashes release the GIL; no more pictures are in memory than
    there are cores. Files that an earlier delivery has left are reused. Raises NotWritten or OSError where
    files cannot be written.
    """
    outcomes: list[DeliveredFile | str] = []
    pool = ThreadPoolExecutor(os.cpu_count())

    def make(job: tuple[DeliveryJob, Path]) -> DeliveredFile | str:
        return _make(job[0], job[1], terms)

    try:
        for outcome in pool.map(make, jobs):
            outcomes.append(outcome)
            progress(len(outcomes), len(jobs))
    finally:
        pool.shutdown(cancel_futures=True)
    return outcomes


def cannot_write(folder: Path, error: Exception) -> Problem:
    """The Problem for a delivery that cannot be written to the disk."""
    reason = getattr(error, "strerror", None) or str(error)
    return Problem(
        f"{folder} does not take the delivery: {reason}. Nothing was recorded as delivered.",
        "Free the disk or name another folder, and do it again: it goes on where it stopped.",
    )


def _make(job: DeliveryJob, folder: Path, terms: FinishTerms) -> DeliveredFile | str:
    """The file, or why it cannot be made."""
    place = folder / job.name
    there = _existing(job, place)
    if there is not None:
        return there
    source = job.wanted.source
    try:
        if sha256_of(source) != job.wanted.sha256:
            return f"{source.name} is no longer what it was when it was accepted or read in"
        finished = finish_picture(source, terms, job.fields)
    except (UnreadablePicture, NotAPicture) as error:
        return f"{source.name}: {error}"
    except OSError as error:
        return f"{source.name} cannot be read: {error.strerror or error}"
    kept = delivered_file(job, job.name, finished.content)
    _write(place, finished.content, kept.sha256)
    return replace(kept, smaller=max(finished.size) < terms.long_side)


def _existing(job: DeliveryJob, place: Path) -> DeliveredFile | None:
    if not place.is_file():
        return None
    content = whole_jpeg(place.read_bytes(), job.made)
    return None if content is None else delivered_file(job, job.name, content)


def _write(place: Path, content: bytes, sha256: str) -> None:
    """Writes a file atomically and reads it back."""
    place.parent.mkdir(parents=True, exist_ok=True)
    write_atomic(place, content)
    if sha256_of(place) != sha256:
        raise NotWritten(f"{place.name} does not read back as it was written")


# What a file was made from

_END_OF_IMAGE = b"\xff\xd9"  # ITU-T T.81, table B.1

_MAKER = 1
"""Increase it when files come out differently than before."""


@dataclass(frozen=True, slots=True)
class MadeFrom:
    """Two hashes, which reveal nothing by themselves."""

    whose: str  # of shoot, person and frame
    how: str  # of everything that went into the file

    def __str__(self) -> str:
        return f"{self.whose}.{self.how}"


@dataclass(frozen=True, slots=True)
class DeliveryJob:
    """A file to make."""

    wanted: Deliverable
    name: str  # path in the package, with `/` between folders
    made: MadeFrom
    fields: MetadataFields


@dataclass(frozen=True, slots=True)
class DeliveredFile:
    """A finished file on the disk that reads back as written."""

    job: DeliveryJob
    name: str  # path in the package
    size: int  # bytes
    sha256: str
    package: Path | None = None  # the complete package that it was found in
    smaller: bool = False
    """Whether the picture had fewer pixels than agreed."""


def made_of(mark: str, wanted: Deliverable, terms: FinishTerms, fields: MetadataFields) -> MadeFrom:
    """The hashes that the finished file of a picture will hold."""
    whose = _hash(mark, wanted.person.key, wanted.frame)
    return MadeFrom(
        whose, _hash(_MAKER, whose, wanted.sha256, asdict(terms), asdict(replace(fields, made="")))
    )


def made_in(file: BinaryIO) -> MadeFrom | None:
    """The hashes in an open JPEG; None where the program did not make it."""
    from PIL import Image

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(file, formats=("JPEG",)) as picture:
                packet = picture.info.get("xmp", b"")
        text = read_value(parse_xmp(packet).rdf, MADE) if packet else None
    except (OSError, ValueError, SyntaxError, NotXmp):
        return None
    whose, dot, how = (text or "").partition(".")
    return MadeFrom(whose, how) if dot else None


def whole_jpeg(content: bytes, made: MadeFrom) -> bytes | None:
    """The content if it is a complete file with these hashes, else None."""
    return content if content.endswith(_END_OF_IMAGE) and made_in(io.BytesIO(content)) == made else None


def delivered_file(job: DeliveryJob, name: str, content: bytes, package: Path | None = None) -> DeliveredFile:
    """The description of a file with that content."""
    return DeliveredFile(job, name, len(content), hashlib.sha256(content).hexdigest(), package)


def _hash(*parts: object) -> str:
    return hashlib.sha256("\n".join(map(repr, parts)).encode()).hexdigest()[:24]
