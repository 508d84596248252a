"""Contact sheets as JPEG and as PDF, drawn from one layout in millimetres."""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from onsite.frames.frame_to_srgb import srgb_profile
from onsite.messages.message_catalogue import Catalogue
from onsite.proofs.proof_picture import ProofPicture
from onsite.slates.fit_slate_text import IN_LATIN, TextLine, fit_text, pieces
from onsite.slates.printable_slate_names import letter_text
from onsite.slates.slate_fonts import Typeface, can_shape
from onsite.slates.slate_layout import Box
from onsite.store.settings import Agreement

if TYPE_CHECKING:
    from PIL.ImageFont import FreeTypeFont


DPI = 200
"""Of the JPEG sheet: sharp on a screen, and good enough in print to choose from. Our own choice."""

_PIXELS = DPI / 25.4  # to a millimetre
_POINTS = 72 / 25.4  # to a millimetre (PDF: 72 to an inch)
_QUALITY = 85  # of the JPEG sheet: letters stay clean. Own choice


def side_for(count: int) -> int:
    """Pixels on the long side that each picture needs on a JPEG sheet of `count` pictures."""
    return round((PAPER[0] - 2 * MARGIN) / columns_for(count) * _PIXELS * 1.3)


def jpeg_sheets(heading: SheetHeading, pictures: Sequence[ProofPicture]) -> list[bytes]:
    """The sheets as JPEG files in sRGB."""
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
    """The same sheets as one PDF, with the pictures' JPEG data embedded unchanged."""
    from fpdf import FPDF

    document = FPDF(unit="mm", format=PAPER)
    document.set_title(heading.title)  # no other metadata: the name stays on the sheet
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


# Layout: pure arithmetic in millimetres, for paper and for pixels

PAPER = (210.0, 297.0)
"""Millimetres: A4 (ISO 216)."""

# In millimetres, our own choice.
MARGIN = 12.0  # office printers leave up to 10 blank
_HEAD = 24.0
_GAP = 4.0
_LABEL = 5.0
_GRIDS = ((1, 1), (2, 2), (2, 3), (3, 3), (4, 4))
"""Columns and rows. The first grid that holds all pictures is used, else several sheets with the last."""


@dataclass(frozen=True, slots=True)
class SheetHeading:
    """The text above the pictures."""

    name: str  # of the person
    below: str  # group, shoot and day
    mark: str  # the word for a proof
    answer: str = ""  # how to answer
    title: str = "Proofs"  # of the PDF document


def answer_lines(agreed: Agreement, words: Catalogue) -> list[str]:
    """Lines with the photographer, the address for answers and the deadline, as far as they were agreed."""
    lines = [words.text("page-photographer", studio=agreed.studio)] if agreed.studio else []
    if agreed.reply_to:
        lines.append(words.text("sheet-reply", address=agreed.reply_to))
    if agreed.picks_due:
        lines.append(words.text("sheet-by", day=words.day(agreed.picks_due)))
    return lines


@dataclass(frozen=True, slots=True)
class PlacedPicture:
    """The position of a picture, by its index from 0."""

    number: int
    box: Box


@dataclass(frozen=True, slots=True)
class SheetPlan:
    """One sheet: its pictures, and its lines of type in reading order."""

    pictures: tuple[PlacedPicture, ...]
    lines: tuple[TextLine, ...]


def columns_for(count: int) -> int:
    """The number of columns on sheets of `count` pictures."""
    return _grid(count)[0]


