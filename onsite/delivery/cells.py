"""Lists with a tab between cells."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from onsite.files.cells import neutral
from onsite.slate.lettering import shown


def tab_separated(rows: Iterable[Sequence[str]]) -> str:
    """Rows of legible cells, each on one line; lines end as Windows, macOS and Linux all take it."""
    return "".join("\t".join(neutral(shown(cell)) for cell in row) + "\r\n" for row in rows)
