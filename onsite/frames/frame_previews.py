"""Previews: a small upright JPEG of every frame, so that screens need not decode the original again.

They are pictures of people, often children: they are kept in the shoot's folder, move with it, and must be
removed with a person's data. They may be deleted at any time; `read_or_make_preview` makes a new one.

Besides, the preview that a multi-picture JPEG embeds of its own main picture (CIPA DC-007). Decoding that
takes less than a tenth of the time of examining 24 megapixels, yet it does not replace examining the picture:
a block that a memory card or a copy has damaged shows only when the main picture is decoded, and an intact
preview must not make a damaged frame pass as intact. It is examined only where the main picture is damaged:
its slate may still read.
"""

from __future__ import annotations

import io
from collections.abc import Collection, Iterator
from pathlib import Path
from secrets import token_hex
from typing import TYPE_CHECKING, Any

from PIL import Image
from sqlmodel import Session, select

from onsite.frames.find_frame_files import file_kind
from onsite.frames.frame_pixels import turn_upright
from onsite.frames.open_frame_picture import (
    SMALL,
    NotAPicture,
    UnreadablePicture,
    open_picture,
    reduced,
    scale_for,
    small_of,
)
from onsite.store.schema import File, FilePlace
from onsite.store.shoot import Shoot

if TYPE_CHECKING:
    from PIL import Image


FOLDER = "previews"
_QUALITY = 80  # of a JPEG: no fault is seen at the size of a screen. Own choice
_NEARLY = 1.1  # times the wanted size: close enough to skip resampling
_END_OF_IMAGE = b"\xff\xd9"  # ITU-T T.81, table B.1


def preview_jpeg(small: Image.Image, orientation: int) -> bytes:
    """Encode the preview of a reduced RGB picture as JPEG."""
    from PIL.Image import Resampling

    preview = small.copy()
    if max(small.size) > SMALL * _NEARLY:
        preview.thumbnail((SMALL, SMALL), Resampling.BILINEAR)
    content = io.BytesIO()
    turn_upright(preview, orientation).save(content, "JPEG", quality=_QUALITY)
    return content.getvalue()


def preview_place(folder: Path, sha256: str) -> Path:
    """Return the path of the preview of a file with this SHA-256, in the shoot's folder."""
    return folder / FOLDER / sha256[:2] / f"{sha256}.jpg"


def save_preview(folder: Path, sha256: str, content: bytes) -> Path | None:
    """Write a preview atomically and return its path.

    None where it cannot be written, for instance on a full disk: a frame is never refused for lack of a
    preview.
    """
    place = preview_place(folder, sha256)
    part = place.with_name(f".{place.name}.{token_hex(4)}.part")
    try:
        for made in (place.parent.parent, place.parent):  # not the shoot's: it may have been renamed
            made.mkdir(exist_ok=True)
        try:
            part.write_bytes(content)
            part.replace(place)
        finally:
            part.unlink(missing_ok=True)
    except OSError:
        return None
    return place


def existing_previews(shoot: Shoot, session: Session, frame_ids: Collection[int]) -> dict[int, Path]:
    """Return the paths of the previews of these frames, for those that have one. One query."""
    rows = session.exec(select(File.frame_id, File.sha256).where(File.frame_id.in_(frame_ids)))
    places = ((frame_id, preview_place(shoot.folder, sha256)) for frame_id, sha256 in rows)
    return {frame_id: place for frame_id, place in places if place.is_file()}


def read_or_make_preview(shoot: Shoot, frame_id: int) -> Path | None:
    """Return the path of a frame's preview, made from the original where it is missing or damaged.

    None where there is neither a preview nor an original that can be decoded. May be slow.
    """
    with shoot.reading() as session:
        there = existing_previews(shoot, session, [frame_id]).get(frame_id)
        if there is not None and there.read_bytes()[-2:] == _END_OF_IMAGE:
            return there
        rows = session.exec(
            select(FilePlace.path, File.sha256).where(FilePlace.file_id == File.id, File.frame_id == frame_id)
        ).all()
    for path, sha256 in rows:
        content = _preview_of(Path(path), sha256)
        if content:
            return save_preview(shoot.folder, sha256, content)
    return None


def _preview_of(path: Path, sha256: str) -> bytes:
    """Make the preview of an original with unchanged content; empty where there is none."""
    from onsite.files.atomic_write import sha256_of

    kind = file_kind(path)
    if kind is None or not path.is_file():
        return b""
    try:
        if sha256_of(path) != sha256:
            return b""
        with open_picture(path, kind) as (picture, facts):
            if picture is None:
                return b""
            return preview_jpeg(small_of(reduced(picture, scale_for(picture.size))), facts.orientation)
    except (NotAPicture, UnreadablePicture, OSError):
        return b""


_ENTRIES = 0xB002  # MP Entry, in the MP Index IFD (CIPA DC-007, 5.2.3)
_PREVIEWS = {"Large Thumbnail (VGA Equivalent)", "Large Thumbnail (Full HD Equivalent)"}
"""Pillow's names of the types 0x010001 and 0x010002. Other types are other pictures: of a second lens, or the
gain map of a high dynamic range picture."""

_LARGEST = 1 << 25  # bytes; a preview has far fewer
_ALIKE = 0.01  # largest relative difference of aspect ratios: a letterboxed preview is not used


def embedded_preview(path: Path, picture: Image.Image) -> Image.Image | None:
    """Return the largest preview embedded in a JPEG, not yet decoded.

    None where no preview has the aspect ratio of the picture. It is stored in the same orientation. `picture`
    is the opened JPEG, which cannot be decoded afterwards.
    """
    shape = picture.size
    try:
        found = list(_previews(path, picture))
    except Exception:  # a damaged index fails in many ways: no preview then
        return None
    return max(
        (preview for preview in found if _is_alike(preview.size, shape)),
        key=lambda preview: preview.width,
        default=None,
    )


def _previews(path: Path, picture: Any) -> Iterator[Image.Image]:
    """Yield the previews in the multi-picture index of a JPEG."""
    index = getattr(picture, "mpinfo", None) or {}
    for number, entry in enumerate(index.get(_ENTRIES, ())):
        if entry["Attribute"]["MPType"] in _PREVIEWS:
            picture.seek(number)
            with path.open("rb") as file:
                file.seek(picture.offset)
                yield Image.open(io.BytesIO(file.read(min(entry["Size"], _LARGEST))), formats=["JPEG"])


def _is_alike(size: tuple[int, int], main: tuple[int, int]) -> bool:
    """Whether two sizes have about the same aspect ratio."""
    return abs(size[0] * main[1] / (size[1] * main[0]) - 1) <= _ALIKE