def plan_sheets(
    heading: SheetHeading, labels: Sequence[str], sizes: Sequence[tuple[int, int]], shaping: bool = True
) -> list[SheetPlan]:
    """Lays out sheets for pictures of these sizes in pixels, with their labels below. Without `shaping`,
    scripts that need it are set in Latin letters."""
    columns, rows = _grid(len(labels))
    each = columns * rows
    sheets = []
    for start in range(0, len(labels), each):
        page = f"{start // each + 1} / {-(-len(labels) // each)}" if len(labels) > each else ""
        lines = list(_head(heading, page, shaping))
        pictures: list[PlacedPicture] = []
        top = MARGIN + _HEAD
        for first in range(start, min(start + each, len(labels)), columns):
            row = list(
                _row(range(first, min(first + columns, start + each, len(labels))), top, sizes, columns, rows)
            )
            for placed, below in row:
                lines += _line(labels[placed.number], below, shaping=shaping, place=0.5)
            pictures += [placed for placed, _ in row]
            top = max(below.bottom for _, below in row) + _GAP
        sheets.append(SheetPlan(tuple(pictures), tuple(lines)))
    return sheets


def _grid(count: int) -> tuple[int, int]:
    return next(((across, down) for across, down in _GRIDS if across * down >= count), _GRIDS[-1])


def _row(
    numbers: Sequence[int], top: float, sizes: Sequence[tuple[int, int]], columns: int, rows: int
) -> Iterator[tuple[PlacedPicture, Box]]:
    """A row of pictures below `top`, as large as the grid allows and no taller than they need, each with the
    box of its label."""
    width = (PAPER[0] - 2 * MARGIN - (columns - 1) * _GAP) / columns
    height = (PAPER[1] - 2 * MARGIN - _HEAD - (rows - 1) * _GAP) / rows - _LABEL
    height = max(min(height, width * sizes[number][1] / sizes[number][0]) for number in numbers)
    for column, number in enumerate(numbers):
        cell = Box(MARGIN + column * (width + _GAP), top, width, height)
        below = Box(cell.x, cell.bottom + 0.8, width, _LABEL - 0.8)
        yield PlacedPicture(number, _inside(cell, sizes[number])), below


def _inside(cell: Box, size: tuple[int, int]) -> Box:
    """The largest box with the proportions of `size` that fits into `cell`, centred."""
    scale = min(cell.width / size[0], cell.height / size[1])
    width, height = size[0] * scale, size[1] * scale
    return Box(cell.x + (cell.width - width) / 2, cell.y + (cell.height - height) / 2, width, height)


def _head(heading: SheetHeading, page: str, shaping: bool) -> Iterator[TextLine]:
    wide = PAPER[0] - 2 * MARGIN
    below = heading.below
    if letter_text(heading.name, True, shaping).missing:
        below = " · ".join(filter(None, (IN_LATIN, below)))
    yield from _line(heading.name, Box(MARGIN, MARGIN, wide - 42, 10), bold=True, shaping=shaping, two=True)
    yield from _line(heading.mark, Box(MARGIN + wide - 38, MARGIN, 38, 10), bold=True, place=1.0)
    yield from _line(below, Box(MARGIN, MARGIN + 11, wide - 20, 5.5), shaping=shaping)
    yield from _line(heading.answer, Box(MARGIN, MARGIN + 17, wide, 4.5), shaping=shaping)
    yield from _line(page, Box(MARGIN + wide - 18, MARGIN + 11, 18, 5.5), place=1.0)


def _line(
    text: str, box: Box, *, bold: bool = False, shaping: bool = True, place: float = 0.0, two: bool = False
) -> Iterator[TextLine]:
    """Sets a text on one line of `box`, or on `two`. The type shrinks first and is cut only then. `place` is
    the alignment: 0 left, 0.5 centre, 1 right."""
    lettered = letter_text(text, bold, shaping)
    if not lettered.text:
        return
    face = lettered.face
    largest = box.height / face.line_height
    least = (0.3 if two else 0.55) * largest
    fitted = fit_text(lettered.text, face, box, largest=largest, floor=0.55 * largest, least=least)
    size = fitted.size
    for number, line in enumerate(fitted.lines):
        x = box.x + place * (box.width - size * face.width(line))
        yield from pieces(line, face, size, x, box.y + size * (face.ascent + number * face.line_height))
