"""The one kind of error that a person is meant to read."""

from __future__ import annotations


class Problem(Exception):  # noqa: N818  it is not always an error
    """Bad input or a refused request: nothing was changed.

    `what` says what is wrong and, where it helps, where (file, row, column); `remedy` says what to do
    about it. Both are one line of plain text, shown as written. The command line ends with status 2.
    """

    def __init__(self, what: str, remedy: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.remedy = remedy

    def __str__(self) -> str:
        return f"{self.what}\n{self.remedy}" if self.remedy else self.what
