"""Finished files know what they were made of: how a delivery that was broken off finds its own again."""

from __future__ import annotations

import hashlib
import io
import warnings
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import BinaryIO

from onsite.delivery.finish import Terms
from onsite.delivery.wanted import Wanted
from onsite.metadata.fields import MADE, Fields
from onsite.metadata.packet import NotXmp, parse
from onsite.metadata.properties import value

_END_OF_IMAGE = b"\xff\xd9"  # ITU-T T.81, table B.1

_MAKER = 1
"""Raised when files come out otherwise than before."""


@dataclass(frozen=True, slots=True)
class Made:
    """`whose` stands for a picture of a person in a shoot, `how` for all that its file was made of. Both are
    hashes and tell nothing."""

    whose: str
    how: str

    def __str__(self) -> str:
        return f"{self.whose}.{self.how}"


@dataclass(frozen=True, slots=True)
class Job:
    """One file to be made: its path in the package, with `/` between folders, and what goes into it."""

    wanted: Wanted
    name: str
    made: Made
    fields: Fields


@dataclass(frozen=True, slots=True)
class Kept:
    """A finished file that lies on the disk and reads back as it was written. `name` is its path in the
    package, `size` in bytes; `package` is where it was found in one that was complete already."""

    job: Job
    name: str
    size: int
    sha256: str
    package: Path | None = None
    smaller: bool = False
    """The picture had fewer pixels than agreed."""


def made_of(mark: str, wanted: Wanted, terms: Terms, fields: Fields) -> Made:
    """What the finished file of a picture would be called by."""
    whose = _hash(mark, wanted.person.key, wanted.frame)
    return Made(whose, _hash(_MAKER, whose, wanted.sha256, asdict(terms), asdict(replace(fields, made=""))))


def made_in(file: BinaryIO) -> Made | None:
    """What an open JPEG was made of; None where it is none of ours."""
    from PIL import Image

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(file, formats=("JPEG",)) as picture:
                packet = picture.info.get("xmp", b"")
        text = value(parse(packet).rdf, MADE) if packet else None
    except (OSError, ValueError, SyntaxError, NotXmp):
        return None
    whose, dot, how = (text or "").partition(".")
    return Made(whose, how) if dot else None


def whole_jpeg(content: bytes, made: Made) -> bytes | None:
    """That content where it is a file of this making with its end there, else None."""
    return content if content.endswith(_END_OF_IMAGE) and made_in(io.BytesIO(content)) == made else None


def kept_as(job: Job, name: str, content: bytes, package: Path | None = None) -> Kept:
    """A file with that content."""
    return Kept(job, name, len(content), hashlib.sha256(content).hexdigest(), package)


def _hash(*parts: object) -> str:
    return hashlib.sha256("\n".join(map(repr, parts)).encode()).hexdigest()[:24]
