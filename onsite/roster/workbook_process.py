"""The inside of a workbook, read by python-calamine in a process of its own.

A damaged XLS can end the whole process that reads it, beyond the reach of any exception; a shoot must not end
with it. `python -m onsite.roster.workbook_process WIDEST [SHEET]` takes a workbook on standard input and
answers with one JSON object on standard output: see `WorkbookAnswer`. It imports nothing that it does not
need.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import io
import json
import sys
from typing import Any, TypedDict

_MOST_MEMORY = 2 * 2**30
"""Bytes that a list may take while it is unpacked, where the system can set a limit."""


class WorkbookAnswer(TypedDict, total=False):
    """`rows` of text from row 1 of `sheet`, and all `sheets`; or why not. `merged` are the cells that were
    merged into one: first row, first column, last row, last column, from 0; absent where the format does not
    tell."""

    rows: list[list[str]]
    merged: list[list[int]]
    sheet: str
    sheets: list[str]
    locked: bool
    damaged: str
    columns: int


def read_sheets(data: bytes, sheet: str | None, widest: int) -> WorkbookAnswer:
    """The rows of a sheet, or of the first that has cells. Without `rows`: locked, damaged, wider than
    `widest` (then with the number of `columns`), no such sheet (then with `sheets` alone) or empty."""
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
    ranges = sheet.merged_cell_ranges  # None for a format that is not asked for them
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
    """Leaves no core file, and bounds what a file that unpacks to absurd sizes may take."""
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
