"""Tickets and deck cards as PDF sheets to print and cut."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from onsite.core.errors import Problem
from onsite.core.progress import Progress, no_progress
from onsite.files.atomic_write import atomic_file, require_ending
from onsite.slates.fit_slate_text import TextLine, compose_ticket
from onsite.slates.qr_symbol import qr_modules, with_quiet_zone
from onsite.slates.slate_fonts import Typeface
from onsite.slates.slate_layout import NEUTRAL_GREY, SYMBOL_SIDE, Box, Ticket, ticket_layout

if TYPE_CHECKING:
    import numpy as np
    from fpdf import FPDF
    from numpy.typing import NDArray

PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""Width and height of paper sizes in mm: ISO 216, and ANSI/ASME Y14.1 size A."""

GRIDS = {1: (1, 1), 2: (1, 2), 4: (2, 2), 8: (2, 4)}
"""Columns and rows by tickets on a sheet. The sheet is oriented so that every ticket is landscape."""

MARGIN = 10.0
"""Margin around the tickets in mm: the area that office printers leave blank, and room for cut marks."""

_MARK_GAP, _MARK_LENGTH, _MARK_WIDTH = 2.0, 5.0, 0.15  # millimetres of a cut mark
_POINTS = 72 / 25.4  # to a millimetre (PDF: 72 to an inch)


@dataclass(frozen=True, slots=True)
class TicketSheet:
    """A sheet of paper of `width` by `height` mm, and the faces of its tickets, row by row."""

    width: float
    height: float
    faces: tuple[Box, ...]


def sheet(paper: str, up: int) -> TicketSheet:
    """Return the sheet for `up` tickets on `paper`. Raises Problem for a paper or number not supported."""
    if paper.lower() not in PAPERS:
        raise Problem(f"{paper!r} is not a paper size", f"Choose one of: {', '.join(PAPERS)}.")
    if up not in GRIDS:
        raise Problem(
            f"{up} tickets do not fit a sheet evenly", f"Choose one of: {', '.join(map(str, GRIDS))}."
        )
    width, height = PAPERS[paper.lower()]
    columns, rows = GRIDS[up]
    if columns == rows:
        width, height = height, width
    across, down = (width - 2 * MARGIN) / columns, (height - 2 * MARGIN) / rows
    places = ((row, column) for row in range(rows) for column in range(columns))
    faces = tuple(Box(MARGIN + column * across, MARGIN + row * down, across, down) for row, column in places)
    return TicketSheet(width, height, faces)


def write_tickets(
    cards: Sequence[Ticket],
    path: Path,
    paper: str = "a4",
    up: int = 1,
    progress: Progress = no_progress,
) -> None:
    """Write the tickets `cards` to the PDF `path`, `up` to a sheet, with cut marks.

    `progress` is called with the number done and the total. The file is written atomically. Raises Problem
    for no tickets, an unknown paper or number, or a folder that cannot be written to.
    """
    if not cards:
        raise Problem("There is nobody to make a ticket for", "Load a roster first, or name another group.")
    page = sheet(paper, up)
    require_ending(path, ".pdf")
    with atomic_file(path) as stream:
        press = _TicketPrinter(page)
        for done, card in enumerate(cards, start=1):
            press.print_card(card)
            progress(done, len(cards))
        stream.write(press.document.output())


@dataclass(slots=True)
class _TicketPrinter:
    """A PDF document that is filled sheet by sheet."""

    page: TicketSheet
    document: FPDF = field(init=False)
    _printed: int = 0
    _families: dict[Typeface, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        from fpdf import FPDF

        self.document = FPDF(unit="mm", format=(self.page.width, self.page.height))
        self.document.set_title("Tickets")  # no other metadata: people's names stay on the sheets
        self.document.set_auto_page_break(False)
        self.document.set_text_shaping(True)
        self.document.c_margin = 0

    def print_card(self, card: Ticket) -> None:
        """Draw a ticket on the next free face, on a new sheet when the last is full."""
        if self._printed % len(self.page.faces) == 0:
            self.document.add_page()
            self._draw_cut_marks()
        face = self.page.faces[self._printed % len(self.page.faces)]
        self._printed += 1
        places = ticket_layout(face.width, face.height)
        with self.document.local_context():
            for box in places.symbols:
                self._draw_symbol(card.code, face, box)
            patch = places.patch
            self.document.set_fill_color(*NEUTRAL_GREY)
            self.document.rect(face.x + patch.x, face.y + patch.y, patch.width, patch.height, style="F")
        for line in compose_ticket(card, places):
            self._draw_line(line, face)

    def _draw_cut_marks(self) -> None:
        """Draw short lines in the margin that point at the edges of the faces without touching them."""
        self.document.set_line_width(_MARK_WIDTH)
        far_x, far_y = self.page.width - MARGIN, self.page.height - MARGIN
        for x in {edge for face in self.page.faces for edge in (face.x, face.right)}:
            for start, way in ((MARGIN, -1), (far_y, 1)):
                self.document.line(x, start + way * _MARK_GAP, x, start + way * (_MARK_GAP + _MARK_LENGTH))
        for y in {edge for face in self.page.faces for edge in (face.y, face.bottom)}:
            for start, way in ((MARGIN, -1), (far_x, 1)):
                self.document.line(start + way * _MARK_GAP, y, start + way * (_MARK_GAP + _MARK_LENGTH), y)

    def _draw_symbol(self, code: str, face: Box, box: Box) -> None:
        modules = with_quiet_zone(qr_modules(code))
        module = box.width / SYMBOL_SIDE
        left, top = face.x + box.x, face.y + box.y
        self.document.set_fill_color(0)
        for x, y, width, height in bars(modules):
            self.document.rect(
                left + x * module, top + y * module, width * module, height * module, style="F"
            )

    def _draw_line(self, line: TextLine, face: Box) -> None:
        self.document.set_font(self._family(line.face), size=line.size * _POINTS)
        # In a cell as high as the font size, fpdf2 sets the baseline at 0.8 of the size below the top.
        self.document.set_xy(face.x + line.x, face.y + line.baseline - 0.8 * line.size)
        self.document.cell(h=line.size, text=line.text)

    def _family(self, face: Typeface) -> str:
        """Return the document's name for a font, embedding it on first use."""
        if face not in self._families:
            self._families[face] = f"face{len(self._families)}"
            self.document.add_font(self._families[face], fname=face.path, collection_font_number=face.number)
        return self._families[face]


def bars(modules: NDArray[np.bool_]) -> Iterator[tuple[int, int, int, int]]:
    """Yield the dark modules as rectangles (x, y, width, height): the runs of each row and of each column.

    With rows alone, viewers that antialias edges show hairlines of paper between them; the columns cover the
    seams.
    """
    for y, row in enumerate(modules):
        yield from ((x, y, length, 1) for x, length in _runs(row))
    for x, column in enumerate(modules.T):
        yield from ((x, y, 1, length) for y, length in _runs(column) if length > 1)


def _runs(line: NDArray[np.bool_]) -> Iterator[tuple[int, int]]:
    """Yield start and length of each run of dark modules."""
    import numpy as np

    edges = np.flatnonzero(np.diff(np.pad(line.astype(np.int8), 1)))
    for start, end in zip(edges[::2], edges[1::2], strict=True):
        yield int(start), int(end - start)
