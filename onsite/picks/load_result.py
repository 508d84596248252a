"""What became of a file of picks: whose were taken, and what was not, each with where it stands and why."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, field

from onsite.core.text import escaped
from onsite.picks.read_pick_file import PickMail
from onsite.picks.record_picks import PersonPicks

MOST_LISTED = 1_000
"""Rows that are listed as refused or repeated; the others are counted. A file of a million rows that are not
picks must not fill the memory or the screen."""


@dataclass(slots=True)
class ReportedRows:
    """(row, what was written, why), the first of them, and how many there are."""

    first: list[tuple[int, str, str]] = field(default_factory=list)
    count: int = 0

    def add(self, row: int, text: str, why: str) -> None:
        self.count += 1
        if len(self.first) < MOST_LISTED:
            self.first.append((row, escaped(text, 80), why))


@dataclass(slots=True)
class LoadedPicks:
    """What became of a file: `people` whose picks stand in it, news or not; `refused`; `repeated`, what it
    says more than once, which was taken once; `unsure`, what may or may not have meant frames, and what is
    not understood, of which there are `not_understood`; the `mails` that it holds."""

    rows: int = 0
    people: list[PersonPicks] = field(default_factory=list)
    refused: ReportedRows = field(default_factory=ReportedRows)
    repeated: ReportedRows = field(default_factory=ReportedRows)
    unsure: ReportedRows = field(default_factory=ReportedRows)
    not_understood: int = 0
    mails: list[PickMail] = field(default_factory=list)

    def where(self, row: int) -> str:
        """Where a row stands, as somebody finds it: in the text of a mail the line of that text."""
        if not self.mails:
            return f"row {row}"
        mail = self.mails[max(bisect_right(self.mails, row, key=lambda mail: mail.above) - 1, 0)]
        line = f"line {row - mail.above}" if row > mail.above else "head"
        named = ", ".join(filter(None, (mail.sender, mail.subject)))
        return line if len(self.mails) == 1 else f"mail {mail.number} ({escaped(named)}), {line}"
