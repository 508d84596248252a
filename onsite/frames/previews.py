"""Previews: a small upright JPEG of every frame, so that screens need not decode the original again.

They are pictures of people, of children above all: they lie in the shoot's folder, go where it goes, and are
to be removed with a person's data. They may be deleted at any time; `preview` makes one anew.
"""

from __future__ import annotations

import io
from collections.abc import Collection
from pathlib import Path
from secrets import token_hex
from typing import TYPE_CHECKING

from sqlmodel import Session, col, select

from onsite.frames.found import file_kind
from onsite.frames.picture import (
    SMALL,
    NotAPicture,
    UnreadablePicture,
    open_picture,
    reduced,
    scale_for,
    small_of,
)
from onsite.frames.upright import turn_upright
from onsite.store.shoot import Shoot
from onsite.store.tables import File, FilePlace

if TYPE_CHECKING:
    from PIL import Image

FOLDER = "previews"
_QUALITY = 80
_NEARLY = 1.1  # times the size wanted: not worth the time of making it exactly that
_END_OF_IMAGE = b"\xff\xd9"  # ITU-T T.81, table B.1


def preview_jpeg(small: Image.Image, orientation: int) -> bytes:
    """The preview of a picture in RGB, reduced already, as the bytes of a JPEG."""
    from PIL.Image import Resampling

    preview = small.copy()
    if max(small.size) > SMALL * _NEARLY:
        preview.thumbnail((SMALL, SMALL), Resampling.BILINEAR)
    content = io.BytesIO()
    turn_upright(preview, orientation).save(content, "JPEG", quality=_QUALITY)
    return content.getvalue()


def preview_place(folder: Path, sha256: str) -> Path:
    """Where the preview of a file with that SHA-256 lies, in the shoot's folder."""
    return folder / FOLDER / sha256[:2] / f"{sha256}.jpg"


def save_preview(folder: Path, sha256: str, content: bytes) -> Path | None:
    """Writes a preview, whole or not at all. None where it cannot be written, for instance on a full disk:
    a frame is never refused for want of its preview."""
    place = preview_place(folder, sha256)
    part = place.with_name(f".{place.name}.{token_hex(4)}.part")
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        try:
            part.write_bytes(content)
            part.replace(place)
        finally:
            part.unlink(missing_ok=True)
    except OSError:
        return None
    return place


def existing_previews(shoot: Shoot, session: Session, frame_ids: Collection[int]) -> dict[int, Path]:
    """Where the previews of these frames lie, for those that have one. One query."""
    rows = session.exec(select(File.frame_id, File.sha256).where(col(File.frame_id).in_(frame_ids)))
    places = ((frame_id, preview_place(shoot.folder, sha256)) for frame_id, sha256 in rows)
    return {frame_id: place for frame_id, place in places if place.is_file()}


def read_or_make_preview(shoot: Shoot, frame_id: int) -> Path | None:
    """Where a frame's preview lies; made anew from the original where it is missing or damaged.

    None where neither it nor an original that can be looked at is to be had. It may take a while.
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
    """The preview of an original that still is what it was; empty where there is none. No slates are read."""
    from onsite.files.saving import sha256_of

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
