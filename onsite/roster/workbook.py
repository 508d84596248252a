"""XLSX, XLS and ODS, by python-calamine."""

from __future__ import annotations

import datetime as dt
import io
import zipfile
from typing import Any

from onsite.problems import Problem
from onsite.roster.entry import shown

_ZIP = b"PK\x03\x04"
_COMPOUND = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_SAVE_AGAIN = "Open it in a spreadsheet program, save it again as XLSX or CSV, and load that."


def is_workbook(data: bytes) -> bool:
    """Whether the bytes are a zip archive (XLSX, ODS) or a compound file (XLS)."""
    return data.startswith((_ZIP, _COMPOUND))


def read_workbook(
    data: bytes, file: str, sheet: str | None, widest: int
) -> tuple[list[list[str]], str, tuple[str, ...]]:
    """(rows from row 1, the sheet read, all sheets) of a workbook; without `sheet` the first that has cells.

    Raises Problem for a damaged or locked workbook, an unknown sheet, or one with more than `widest` columns.
    """
    if _is_locked(data):
        raise Problem(f"{file} is locked with a password", "Save a copy without the password and load that.")
    book = _open(data, file)
    names = tuple(meta.name for meta in book.sheets_metadata if str(meta.typ).endswith("WorkSheet"))
    names = names or tuple(book.sheet_names)
    if sheet is not None and sheet not in names:
        listed = ", ".join(shown(name) for name in names)
        raise Problem(f"{file} has no sheet {shown(sheet)}", f"Sheets in it: {listed}.")
    for name in (sheet,) if sheet is not None else names:
        rows = _rows(book, name, file, widest)
        if rows:
            return rows, name, names
    raise Problem(
        f"{file} has no cells with text in it" + (f" on sheet {shown(sheet)}" if sheet else ""),
        "Is it the right file?",
    )


def _is_locked(data: bytes) -> bool:
    if data.startswith(_COMPOUND):
        return "EncryptedPackage".encode("utf-16-le") in data
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            return b"encryption-data" in archive.read("META-INF/manifest.xml")
    except Exception:
        return False


def _open(data: bytes, file: str) -> Any:
    from python_calamine import CalamineError, CalamineWorkbook, PasswordError

    try:
        return CalamineWorkbook.from_filelike(io.BytesIO(data))
    except PasswordError:
        raise Problem(
            f"{file} is locked with a password", "Save a copy without the password and load that."
        ) from None
    except (CalamineError, OSError, ValueError) as error:
        raise Problem(
            f"{file} is a damaged workbook, or none at all ({shown(str(error))})", _SAVE_AGAIN
        ) from None


def _rows(book: Any, name: str, file: str, widest: int) -> list[list[str]]:
    from python_calamine import CalamineError

    try:
        sheet = book.get_sheet_by_name(name)
        if sheet.start is None:
            return []
        top, left = sheet.start
        if sheet.total_width > widest:
            raise too_wide(file, sheet.total_width, widest)
        rows = [[""] * left + [cell_text(cell) for cell in row] for row in sheet.iter_rows()]
    except (CalamineError, OSError, ValueError) as error:
        raise Problem(
            f"{file}, sheet {shown(name)} cannot be read ({shown(str(error))})", _SAVE_AGAIN
        ) from None
    return [[] for _ in range(top)] + rows if any(any(row) for row in rows) else []


def too_wide(file: str, columns: int, widest: int) -> Problem:
    """The refusal of a list with far too many columns."""
    return Problem(
        f"{file} has {columns:,} columns; a list of people has at most {widest}",
        "Is it the right file? Keep the columns that matter and load it again.",
    )


def cell_text(cell: object) -> str:
    """A cell as people read it: 1042.0 as 1042, a day as 2025-06-14, a time as 09:30."""
    if isinstance(cell, bool):
        return "TRUE" if cell else "FALSE"
    if isinstance(cell, float):
        return str(int(cell)) if cell.is_integer() and abs(cell) < 1e15 else repr(cell)
    if isinstance(cell, dt.datetime):
        if cell.time() == dt.time():
            return cell.date().isoformat()
        return f"{cell.date().isoformat()} {_clock(cell.time())}"
    if isinstance(cell, dt.time):
        return _clock(cell)
    if isinstance(cell, dt.timedelta):
        minutes, seconds = divmod(round(cell.total_seconds()), 60)
        return f"{minutes // 60:02d}:{minutes % 60:02d}" + (f":{seconds:02d}" if seconds else "")
    return str(cell)


def _clock(time: dt.time) -> str:
    return time.isoformat("seconds" if time.second else "minutes")
