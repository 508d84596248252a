"""Cells of lists that are opened in a spreadsheet."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from onsite.slate.lettering import shown

_FORMULA = ("=", "+", "-", "@")


def plain_cell(text: str) -> str:
    """`text` on one line and legible, with an apostrophe before what a spreadsheet would take for a formula
    (common practice, no source)."""
    line = shown(text)
    return f"'{line}" if line.startswith(_FORMULA) else line


def tab_separated(rows: Iterable[Sequence[str]]) -> str:
    """Rows of plain cells, a tab between two; lines end as Windows, macOS and Linux all take it."""
    return "".join("\t".join(map(plain_cell, row)) + "\r\n" for row in rows)
