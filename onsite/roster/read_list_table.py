"""Reading a list's file, text or workbook, as rows of text cells.

Text lists are delimited by comma, semicolon, tab or pipe (RFC 4180 and its relatives).
"""

from __future__ import annotations

import csv
import io
import itertools
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from onsite.core.errors import Problem
from onsite.core.text import escaped
from onsite.files.input_limits import LIST_BYTES, LIST_LINES
from onsite.files.write_tables import unescape_formula
from onsite.roster.column_headings import is_name_heading
from onsite.roster.list_encoding import decode
from onsite.roster.list_workbook import is_workbook, read_workbook, too_wide

WIDEST = 256
"""The maximum number of columns in a list, as in an XLS sheet."""


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
    """A row of a list."""

    number: int
    """As a spreadsheet shows it, from 1."""
    cells: tuple[str, ...]
    """Texts without outer white space, and without trailing blank cells."""
    width: int
    """The number of cells in the file, trailing blanks included."""


@dataclass(frozen=True, slots=True)
class RosterTable:
    """The rows that have text, and how they were read."""

    rows: tuple[TableRow, ...]
    """Rows with text."""
    blank: int = 0
    """The number of rows without text between them."""
    sheet: str = ""
    """The sheet that was read; empty for a text list."""
    sheets: tuple[str, ...] = ()
    """All sheets; empty for a text list."""
    encoding: str = ""
    """Name of the encoding; empty for a workbook."""
    delimiter: str = ""
    """Empty for a workbook, or if each line is one cell."""
    certain: bool = True
    """False if the encoding was chosen by the likelier letters."""
    merged: tuple[tuple[int, int, int], ...] = ()
    """Merged cells of a workbook: (row from 1, first column, last column, both from 0)."""


def cell_text(row: TableRow, column: int) -> str:
    """The cell of a row in a column from 0; empty beyond its end."""
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
    """Reads a list; its content, not its file extension, determines the kind of file.

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
        with path.open("rb") as stream:
            data = stream.read(LIST_BYTES + 1)  # a device may have no end
        if len(data) > LIST_BYTES:
            raise Problem(
                f"{file} is larger than {LIST_BYTES // 2**20} MiB: no list of people is", _KINDS_READ
            )
    except FileNotFoundError:
        raise Problem(
            f"There is no file {escaped(str(path), 200)}", "Check the name and the folder."
        ) from None
    except OSError as error:
        reason = escaped(error.strerror or str(error))
        raise Problem(f"{file} cannot be read ({reason})", "Check that it may be opened.") from None
    if not data.strip():
        raise Problem(f"{file} is empty", "Is it the right file?")
    if max(data.count(b"\n"), data.count(b"\r")) > LIST_LINES and not data.startswith(b"PK"):
        raise Problem(f"{file} has more than {LIST_LINES:,} lines: no list of people has", _KINDS_READ)
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


DELIMITERS = (",", ";", "\t", "|")
_LOOKED_AT = 200
"""The number of records from which the delimiter is determined."""


def read_delimited(text: str, file: str) -> tuple[list[list[str]], str]:
    """The records of a text list and its delimiter; "" if every line is one cell.

    Raises Problem, with the row, for a quote that is never closed or is closed inside a cell.
    """
    declared, text = _declared_delimiter(text)
    if not text.strip("".join(DELIMITERS) + '" \r\n'):
        return [], declared
    delimiter = declared or _delimiter(text)
    if not delimiter:  # names only, in which the comma of "Family, Given" delimits nothing
        return _records(text, "\x1f", file), ""
    return _records(text, delimiter, file), delimiter


def _declared_delimiter(text: str) -> tuple[str, str]:
    """The delimiter of a first line `sep=;`, as spreadsheet programs write it, and the text without it."""
    first, _, rest = text.partition("\n")
    first = first.strip().strip('"')
    if len(first) == 5 and first[:4].lower() == "sep=" and first[4] in DELIMITERS:
        return first[4], rest
    return ("\t", rest) if first.lower() == "sep=" else ("", text)


def _delimiter(text: str) -> str:
    """The delimiter on which most records agree; of two, the one that gives more columns."""
    best, best_score = "", (0.0, 0)
    for delimiter in DELIMITERS:
        records = [
            record
            for record in itertools.islice(_lenient(text, delimiter), _LOOKED_AT)
            if any(map(str.strip, record))
        ]
        if not records or any(len(record) == 1 and is_name_heading(record[0]) for record in records[:20]):
            continue
        widths = Counter(len(record) for record in records if len(record) > 1)
        if widths:
            width, count = widths.most_common(1)[0]
            score = (count / len(records), width)
            if score > best_score:
                best, best_score = delimiter, score
    return best


def _lenient(text: str, delimiter: str) -> Iterator[list[str]]:
    try:
        yield from csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    except csv.Error:
        return


def _records(text: str, delimiter: str, file: str) -> list[list[str]]:
    records: list[list[str]] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    try:
        for record in reader:
            records.append(record)
    except csv.Error as error:
        row = len(records) + 1
        if "field larger" in str(error):
            raise Problem(
                f"{file}, row {row}: a cell is longer than any name or note", "Check that row."
            ) from None
        raise Problem(
            f'{file}, row {row}: a quote (") opens a cell and is not closed at its end',
            'Close it, or double every quote inside a quoted cell: "Anna ""Annie"" Lee".',
        ) from None
    return records
