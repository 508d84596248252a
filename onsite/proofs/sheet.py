"""Contact sheets, as JPEG and as PDF, drawn from one plan."""

from __future__ import annotations

import io
from collections.abc import Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

from onsite.frames.profiles import srgb_profile
from onsite.proofs.picture import ProofPicture
from onsite.proofs.plan import MARGIN, PAPER, SheetHeading, SheetPlan, columns_for, plan_sheets
from onsite.slate.faces import Typeface
from onsite.slate.png import can_shape

if TYPE_CHECKING:
    from PIL.ImageFont import FreeTypeFont

DPI = 200
"""Of the JPEG sheet: sharp on a screen, and printed well enough to choose from. Our own choice."""

_PIXELS = DPI / 25.4
_POINTS = 72 / 25.4
_QUALITY = 85


def side_for(count: int) -> int:
    """Pixels on the long side that a picture needs on the JPEG sheet of so many."""
    return round((PAPER[0] - 2 * MARGIN) / columns_for(count) * _PIXELS * 1.3)


def jpeg_sheets(heading: SheetHeading, pictures: Sequence[ProofPicture]) -> list[bytes]:
    """A JPEG for each sheet, in sRGB."""
    plans = plan_sheets(heading, _labels(pictures), _sizes(pictures), shaping=can_shape())
    return [_painted(plan, pictures) for plan in plans]


def _painted(plan: SheetPlan, pictures: Sequence[ProofPicture]) -> bytes:
    from PIL import Image, ImageDraw

    paper = Image.new("RGB", (round(PAPER[0] * _PIXELS), round(PAPER[1] * _PIXELS)), "white")
    for placed in plan.pictures:
        small, box = pictures[placed.number].small, placed.box
        size = (max(round(box.width * _PIXELS), 1), max(round(box.height * _PIXELS), 1))
        paper.paste(
            small.resize(size, Image.Resampling.BILINEAR), (round(box.x * _PIXELS), round(box.y * _PIXELS))
        )
    draw = ImageDraw.Draw(paper)
    for line in plan.lines:
        font = _font(line.face, line.size * _PIXELS)
        draw.text((line.x * _PIXELS, line.baseline * _PIXELS), line.text, "black", font, anchor="ls")
    content = io.BytesIO()
    paper.save(content, "JPEG", quality=_QUALITY, dpi=(DPI, DPI), icc_profile=srgb_profile())
    return content.getvalue()


@lru_cache(maxsize=64)
def _font(face: Typeface, size: float) -> FreeTypeFont:
    from PIL import ImageFont

    return ImageFont.truetype(str(face.path), size, index=face.number)


def pdf_sheets(heading: SheetHeading, pictures: Sequence[ProofPicture]) -> bytes:
    """The same sheets as one PDF. The pictures are put in as they are, not coded again."""
    from fpdf import FPDF

    document = FPDF(unit="mm", format=PAPER)
    document.set_title(heading.title)  # and nothing else: the name stays on the sheet
    document.set_auto_page_break(False)
    document.set_text_shaping(True)
    document.c_margin = 0
    families: dict[Typeface, str] = {}
    for plan in plan_sheets(heading, _labels(pictures), _sizes(pictures)):
        document.add_page()
        for placed in plan.pictures:
            box = placed.box
            content = io.BytesIO(pictures[placed.number].jpeg)
            document.image(content, box.x, box.y, box.width, box.height)
        for line in plan.lines:
            if line.face not in families:
                families[line.face] = f"face{len(families)}"
                document.add_font(
                    families[line.face], fname=line.face.path, collection_font_number=line.face.number
                )
            document.set_font(families[line.face], size=line.size * _POINTS)
            # A cell sets its baseline 0.8 of the type's size below its top when it is one size high.
            document.set_xy(line.x, line.baseline - 0.8 * line.size)
            document.cell(h=line.size, text=line.text)
    return bytes(document.output())


def _labels(pictures: Sequence[ProofPicture]) -> list[str]:
    return [picture.frame.label for picture in pictures]


def _sizes(pictures: Sequence[ProofPicture]) -> list[tuple[int, int]]:
    return [(picture.width, picture.height) for picture in pictures]
