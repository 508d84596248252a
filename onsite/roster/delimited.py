"""Comma, semicolon, tab or pipe between the cells: RFC 4180 and its relatives."""

from __future__ import annotations

import csv
import io
import itertools
from collections import Counter
from collections.abc import Iterator

from onsite.problems import Problem
from onsite.roster.headings import is_name_heading

DELIMITERS = (",", ";", "\t", "|")
_LOOKED_AT = 200
"""Records that the delimiter is judged by."""


def read_delimited(text: str, file: str) -> tuple[list[list[str]], str]:
    """The records of a text list and its delimiter; "" when every line is one cell.

    Raises Problem for a quote that is never closed or is closed inside a cell, with the row where it is.
    """
    declared, text = _declared_delimiter(text)
    if not text.strip("".join(DELIMITERS) + '" \r\n'):
        return [], declared
    delimiter = declared or _delimiter(text)
    if not delimiter:
        return _single_column(text, file), ""
    return _records(text, delimiter, file), delimiter


def _declared_delimiter(text: str) -> tuple[str, str]:
    """A first line `sep=;` is a note of spreadsheet programs, not a row."""
    first, _, rest = text.partition("\n")
    first = first.strip().strip('"')
    if len(first) == 5 and first[:4].lower() == "sep=" and first[4] in DELIMITERS:
        return first[4], rest
    return ("\t", rest) if first.lower() == "sep=" else ("", text)


def _delimiter(text: str) -> str:
    """The delimiter that most records agree on; of two, the one that makes more columns."""
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


def _single_column(text: str, file: str) -> list[list[str]]:
    """A list of names alone: a comma in "Family, Given" parts nothing there."""
    return _records(text, "\x1f", file)


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
