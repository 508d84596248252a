"""A list's file as rows of text cells, whatever kind of file it is."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from onsite.files.tables import unescape_formula
from onsite.problems import Problem
from onsite.roster.delimited import read_delimited
from onsite.roster.encoding import decode
from onsite.roster.workbook import is_workbook, read_workbook, too_wide
from onsite.words import escaped

WIDEST = 256
"""Columns that a list may have: as many as an XLS sheet."""

LARGEST = 64 * 2**20
"""Bytes of the largest file that is read as a list."""

_OTHER_KINDS = (
    (b"%PDF", "a PDF"),
    (b"\xff\xd8\xff", "a JPEG picture"),
    (b"\x89PNG", "a PNG picture"),
    (b"{\\rtf", "an RTF text"),
    (b"<!DOCTYPE", "a web page"),
    (b"<html", "a web page"),
    (b"<?xml", "an XML file"),
)
_KINDS_READ = "Lists are read from CSV, TSV, XLSX, XLS and ODS: save it as one of these."


@dataclass(frozen=True, slots=True)
class TableRow:
    """`number` as a spreadsheet shows it, from 1; `cells` without outer white space and trailing blanks.

    `width` counts the cells of the row as the file has them, trailing blanks included.
    """

    number: int
    cells: tuple[str, ...]
    width: int


@dataclass(frozen=True, slots=True)
class RosterTable:
    """The rows with text in them, and how they were read.

    `blank` counts the rows without text between them. `sheet` and `sheets` are empty for a text list,
    `encoding` and `delimiter` for a workbook; `delimiter` is also empty when a line is one cell.
    `certain` is False when the encoding was chosen by which letters are likelier. `merged` are the cells of a
    workbook that were merged into one: (row from 1, first column, last column, both from 0).
    """

    rows: tuple[TableRow, ...]
    blank: int = 0
    sheet: str = ""
    sheets: tuple[str, ...] = ()
    encoding: str = ""
    delimiter: str = ""
    certain: bool = True
    merged: tuple[tuple[int, int, int], ...] = ()


def cell_text(row: TableRow, column: int) -> str:
    """The cell of a row in a column from 0, empty beyond its end."""
    return row.cells[column] if column < len(row.cells) else ""


def column_letter(column: int) -> str:
    """The letter of a column from 0, as a spreadsheet shows it: 0 is A, 26 is AA."""
    text = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, 26)
        text = chr(ord("A") + rest) + text
    return text


def read_table(path: Path, sheet: str | None = None) -> RosterTable:
    """Reads a list; its content, not its ending, says what kind of file it is.

    Raises Problem when the file is missing, a folder, unreadable, empty, no list, damaged, locked, too wide
    or without that sheet.
    """
    path = Path(path)
    file = escaped(path.name)
    data = _bytes(path, file)
    if is_workbook(data):
        book = read_workbook(data, file, sheet, WIDEST)
        table = _table(book["rows"], file)
        merged = tuple((top + 1, left, right) for top, left, _, right in book.get("merged", ()))
        return RosterTable(table.rows, table.blank, book["sheet"], tuple(book["sheets"]), merged=merged)
    _refuse_other_kinds(data, file)
    decoded = decode(data)
    if decoded is None:
        raise Problem(f"{file} is neither text nor a workbook", _KINDS_READ)
    if sheet is not None:
        raise Problem(f"{file} is a text list and has no sheets", "Leave out the sheet.")
    cells, delimiter = read_delimited(decoded.text, file)
    table = _table(cells, file)
    return RosterTable(
        table.rows, table.blank, encoding=decoded.encoding, delimiter=delimiter, certain=decoded.certain
    )


def _bytes(path: Path, file: str) -> bytes:
    try:
        if path.is_dir():
            raise Problem(f"{file} is a folder", "Name the file of the list in it.")
        if path.stat().st_size > LARGEST:
            raise Problem(f"{file} is larger than {LARGEST // 2**20} MiB: no list of people is", _KINDS_READ)
        data = path.read_bytes()
    except FileNotFoundError:
        raise Problem(
            f"There is no file {escaped(str(path), 200)}", "Check the name and the folder."
        ) from None
    except OSError as error:
        reason = escaped(error.strerror or str(error))
        raise Problem(f"{file} cannot be read ({reason})", "Check that it may be opened.") from None
    if not data.strip():
        raise Problem(f"{file} is empty", "Is it the right file?")
    return data


def _refuse_other_kinds(data: bytes, file: str) -> None:
    start = data.removeprefix(b"\xef\xbb\xbf").lstrip()[:16].lower()
    for signature, kind in _OTHER_KINDS:
        if start.startswith(signature.lower()):
            raise Problem(f"{file} is {kind}, not a list", _KINDS_READ)


def _table(records: list[list[str]], file: str) -> RosterTable:
    rows: list[TableRow] = []
    blank_before: list[int] = []
    for number, record in enumerate(records, start=1):
        cells = [unescape_formula(cell.strip()) for cell in record]
        while cells and not cells[-1]:
            cells.pop()
        if len(cells) > WIDEST:
            raise too_wide(file, len(cells), WIDEST)
        if cells:
            blank_before.append(number - 1 - len(rows))
            rows.append(TableRow(number, tuple(cells), len(record)))
    if not rows:
        raise Problem(f"{file} is empty", "Is it the right file?")
    return RosterTable(tuple(rows), blank=blank_before[-1] - blank_before[0])
