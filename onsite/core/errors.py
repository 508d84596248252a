"""Errors for people to read, and the saved traceback of unexpected ones."""

from __future__ import annotations

import errno
from pathlib import Path
from typing import NamedTuple

_LONG = 200
"""Characters of a path that a message shows at most: two lines of a terminal. Own choice."""

_CHECK = "Check the path."


class FileReason(NamedTuple):
    """A file, and why it was refused or is in trouble."""

    file: Path | str
    reason: str


class Problem(Exception):  # noqa: N818  it is not always an error
    """Bad input or a refused request: nothing was changed.

    `what` says what is wrong and, where it helps, where (file, row, column); `remedy` says what to do about
    it. Both are one line of plain text, shown as written. The command line exits with status 2.
    """

    def __init__(self, what: str, remedy: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.remedy = remedy

    def __str__(self) -> str:
        return f"{self.what}\n{self.remedy}" if self.remedy else self.what


class CannotWrite(Problem):
    """The disk is full or read-only: nothing was saved; what there is can be read."""


class NoServer(Problem):
    """The server that holds the shoot cannot be reached: nothing was saved, and nothing can be read."""


def path_problem(error: Exception) -> Problem | None:
    """The Problem for a path that nothing can be at: a name beyond all bounds, links that lead in a circle.
    None for another error."""
    if isinstance(error, OSError) and error.errno in (errno.ENAMETOOLONG, errno.ELOOP):
        named = str(error.filename)
        return Problem(f"{named if len(named) < _LONG else named[:_LONG] + '…'}: {error.strerror}.", _CHECK)
    if isinstance(error, RuntimeError) and str(error).startswith(
        "Symlink loop"
    ):  # Path.resolve, to Python 3.12
        return Problem(f"{error}.", _CHECK)
    return None


def save_traceback(error: BaseException) -> str:
    """Writes the traceback to a file that can be sent on; returns a message that names the file."""
    import traceback

    from platformdirs import user_log_dir

    try:
        folder = Path(user_log_dir("onsite", appauthor=False))
        folder.mkdir(parents=True, exist_ok=True)
        path = folder / "unexpected.txt"
        path.write_text("".join(traceback.format_exception(error)), encoding="utf-8")
    except OSError:
        return "Nothing was lost. Do it again; if it says the same, report what you did."
    return f"Nothing was lost. Details for a report are in {path}"
