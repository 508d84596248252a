"""Reading workbooks: XLSX, XLS and ODS."""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
import zipfile
from typing import cast

from onsite.core.errors import Problem
from onsite.core.text import escaped
from onsite.files.input_limits import MANIFEST_BYTES
from onsite.roster.list_workbook_process import WorkbookAnswer

_ZIP = b"PK\x03\x04"
_COMPOUND = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_SAVE_AGAIN = "Open it in a spreadsheet program, save it again as XLSX or CSV, and load that."
_PATIENCE = 120
"""Seconds after which reading a workbook is given up."""


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
        with (
            zipfile.ZipFile(io.BytesIO(data)) as archive,
            archive.open("META-INF/manifest.xml") as manifest,
        ):
            return b"encryption-data" in manifest.read(MANIFEST_BYTES)
    except Exception:
        # A damaged archive fails in many ways; reading it reports what is wrong.
        return False


def _ask(data: bytes, sheet: str | None, widest: int) -> WorkbookAnswer:
    """The answer of the reader's own process; "damaged" if the file crashed it."""
    command = [sys.executable, "-m", "onsite.roster.list_workbook_process", str(widest)]
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
