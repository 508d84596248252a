"""The result of loading a file of picks: whose were taken, and what was refused, where and why."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, field

from onsite.core.text import escaped
from onsite.picks.read_pick_file import PickMail
from onsite.picks.record_picks import PersonPicks

MOST_LISTED = 1_000
"""Rows that are listed as refused or repeated; further rows are only counted. A file of a million rows
without picks must not fill the memory or the screen."""


@dataclass(slots=True)
class ReportedRows:
    """Rows that are reported to the user."""

    first: list[tuple[int, str, str]] = field(default_factory=list)
    """(row, text, reason) of the first `MOST_LISTED`."""
    count: int = 0

    def add(self, row: int, text: str, why: str) -> None:
        self.count += 1
        if len(self.first) < MOST_LISTED:
            self.first.append((row, escaped(text, 80), why))


@dataclass(slots=True)
class LoadedPicks:
    """The result of loading a file."""

    rows: int = 0
    people: list[PersonPicks] = field(default_factory=list)  # whose picks are in the file, changed or not
    refused: ReportedRows = field(default_factory=ReportedRows)
    repeated: ReportedRows = field(default_factory=ReportedRows)  # in the file more than once, taken once
    unsure: ReportedRows = field(default_factory=ReportedRows)  # not understood, or perhaps about frames
    not_understood: int = 0  # the rows among `unsure` that are not understood
    mails: list[PickMail] = field(default_factory=list)

    def where(self, row: int) -> str:
        """The place of a row as a person finds it: in a mail, the line of its text."""
        if not self.mails:
            return f"row {row}"
        mail = self.mails[max(bisect_right(self.mails, row, key=lambda mail: mail.above) - 1, 0)]
        line = f"line {row - mail.above}" if row > mail.above else "head"
        named = ", ".join(filter(None, (mail.sender, mail.subject)))
        return line if len(self.mails) == 1 else f"mail {mail.number} ({escaped(named)}), {line}"
