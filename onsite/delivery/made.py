"""Finished files know what they were made of: how a delivery that was broken off finds its own again."""

from __future__ import annotations

import hashlib
import io
import warnings
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import BinaryIO

from onsite.delivery.finish import FinishTerms
from onsite.delivery.wanted import Deliverable
from onsite.metadata.fields import MADE, MetadataFields
from onsite.metadata.packet import NotXmp, parse_xmp
from onsite.metadata.properties import read_value

_END_OF_IMAGE = b"\xff\xd9"  # ITU-T T.81, table B.1

_MAKER = 1
"""Raised when files come out otherwise than before."""


@dataclass(frozen=True, slots=True)
class MadeFrom:
    """`whose` stands for a picture of a person in a shoot, `how` for all that its file was made of. Both are
    hashes and tell nothing."""

    whose: str
    how: str

    def __str__(self) -> str:
        return f"{self.whose}.{self.how}"


@dataclass(frozen=True, slots=True)
class DeliveryJob:
    """One file to be made: its path in the package, with `/` between folders, and what goes into it."""

    wanted: Deliverable
    name: str
    made: MadeFrom
    fields: MetadataFields


@dataclass(frozen=True, slots=True)
class DeliveredFile:
    """A finished file that lies on the disk and reads back as it was written. `name` is its path in the
    package, `size` in bytes; `package` is where it was found in one that was complete already."""

    job: DeliveryJob
    name: str
    size: int
    sha256: str
    package: Path | None = None
    smaller: bool = False
    """The picture had fewer pixels than agreed."""


def made_of(mark: str, wanted: Deliverable, terms: FinishTerms, fields: MetadataFields) -> MadeFrom:
    """What the finished file of a picture would be called by."""
    whose = _hash(mark, wanted.person.key, wanted.frame)
    return MadeFrom(
        whose, _hash(_MAKER, whose, wanted.sha256, asdict(terms), asdict(replace(fields, made="")))
    )


def made_in(file: BinaryIO) -> MadeFrom | None:
    """What an open JPEG was made of; None where it is none of ours."""
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
    """That content where it is a file of this making with its end there, else None."""
    return content if content.endswith(_END_OF_IMAGE) and made_in(io.BytesIO(content)) == made else None


def delivered_file(job: DeliveryJob, name: str, content: bytes, package: Path | None = None) -> DeliveredFile:
    """A file with that content."""
    return DeliveredFile(job, name, len(content), hashlib.sha256(content).hexdigest(), package)


def _hash(*parts: object) -> str:
    return hashlib.sha256("\n".join(map(repr, parts)).encode()).hexdigest()[:24]
