"""The list of a batch as a workbook, as CSV and as text."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

from onsite.files.cells import neutral
from onsite.files.listing import write_csv
from onsite.files.saving import whole_file

_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")
"""What a workbook cannot hold."""


def write_sheets(folder: Path, headings: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """Writes `list.csv` and `list.xlsx`. Raises Problem."""
    safe = [[neutral(_CONTROL.sub(" ", cell)) for cell in row] for row in rows]
    write_csv(folder / "list.csv", headings, safe)
    _write_workbook(folder / "list.xlsx", headings, safe)


def _write_workbook(path: Path, headings: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    from openpyxl import Workbook
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.styles import Font
    from openpyxl.utils import get_column_letter

    book = Workbook(write_only=True)
    sheet = book.create_sheet("batch")
    for number, heading in enumerate(headings):
        longest = max([len(heading), *(len(row[number]) for row in rows)])
        sheet.column_dimensions[get_column_letter(number + 1)].width = min(longest + 2, 60)
    sheet.freeze_panes = "A2"
    bold = [WriteOnlyCell(sheet, value=heading) for heading in headings]
    for cell in bold:
        cell.font = Font(bold=True)
    sheet.append(bold)
    for row in rows:
        sheet.append(list(row))
    with whole_file(path) as stream:
        book.save(stream)
