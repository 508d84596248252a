"""Tables for other programs: CSV, tab-separated text and XLSX.

Everything that onsite exports as a table is written here: a cell never begins a formula and holds no control
character, whatever a person, a file or a note is called. `unescape_formula` restores what `escape_formula`
changed, so that a table written here can be loaded again.
"""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from collections.abc import Collection, Iterable, Sequence
from pathlib import Path

from onsite.core.text import DIRECTION_CONTROLS
from onsite.files.atomic_write import atomic_file

_FORMULA = re.compile(r"['\s\ufeff]*[=+\-@\t\r\n＝＋－＠]")
"""Beginnings that a spreadsheet may take for a formula (OWASP, "CSV Injection"). Apostrophes before them are
included, so that an escaped cell differs from a text that began with an apostrophe."""

_WIDEST_COLUMN = 60
"""The maximum width of a column in a workbook, in characters."""


def escape_formula(text: str) -> str:
    """`text` as a cell that no spreadsheet takes for a formula, with an apostrophe in front where needed.

    >>> escape_formula("=1+1"), escape_formula("Ana")
    ("'=1+1", 'Ana')
    """
    return f"'{text}" if _FORMULA.match(text) else text


def unescape_formula(text: str) -> str:
    """The text of which `escape_formula` made this cell.

    >>> unescape_formula("'=1+1"), unescape_formula("'tis")
    ('=1+1', "'tis")
    """
    return text[1:] if text.startswith("'") and _FORMULA.match(text, 1) else text


def table_cell(value: object, lines: bool = False) -> str:
    """A value as a cell: on one line unless `lines`, without control characters, never a formula."""
    if value is None:
        return ""
    return escape_formula(_cell_text(value, lines)) if isinstance(value, str) else str(value)


def _cell_text(text: str, lines: bool) -> str:
    if text.isascii() and text.isprintable():
        return text
    text = text.replace("\r\n", "\n")
    return "".join(
        character if lines and character == "\n" else " " if character.isspace() else character
        for character in text
        if character.isspace()
        or not (unicodedata.category(character) in _NO_TEXT or character in DIRECTION_CONTROLS)
    )


_NO_TEXT = ("Cc", "Cs")
"""Unicode categories left out: control characters and surrogates."""


def csv_text(headings: Sequence[str], rows: Iterable[Sequence[object]], lines: Collection[str] = ()) -> str:
    """A table as CSV (RFC 4180). Line breaks stay in the columns `lines` and become spaces in all others."""
    table = io.StringIO(newline="")
    writer = csv.writer(table)
    writer.writerow(headings)
    broken = [heading in lines for heading in headings]
    for row in rows:
        writer.writerow([table_cell(value, may_break) for value, may_break in zip(row, broken, strict=True)])
    return table.getvalue()


def write_csv(
    path: Path,
    headings: Sequence[str],
    rows: Iterable[Sequence[object]],
    lines: Collection[str] = (),
    encoding: str = "utf-8",
) -> None:
    """Writes a table in the form of `csv_text`, atomically. Raises Problem."""
    with atomic_file(path) as stream:
        stream.write(csv_text(headings, rows, lines).encode(encoding))


def rows_without(path: Path, first: Collection[str]) -> str | None:
    """The text of a CSV file without the rows whose first cell is one of these, with its byte order mark, if
    any; None where it has no such row."""
    with path.open(encoding="utf-8", newline="") as stream:
        text = stream.read()
    mark = "\ufeff" * text.startswith("\ufeff")
    rows = list(csv.reader(io.StringIO(text.removeprefix(mark), newline="")))
    kept = [row for row in rows if not row or row[0] not in first]
    if len(kept) == len(rows):
        return None
    table = io.StringIO(newline="")
    csv.writer(table).writerows(kept)
    return mark + table.getvalue()


def tab_separated_text(rows: Iterable[Sequence[object]]) -> str:
    """Rows with tabs between cells; Windows, macOS and Linux all accept the line ends."""
    return "".join("\t".join(map(table_cell, row)) + "\r\n" for row in rows)


def write_workbook(path: Path, title: str, headings: Sequence[str], rows: Sequence[Sequence[object]]) -> None:
    """Writes a table as XLSX with one sheet, every cell a text, atomically. Raises Problem."""
    from openpyxl import Workbook
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.styles import Font
    from openpyxl.utils import get_column_letter

    book = Workbook(write_only=True)
    sheet = book.create_sheet(title)
    texts = [list(map(table_cell, row)) for row in rows]
    for number, heading in enumerate(headings):
        longest = max([len(heading), *(len(row[number]) for row in texts)])
        sheet.column_dimensions[get_column_letter(number + 1)].width = min(longest + 2, _WIDEST_COLUMN)
    sheet.freeze_panes = "A2"
    for place, row in enumerate([list(headings), *texts]):
        cells = [WriteOnlyCell(sheet, value=text) for text in row]
        for text_cell in cells:
            text_cell.data_type = "s"  # a text, whatever it begins with
            if place == 0:
                text_cell.font = Font(bold=True)
        sheet.append(cells)
    with atomic_file(path) as stream:
        book.save(stream)
