"""Reads any file with picks row by row: plain text, a table as text, a workbook, or mails.

Text is streamed, so that a file of a million rows needs no more memory than a file of ten. Workbooks are read
by `roster.read_list_table`, which limits their size; mails are read one at a time.
"""

from __future__ import annotations

import codecs
import csv
import io
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from onsite.core.errors import Problem
from onsite.core.progress import Progress, no_progress
from onsite.core.text import escaped
from onsite.files.write_tables import unescape_formula
from onsite.picks.read_mail import mail_kind, read_mails
from onsite.roster.list_encoding import decode
from onsite.roster.list_workbook import is_workbook
from onsite.roster.read_list_table import read_table

DELIMITERS = ("\t", ";", ",", "|")
_LOOKED_AT = 1 << 16
"""Bytes from the beginning, and the lines in them, from which encoding and delimiter are detected."""

_LONGEST = 1 << 17
"""Characters of a line; a file with longer lines is no list."""

_AGREE = 0.8
"""Share of the lines that must have the most common number of cells, for a text to be a table. Our own
choice."""

_PROGRESS_EVERY = 20_000  # rows

IN_SUBJECT = "it stands in the subject, and picks nothing"

_OTHER_KINDS = (
    (b"%PDF", "a PDF"),
    (b"\xff\xd8\xff", "a JPEG picture"),
    (b"\x89PNG", "a PNG picture"),
    (b"{\\rtf", "an RTF text"),
)

_COMPOUND = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_OUTLOOK = "__substg1.0_".encode("utf-16-le")
"""In the names of the streams of an .msg file ([MS-OXMSG], 2.2; from memory)."""


@dataclass(frozen=True, slots=True)
class PickMail:
    """A mail in a file."""

    number: int  # from 1
    above: int  # number of the row before its first line
    sender: str  # address, or empty
    subject: str


@dataclass(frozen=True, slots=True)
class PickRow:
    """A row that is not empty. In a file of mails, the lines of all mails are numbered consecutively."""

    number: int  # from 1, as a spreadsheet or an editor shows it
    cells: tuple[str, ...]
    is_text: bool = False  # a line of running text, as a single cell
    mail: PickMail | None = None
    quoted: bool = False  # it quotes another mail
    unread: str = ""  # why this part of a mail is not read


def rows_in(path: Path, progress: Progress = no_progress) -> Iterator[PickRow]:
    """Yields the rows of a file. Raises Problem where it cannot be read, is empty, or is of another kind."""
    file = escaped(path.name)
    try:
        if path.is_dir():
            raise Problem(f"{file} is a folder", "Name a file in it.")
        with path.open("rb") as stream:
            head = stream.read(_LOOKED_AT)
            _refuse(head, file)
            if is_workbook(head):
                rows = read_table(path).rows
                for count, row in enumerate(rows, start=1):
                    if count % _PROGRESS_EVERY == 0:
                        progress(count, len(rows))
                    yield PickRow(row.number, row.cells)
            elif kind := mail_kind(head, path.name):
                stream.seek(0)
                yield from _mail_rows(path, stream, kind)
            else:
                stream.seek(0)
                yield from _text_rows(stream, head, path.stat().st_size, file, progress)
    except FileNotFoundError:
        raise Problem(
            f"There is no file {escaped(str(path), 200)}", "Check the name and the folder."
        ) from None
    except OSError as error:
        raise Problem(
            f"{file} cannot be read: {error.strerror or error}", "Check that it may be opened."
        ) from None


def _refuse(head: bytes, file: str) -> None:
    kind = next((kind for start, kind in _OTHER_KINDS if head.startswith(start)), "")
    if head.startswith(_COMPOUND) and (_OUTLOOK in head or file.lower().endswith(".msg")):
        raise Problem(f"{file} is a mail as one program keeps it", "Save the mail as .eml or as text.")
    if kind:
        raise Problem(f"{file} is {kind}, not a list of picks", "Save the list as text, CSV or XLSX.")
    if not head.strip():
        raise Problem(f"{file} is empty", "Is it the right file?")


def _mail_rows(path: Path, stream: BinaryIO, kind: str) -> Iterator[PickRow]:
    above = 0
    for number, message in enumerate(read_mails(path, stream, kind), start=1):
        mail = PickMail(number, above, message.sender, message.subject)
        if message.unread:
            yield PickRow(above, (message.subject or "mail",), mail=mail, unread=message.unread)
        if message.subject:
            yield PickRow(above, (message.subject,), mail=mail, unread=IN_SUBJECT)
        for name in message.attached:
            yield PickRow(
                above, (name,), mail=mail, unread="it is attached and not read: save it, and load it"
            )
        for line, text in enumerate(message.lines, start=1):
            if cell := text.replace("\0", "").strip()[:_LONGEST]:
                yield PickRow(above + line, (cell,), True, mail)
        above += len(message.lines) + 1


def _text_rows(stream: BinaryIO, head: bytes, size: int, file: str, progress: Progress) -> Iterator[PickRow]:
    whole_lines = head if len(head) == size else head[: head.rfind(b"\n") + 1] or head
    decoded = decode(whole_lines) or decode(whole_lines[: len(whole_lines) & ~3])
    if decoded is None:
        raise Problem(f"{file} is neither text nor a workbook", "Save the list as text, CSV or XLSX.")
    codec = codecs.lookup("utf-8-sig" if decoded.encoding == "UTF-8" else decoded.encoding).name
    text = io.TextIOWrapper(stream, encoding=codec, errors="replace", newline=None)
    try:
        delimiter = _delimiter(decoded.text.lstrip("\ufeff"))
        lines = _with_progress(_lines(text, file), stream, size, progress)
        rows = csv.reader(lines, delimiter=delimiter) if delimiter else ([line] for line in lines)
        yield from _numbered(rows, not delimiter, file)
    finally:
        text.detach()


def _lines(text: io.TextIOWrapper, file: str) -> Iterator[str]:
    number = 0
    while line := text.readline(_LONGEST):
        number += 1
        if len(line) == _LONGEST:
            raise Problem(f"{file}, row {number}: longer than any list's", "Is it the right file?")
        yield line.replace("\0", "").lstrip("\ufeff")


def _with_progress(lines: Iterator[str], stream: BinaryIO, size: int, progress: Progress) -> Iterator[str]:
    for count, line in enumerate(lines, start=1):
        if count % _PROGRESS_EVERY == 0:
            progress(min(stream.tell(), size), size)
        yield line


def _numbered(rows: Iterator[list[str]], is_text: bool, file: str) -> Iterator[PickRow]:
    number = 0
    try:
        for number, cells in enumerate(rows, start=1):
            stripped = tuple(unescape_formula(cell.strip()) for cell in cells)
            if any(stripped):
                yield PickRow(number, stripped, is_text)
    except csv.Error:
        raise Problem(
            f'{file}, row {number + 1}: a quote (") opens a cell and is never closed',
            'Close it, or double every quote inside a quoted cell: "like ""this""".',
        ) from None


def _delimiter(head: str) -> str:
    """The delimiter of a table; empty for running text and for a single column."""
    best, most = "", 1
    for delimiter in DELIMITERS:
        try:
            widths = [len(row) for row in csv.reader(io.StringIO(head), delimiter=delimiter) if any(row)]
        except csv.Error:
            continue
        if len(widths) < 2:
            continue
        width, count = Counter(widths).most_common(1)[0]
        if width > most and count >= _AGREE * len(widths):
            best, most = delimiter, width
    return best
