"""The list of a batch as a workbook, as CSV and as text."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

from onsite.slate.listing import write_csv
from onsite.slate.saving import whole_file

_RISKY = ("=", "+", "-", "@", "\t", "\r")
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")


def neutral(cell: str) -> str:
    """A text that no spreadsheet program takes for a formula (OWASP, CSV Injection; from memory) and that a
    workbook can hold: no control characters but tab and line break."""
    cell = _CONTROL.sub(" ", cell)
    return f"'{cell}" if cell.startswith(_RISKY) else cell


def write_sheets(folder: Path, headings: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """Writes `list.csv` and `list.xlsx`. Raises Problem."""
    safe = [[neutral(cell) for cell in row] for row in rows]
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
