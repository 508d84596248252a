"""Reading workbooks: XLSX, XLS and ODS, with python-calamine in a process of its own.

A damaged XLS can crash the process that reads it, beyond the reach of any exception; the shoot's process must
survive that. `python -m onsite.roster.list_workbook WIDEST [SHEET]` takes a workbook on standard input, and
answers with one JSON object on standard output: see `WorkbookAnswer`.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import io
import json
import os
import subprocess
import sys
import zipfile
from typing import Any, TypedDict, cast

from onsite.core.errors import Problem
from onsite.core.text import escaped
from onsite.files.input_limits import MANIFEST_BYTES

_ZIP = b"PK\x03\x04"
_COMPOUND = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_SAVE_AGAIN = "Open it in a spreadsheet program, save it again as XLSX or CSV, and load that."
_PATIENCE = 120
"""Seconds after which reading a workbook is given up."""


class WorkbookAnswer(TypedDict, total=False):
    """The rows of a sheet, or why there are none."""

    rows: list[list[str]]
    """Texts from row 1."""
    merged: list[list[int]]
    """Merged cells (first row, first column, last row, last column), from 0; absent if unknown."""
    sheet: str
    """The sheet that was read."""
    sheets: list[str]
    """All sheets."""
    locked: bool
    """Locked with a password."""
    damaged: str
    """Why the workbook cannot be read."""
    columns: int
    """The number of columns of a sheet that is too wide."""


def is_workbook(data: bytes) -> bool:
    """Whether the bytes are a zip archive (XLSX, ODS) or a compound file (XLS)."""
    return data.startswith((_ZIP, _COMPOUND))


def read_workbook(data: bytes, file: str, sheet: str | None, widest: int) -> WorkbookAnswer:
    """The rows from row 1, the sheet read and all sheets; without `sheet` the first that has cells.

    Raises Problem for a damaged or locked workbook, an unknown sheet, or one with more than `widest` columns.
    """
    answer: WorkbookAnswer = {"locked": True} if _is_locked(data) else _ask(data, sheet, widest)
    if answer.get("locked"):
        raise Problem(f"{file} is locked with a password", "Save a copy without the password and load that.")
    if "damaged" in answer:
        reason = f" ({escaped(answer['damaged'])})" if answer["damaged"] else ""
        raise Problem(f"{file} is a damaged workbook, or none at all{reason}", _SAVE_AGAIN)
    if "columns" in answer:
        raise too_wide(file, answer["columns"], widest)
    if sheet is not None and sheet not in answer["sheets"]:
        listed = ", ".join(escaped(name) for name in answer["sheets"])
        raise Problem(f"{file} has no sheet {escaped(sheet)}", f"Sheets in it: {listed}.")
    if "rows" not in answer:
        where = f", sheet {escaped(sheet)}," if sheet is not None else ""
        raise Problem(f"{file}{where} is empty", "Is it the right file or sheet?")
    return answer


def too_wide(file: str, columns: int, widest: int) -> Problem:
    """The refusal of a list with far too many columns."""
    return Problem(
        f"{file} has {columns:,} columns; a list of people has at most {widest}",
        "Is it the right file? Keep the columns that matter and load it again.",
    )


def _is_locked(data: bytes) -> bool:
    """Whether a workbook is encrypted: an XLSX is then a compound file, an ODS says so in its manifest."""
    if data.startswith(_COMPOUND):
        return "EncryptedPackage".encode("utf-16-le") in data
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive, archive.open("META-INF/manifest.xml") as manifest:
            return b"encryption-data" in manifest.read(MANIFEST_BYTES)
    except Exception:
        # A damaged archive fails in many ways; reading it reports what is wrong.
        return False


def _ask(data: bytes, sheet: str | None, widest: int) -> WorkbookAnswer:
    """The answer of the reader's own process; "damaged" if the file crashed it."""
    command = [sys.executable, "-m", "onsite.roster.list_workbook", str(widest)]
    command += [sheet.replace("\0", "")] if sheet is not None else []
    environment = os.environ | {"PYTHONPATH": os.pathsep.join(filter(None, sys.path))}
    try:
        done = subprocess.run(
            command, input=data, capture_output=True, timeout=_PATIENCE, env=environment, check=True
        )
    except subprocess.TimeoutExpired:
        return {"damaged": f"it could not be read in {_PATIENCE} seconds"}
    except subprocess.CalledProcessError:
        return {"damaged": ""}
    return cast(WorkbookAnswer, json.loads(done.stdout))


# The process that reads

_MOST_MEMORY = 2 * 2**30
"""Memory limit in bytes for unpacking a list, where the system can set one."""


def read_sheets(data: bytes, sheet: str | None, widest: int) -> WorkbookAnswer:
    """The rows of a sheet, or of the first sheet that has cells.

    Without `rows` the workbook is locked, damaged or wider than `widest` (then with `columns`), has no such
    sheet (then with `sheets` alone) or is empty.
    """
    from python_calamine import CalamineError, CalamineWorkbook, PasswordError

    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(data))
        names = [meta.name for meta in book.sheets_metadata if str(meta.typ).endswith("WorkSheet")]
        names = names or list(book.sheet_names)
        answer: WorkbookAnswer = {"sheets": names}
        for name in names if sheet is None else [name for name in names if name == sheet]:
            answer = {"sheets": names, "sheet": name, **_sheet(book.get_sheet_by_name(name), widest)}
            if answer.get("rows") or answer.get("columns"):
                break
        return answer
    except PasswordError:
        return {"locked": True}
    except (CalamineError, OSError, ValueError, MemoryError) as error:
        return {"damaged": str(error) or type(error).__name__}


def _sheet(sheet: Any, widest: int) -> WorkbookAnswer:
    if sheet.start is None:
        return {}
    (top, left), (_, last) = sheet.start, sheet.end
    if last >= widest:
        return {"columns": last + 1}
    rows = [[""] * left + [cell_text(cell) for cell in row] for row in sheet.to_python()]
    if not any(any(row) for row in rows):
        return {}
    answer: WorkbookAnswer = {"rows": [[] for _ in range(top)] + rows}
    ranges = sheet.merged_cell_ranges  # None for formats without that information
    if ranges is not None:
        answer["merged"] = [[*first, *last] for first, last in ranges]
    return answer


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


def _set_limits() -> None:
    """Prevents core files, and limits the memory for files that unpack to absurd sizes."""
    with contextlib.suppress(ImportError, OSError, ValueError):
        import resource

        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        resource.setrlimit(resource.RLIMIT_AS, (_MOST_MEMORY, _MOST_MEMORY))


def main() -> None:
    """Answers for the workbook on standard input."""
    _set_limits()
    widest, *sheet = sys.argv[1:]
    answer = read_sheets(sys.stdin.buffer.read(), sheet[0] if sheet else None, int(widest))
    sys.stdout.write(json.dumps(answer))


if __name__ == "__main__":
    main()
