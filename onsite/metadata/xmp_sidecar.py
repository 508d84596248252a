"""Sidecars: XMP files beside a picture. The picture itself is never opened here.

Programs look for `NAME.xmp` or for `NAME.EXT.xmp` (common practice, no source). Existing sidecars are
updated; where a picture has none, one is created.

Beside a mark (`RawMark`), the packet keeps what was written along with it (`onsite:Marked`): the keywords and
people that were not there before, the title where there was none, and the previous rating. Removal goes by
that record, and leaves whatever was changed since.
"""

from __future__ import annotations

import hashlib
import json
import shutil
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path

from onsite.core.errors import Problem
from onsite.files.atomic_write import atomic_file
from onsite.files.file_names import fits_limit
from onsite.metadata import xmp_properties
from onsite.metadata.xmp_fields import KEYWORDS, LABEL, ONSITE, PEOPLE, RATING, TITLE, RawMark
from onsite.metadata.xmp_packet import NotXmp, XmpPacket, empty_packet, keep_only, parse_xmp
from onsite.metadata.xmp_properties import Container

_LARGEST = 64_000_000
"""Bytes. Sidecars with painted masks have several megabytes (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class SidecarBackups:
    """Backups of sidecars before they are changed, in `folder`/moment/path."""

    folder: Path
    at: datetime

    def keep(self, sidecar: Path) -> None:
        """Back up a sidecar. Raises OSError."""
        place = self.folder / f"{self.at:%Y-%m-%d %H.%M.%S.%f}" / Path(*sidecar.absolute().parts[1:])
        if not place.exists():
            place.parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(sidecar, place)


def existing_sidecars(picture: Path) -> list[Path]:
    """A picture's sidecars, the short name first; endings in lower or upper case."""
    there: dict[tuple[int, int], Path] = {}
    for name in (picture.stem, picture.name):
        for ending in (".xmp", ".XMP"):
            path = picture.with_name(name + ending)
            if fits_limit(path.name) and path.is_file():
                state = path.stat()
                there.setdefault((state.st_dev, state.st_ino), path)  # one file where case does not matter
    return list(there.values())


def mark_sidecar(
    path: Path,
    mark: RawMark | None,
    backups: SidecarBackups,
    base: Path | None = None,
    whole_base: bool = True,
) -> bool:
    """Write a mark into a sidecar, or remove it, and return whether the file was changed.

    A missing sidecar is created from the content of `base`, where given: from all of it, or without
    `whole_base` from its rating and label. An existing sidecar is backed up first, and replaced atomically.
    Raises Problem, and then the file is unchanged.
    """
    path = path.resolve()
    there = path.is_file()
    if not there and mark is None:
        return False
    source = path if there else base
    try:
        before = _state(source)
        packet = parse_xmp(source.read_bytes()) if source else empty_packet()
        if not there and not whole_base:
            packet = keep_only(packet, (RATING, LABEL))
        if not put_mark(packet, mark) and there:
            return False
        if there:
            backups.keep(path)
        with atomic_file(path) as stream:
            stream.write(packet.content())
            if there:
                shutil.copymode(path, stream.name)
            if _state(source) != before:
                raise Problem(f"{source} was changed by another program meanwhile.", "Do it again.")
        return True
    except NotXmp as error:
        raise Problem(
            f"{source} is left alone: {error}.", "Mend it or move it away, and do it again."
        ) from error
    except OSError as error:
        raise Problem(
            f"{source} is left alone: {error.strerror or error}.", "Check the disk and the permissions."
        ) from error


def _state(path: Path | None) -> tuple[int, int]:
    """Size and modification time of a file. Raises OSError, also where it is too large to be a sidecar."""
    if path is None:
        return 0, 0
    state = path.stat()
    if state.st_size > _LARGEST:
        raise OSError(f"{state.st_size / 1e6:,.0f} MB are more than a sidecar has")
    return state.st_size, state.st_mtime_ns


_MARKED = f"{{{ONSITE}}}Marked"
_ASKED, _RATING, _BEFORE, _TITLE, _KEYWORDS, _PEOPLE = (
    f"{{{ONSITE}}}{name}" for name in ("Asked", "Rating", "RatingBefore", "Title", "Keywords", "People")
)


def put_mark(packet: XmpPacket, mark: RawMark | None) -> bool:
    """Make a packet carry this mark, or none, and return whether it was changed.

    A packet that carries the same mark already is left as it is, whatever a person changed in it since.
    Raises NotXmp.
    """
    for name in (RATING, TITLE, KEYWORDS, PEOPLE, _MARKED):
        if xmp_properties.count(packet.rdf, name) > 1:
            raise NotXmp(f"it has {name.partition('}')[2]} more than once")
    earlier = xmp_properties.structure(packet.rdf, _MARKED)
    if mark is None:
        return _take_back(packet, earlier)
    asked = _fingerprint(mark)
    if earlier.get(_ASKED) == [asked]:
        return False
    by_hand = bool(earlier) and [xmp_properties.read_value(packet.rdf, RATING)] != earlier.get(_RATING)
    _take_back(packet, earlier)
    _put(packet, mark, asked, by_hand)
    return True


def _put(packet: XmpPacket, mark: RawMark, asked: str, keep_rating: bool) -> None:
    rdf = packet.rdf
    written: dict[str, str | list[str]] = {_ASKED: asked}
    if not keep_rating:
        before = xmp_properties.read_value(rdf, RATING)
        xmp_properties.set_value(rdf, RATING, str(mark.rating))
        written |= {_RATING: str(mark.rating)} | ({} if before is None else {_BEFORE: before})
    if mark.title and not xmp_properties.read_items(rdf, TITLE):
        xmp_properties.add_items(rdf, TITLE, Container.ALTERNATIVES, [mark.title])
        written[_TITLE] = mark.title
    written[_KEYWORDS] = xmp_properties.add_items(rdf, KEYWORDS, Container.BAG, mark.keywords)
    written[_PEOPLE] = xmp_properties.add_items(rdf, PEOPLE, Container.BAG, mark.people)
    xmp_properties.add_structure(rdf, _MARKED, written)


def _take_back(packet: XmpPacket, written: dict[str, list[str]]) -> bool:
    """Remove what was written for an earlier mark, as far as it is unchanged."""
    if not written:
        return False
    rdf = packet.rdf
    if _RATING in written and [xmp_properties.read_value(rdf, RATING)] == written[_RATING]:
        if _BEFORE in written:
            xmp_properties.set_value(rdf, RATING, written[_BEFORE][0])
        else:
            xmp_properties.remove(rdf, RATING)
    xmp_properties.remove_items(rdf, TITLE, written.get(_TITLE, []))
    xmp_properties.remove_items(rdf, KEYWORDS, written.get(_KEYWORDS, []))
    xmp_properties.remove_items(rdf, PEOPLE, written.get(_PEOPLE, []))
    xmp_properties.remove(rdf, _MARKED)
    return True


def _fingerprint(mark: RawMark) -> str:
    text = json.dumps(asdict(mark), ensure_ascii=False, sort_keys=True)
    return hashlib.sha256(text.encode()).hexdigest()[:16]
