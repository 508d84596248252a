"""A proof picture: small, in sRGB, upright, watermarked, without any other metadata.

A frame is decoded once, at reduced size; the page, the JPEG sheet and the PDF all use the result.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from onsite.frames.examine_frame import fingerprint
from onsite.frames.frame_pixels import to_8_bits, turn_upright
from onsite.frames.frame_previews import preview_place
from onsite.frames.frame_to_srgb import colour_profile, srgb_profile, to_srgb
from onsite.frames.open_frame_picture import NotAPicture, UnreadablePicture, damaged_picture, open_picture
from onsite.reconcile.frame_ownership import ProofFrame, ProofSource
from onsite.slates.slate_fonts import bundled_typeface

if TYPE_CHECKING:
    from PIL import Image

LONG_SIDE = 960
"""Pixels: fills a phone's screen, and is too small for a good print. Our own choice."""

_QUALITY = 80  # of a JPEG: a page with 20 pictures stays light on a phone. Own choice
_THUMB = 400
"""Pixels on the long side of the picture for a JPEG sheet with many pictures."""

MARK = "PROOF"
"""The watermark where no other word is given."""
_MARK_STRENGTH = 0.25
_MARK_WIDTH = 0.5
"""Opacity of the watermark, and its share of the picture's width. Our own choice: seen at once, and the face
under it can still be judged."""


@dataclass(frozen=True, slots=True)
class ProofPicture:
    """A frame as it is shown on proofs."""

    frame: ProofFrame
    jpeg: bytes  # the picture as it goes out
    width: int  # pixels of `jpeg`
    height: int
    small: Image.Image  # for the JPEG sheet
    from_preview: bool = False


class NoProofPicture(Exception):  # noqa: N818
    """No file and no preview of the frame can be decoded."""


def proof_picture(
    frame: ProofFrame, shoot_folder: Path, side: int = _THUMB, mark: str = MARK
) -> ProofPicture:
    """The proof of a frame, from the first of its files that is unchanged, else from its preview in the
    shoot's folder. `side` is the long side of `small` in pixels, `mark` the watermark. Raises
    NoProofPicture."""
    reason = "none of its files is where it was read"
    for source in frame.sources:
        try:
            if _is_same(source):
                return _made(frame, _decoded(source), side, mark)
            reason = f"{source.path} is another file now"
        except (NotAPicture, UnreadablePicture) as error:
            reason = str(error)
        except OSError:
            continue
    for source in frame.sources:
        try:
            return _made(
                frame, _preview(preview_place(shoot_folder, source.sha256)), side, mark, from_preview=True
            )
        except (OSError, UnreadablePicture):
            continue
    raise NoProofPicture(reason)


def _is_same(source: ProofSource) -> bool:
    """Whether a file is the one that was read in: a reused memory card has other pictures under the same
    names. Raises OSError."""
    now = fingerprint(source.path)
    return (now.size, now.head) == (source.size, source.head)


def _decoded(source: ProofSource) -> Image.Image:
    with open_picture(source.path, source.kind) as (picture, facts):
        if picture is None:
            raise UnreadablePicture("the raw file gives no preview")
        return _in_size(picture, facts.orientation)


def _preview(path: Path) -> Image.Image:
    from PIL import Image

    try:
        with Image.open(path) as picture:
            return _in_size(picture, 1)
    except OSError:
        raise
    except Exception as error:
        raise damaged_picture(error) from error


def _for_screens(picture: Image.Image, profile: bytes) -> Image.Image:
    """The picture in sRGB; with its colours unconverted where that fails, since any proof beats none."""
    try:
        return to_srgb(picture, profile)
    except UnreadablePicture:
        return picture if picture.mode == "RGB" else picture.convert("RGB")


def _in_size(picture: Image.Image, orientation: int) -> Image.Image:
    """Reduces a picture in the decoder, then by area, turns it upright and converts its colours."""
    from PIL.Image import Resampling

    profile = colour_profile(picture)
    try:
        picture.draft(None, (LONG_SIDE, LONG_SIDE))
        picture.load()
        if picture.mode not in ("RGB", "L", "CMYK"):
            picture = to_8_bits(picture).convert("RGB")
        small = picture.copy()
        small.thumbnail((LONG_SIDE, LONG_SIDE), Resampling.HAMMING)
        return _for_screens(turn_upright(small, orientation), profile)
    except Exception as error:
        raise damaged_picture(error) from error


def _made(
    frame: ProofFrame, picture: Image.Image, side: int, word: str, from_preview: bool = False
) -> ProofPicture:
    from PIL.Image import Resampling

    mark, corner = _mark(picture.size, word)
    picture.paste(mark, corner, mark)
    content = io.BytesIO()
    picture.info = {}  # else EXIF, comments and other metadata of the camera would be saved again
    picture.save(content, "JPEG", quality=_QUALITY, icc_profile=srgb_profile())
    width, height = picture.size
    picture.thumbnail((side, side), Resampling.HAMMING)
    return ProofPicture(frame, content.getvalue(), width, height, picture, from_preview)


@lru_cache(maxsize=16)
def _mark(size: tuple[int, int], word: str) -> tuple[Image.Image, tuple[int, int]]:
    """(watermark for the foot of a picture of that size, its upper left corner): light letters with a dark
    edge, legible on a white gown and on a black one."""
    from PIL import Image, ImageDraw, ImageFont

    width, height = size
    face = bundled_typeface(bold=True)
    font = ImageFont.truetype(str(face.path), max(_MARK_WIDTH * min(size) / face.width(word), 6))
    mark = Image.new("RGBA", size, (0, 0, 0, 0))
    draw = ImageDraw.Draw(mark)
    strength = round(255 * _MARK_STRENGTH)
    edge = max(round(font.size / 30), 1)
    foot = (width / 2, height * 0.93)
    draw.text(foot, word, (0, 0, 0, strength), font, "ms", stroke_width=edge, stroke_fill=(0, 0, 0, strength))
    draw.text(foot, word, (255, 255, 255, strength * 2), font, "ms")
    box = mark.getbbox() or (0, 0, 1, 1)
    return mark.crop(box), box[:2]
