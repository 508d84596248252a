"""A CSV, whole or not at all."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from pathlib import Path

from onsite.files.saving import whole_file


def write_csv(path: Path, headings: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    """Writes a table as CSV (RFC 4180, UTF-8), whole or not at all. Raises Problem."""
    with whole_file(path) as stream:
        file = io.TextIOWrapper(stream, encoding="utf-8", newline="")
        writer = csv.writer(file)
        writer.writerow(headings)
        writer.writerows(rows)
        file.flush()
        file.detach()
