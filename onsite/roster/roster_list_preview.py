"""How a list would be loaded, column by column, for a person to look at and change before it is."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from onsite.core.errors import Problem
from onsite.roster.header_and_total_rows import find_header_rows
from onsite.roster.list_column_options import OTHER, SENSES, ColumnMap
from onsite.roster.load_roster import LoadedList, load_list
from onsite.roster.read_list_table import RosterTable, cell_text, column_letter, read_table
from onsite.store.shoot import Shoot

ASKED = "asked"
"""The field of a column that may be about consent: a person must say what a yes in it means."""

_EXAMPLES = 3  # texts shown of a column


@dataclass(frozen=True, slots=True)
class ListColumn:
    """A column of a list: its letter and heading, the field that it is taken as, and texts that are in it."""

    letter: str
    heading: str
    field: str
    examples: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ListPreview:
    """The columns of a list and what loading it would do."""

    columns: tuple[ListColumn, ...]
    sheet: str
    """The sheet that is read; empty for a text list."""
    sheets: tuple[str, ...]
    """All sheets."""
    loaded: LoadedList | None = None
    """None where it cannot be loaded so."""
    problem: Problem | None = None
    """Why it cannot."""


def preview_list(
    shoot: Shoot,
    path: Path,
    sheet: str | None = None,
    maps: Iterable[ColumnMap] = (),
    capitals: str = "",
    drop_totals: bool = False,
) -> ListPreview:
    """Reads a list and changes nothing; `maps`, `capitals` and `drop_totals` as in `load_list`.

    Raises Problem for a file that is no list.
    """
    maps = tuple(maps)
    table = read_table(path, sheet)
    try:
        loaded = load_list(shoot, path, sheet, maps, dry_run=True, capitals=capitals, drop_totals=drop_totals)
    except Problem as problem:
        return ListPreview(_columns(table, None), table.sheet, table.sheets, problem=problem)
    return ListPreview(_columns(table, loaded), table.sheet, table.sheets, loaded)


def _columns(table: RosterTable, loaded: LoadedList | None) -> tuple[ListColumn, ...]:
    header, _ = find_header_rows(table)
    below = [row for row in table.rows if row.number > header.last]
    if loaded is None:
        named = [(column_letter(column), header.text(column), "") for column in range(header.width)]
        about = {}
    else:
        named = list(loaded.columns)
        about = {letter: next(n for n, s in SENSES.items() if s is sense) for letter, sense in loaded.senses}
        about |= {question.column: ASKED for question in loaded.consent_questions}
    columns = []
    for column, (letter, heading, field) in enumerate(named):
        texts = dict.fromkeys(text for row in below if (text := cell_text(row, column)))
        examples = tuple(texts)[:_EXAMPLES]
        columns.append(ListColumn(letter, heading, about.get(letter) or field or OTHER, examples))
    return tuple(columns)
