"""Rows of a list that are no people: its heading rows, and totals at its end.

There may be two heading rows: titles of groups of columns above ("Photos" over "Print" and "Web"), or
headings that continue in the row below. A refusal must not go unnoticed in the second row, so the two are
read together if together they say something about consent, and a notice says so.

A person is never left out silently, and a doubtful row is kept: a row is a total ("Total, 60", "60 people",
"Summe") only if it stands at the end and holds nothing but the word and a number.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import zip_longest

from onsite.core.text import escaped
from onsite.roster.column_headings import heading_words, is_name_heading, recognise
from onsite.roster.consent_headings import Leaning, heading_leaning
from onsite.roster.list_words import listed_words
from onsite.roster.parse_consent import Consent, parse_consent
from onsite.roster.person_names import fold_name
from onsite.roster.read_list_table import RosterTable, TableRow
from onsite.roster.roster_entry import ListNotice

_LOOKED_AT = 20
"""The number of rows at the top in which headings are looked for."""


@dataclass(frozen=True, slots=True)
class HeaderRows:
    """The headings of a list."""

    texts: tuple[str, ...]
    """The heading of each column, "" for none."""
    first: int
    """The first row of the headings."""
    last: int
    """The last row of the headings."""
    width: int
    """The number of columns."""
    is_certain: bool
    """There are known headings among them."""

    def text(self, column: int) -> str:
        """The heading of a column from 0; empty if it has none."""
        return self.texts[column] if column < len(self.texts) else ""


def find_header_rows(table: RosterTable, asked: Collection[str] = ()) -> tuple[HeaderRows, list[ListNotice]]:
    """The headings of a list and notices; `asked` are headings that were named with `--map`."""
    rows = table.rows
    main, is_certain = _heading_row(rows, {fold_name(text) for text in asked})
    place = rows.index(main)
    header = HeaderRows(main.cells, main.number, main.number, main.width, is_certain)
    below = rows[place + 1] if place + 1 < len(rows) else None
    if below is not None and _continues_below(main, below):
        texts = _joined_texts(_spread(main, table), below)
        header = HeaderRows(texts, main.number, below.number, max(main.width, below.width), is_certain)
    elif place and rows[place - 1].number == main.number - 1 and _is_over_groups(rows[place - 1], table):
        above = rows[place - 1]
        texts = _joined_texts(_spread(above, table), main)
        if texts != main.cells:
            header = HeaderRows(texts, above.number, main.number, max(main.width, len(texts)), is_certain)
    return header, _notices(header, rows)


def _notices(header: HeaderRows, rows: Sequence[TableRow]) -> list[ListNotice]:
    notices: list[ListNotice] = []
    if not header.is_certain:
        listed = ", ".join(escaped(text) for text in header.texts[:10])
        text = f"taken as the headings: {listed}; add headings if this is a person"
        notices.append(ListNotice(header.last, text))
    if header.first != header.last:
        notices.append(
            ListNotice(
                header.first, f"rows {header.first} and {header.last} are read together as the headings"
            )
        )
    notices += [
        ListNotice(
            row.number, f"above the headings, not read: {escaped(' · '.join(filter(None, row.cells)))}"
        )
        for row in rows
        if row.number < header.first
    ]
    return notices


def _heading_row(rows: Sequence[TableRow], asked: Collection[str]) -> tuple[TableRow, bool]:
    """The row with the most known headings, else the first row; and whether it has any."""

    def score(row: TableRow) -> tuple[bool, int]:
        sorts = {recognise(text) for text in row.cells} - {None}
        named = sum(fold_name(text) in asked for text in row.cells)
        return any(is_name_heading(text) for text in row.cells), len(sorts) + 2 * named

    best = max(rows[:_LOOKED_AT], key=score)
    return (best, True) if score(best) > (False, 0) else (rows[0], False)


def _continues_below(main: TableRow, below: TableRow) -> bool:
    """Whether the row below continues the headings.

    It does if it has headings and no name of a person, or a second heading of names with others beside it.
    """
    names = [column for column, text in enumerate(main.cells) if is_name_heading(text)]
    texts = [text for text in below.cells if text]
    headings = [text for text in texts if recognise(text) or (heading_leaning(text) and not _is_cell(text))]
    if not headings or any(_is_cell(text) for text in texts):
        return False
    under = [below.cells[column] for column in names if column < len(below.cells) and below.cells[column]]
    return all(map(is_name_heading, under)) and (not under or len(headings) > 1)


def _is_cell(text: str) -> bool:
    """Whether a text is an answer, an address or a number rather than a heading."""
    is_heading = recognise(text) is not None or heading_leaning(text) is Leaning.FORBIDS
    is_answer = parse_consent(text) in (Consent.YES, Consent.NO) and not is_heading
    return is_answer or "@" in text or any(character.isdigit() for character in text)


def _is_over_groups(row: TableRow, table: RosterTable) -> bool:
    """Whether a row above the headings has titles of groups of columns, rather than a title of the list."""
    filled = [column for column, text in enumerate(row.cells) if text]
    widths = [right - left for top, left, right in table.merged if top == row.number]
    is_title = len(filled) == 1 and (filled[0] == 0 or (bool(widths) and max(widths) + 2 >= row.width))
    return bool(filled) and not is_title


def _spread(row: TableRow, table: RosterTable) -> list[str]:
    """The texts of a row, each repeated over the columns that its cell spans.

    A cell spans its merged cells in a workbook, else the columns up to the next text, unless it is a known
    heading of a single column.
    """
    widest = max(len(other.cells) for other in table.rows)
    texts = list(row.cells) + [""] * (widest - len(row.cells))
    spans = {left: right for top, left, right in table.merged if top == row.number}
    is_merged = bool(spans)
    last = ""
    until = -1
    for column in range(widest):
        if texts[column]:
            last = texts[column]
            is_single = is_merged or recognise(last) not in (None, "consent")
            until = spans.get(column, column) if is_single else widest
        elif column <= until:
            texts[column] = last
    return texts


def _joined_texts(upper: Sequence[str], lower: TableRow) -> tuple[str, ...]:
    texts = [_combined(*pair) for pair in zip_longest(upper, lower.cells, fillvalue="")]
    while texts and not texts[-1]:
        texts.pop()
    return tuple(texts)


def _combined(upper: str, lower: str) -> str:
    """Two headings as one: both if together they are about consent, else the known one."""
    if not upper or not lower or fold_name(upper) == fold_name(lower):
        return lower or upper
    sort = recognise(lower)
    if sort is not None and sort != "consent":
        return lower
    known = heading_leaning(lower)
    if known in (Leaning.AGREES, Leaning.FORBIDS) and heading_leaning(f"{lower} ({upper})") is known:
        return lower
    both = f"{upper} {lower}"
    says = heading_leaning(both)
    if says is None:
        return upper if recognise(upper) else lower
    return lower if says is known and heading_leaning(upper) in (None, Leaning.VAGUE) else both


_TOTAL = listed_words("totals", "total")
_COUNTED_NOUNS = listed_words("totals", "counted_nouns")
_CLEAR_TOTALS = listed_words("totals", "clear")
_BRACKETS = str.maketrans("()[]=", "     ")


class RowKind(StrEnum):
    """What a row of a list is."""

    PERSON = "person"
    TOTAL = "total"
    """Certainly not a person."""
    DOUBTFUL = "doubtful"
    """A person with an unusual name, or a total that stands among people or does not fit their number."""


def row_kind(cells: Sequence[str], people: Collection[int], at_end: bool, is_name: bool = False) -> RowKind:
    """Classifies a row by its texts.

    `people` are the possible counts of the rows above it; `at_end`: no person comes below; `is_name`: one of
    the texts is in a column of names.
    """
    words = [word for text in cells for word in heading_words(text.translate(_BRACKETS))]
    numbers = [int(word) for word in words if word.isdecimal() and len(word) < 7]
    named = [word for word in words if not word.isdecimal()]
    begins_clear = bool(named) and named[0] in _CLEAR_TOTALS
    if not words or not all(word in _TOTAL or word in _COUNTED_NOUNS for word in named):
        return RowKind.DOUBTFUL if begins_clear and numbers else RowKind.PERSON
    if not at_end:
        return RowKind.DOUBTFUL if named else RowKind.PERSON
    fits = len(numbers) == 1 and numbers[0] in people
    if fits or begins_clear or len(named) > 1 or (is_name and not named):
        return RowKind.TOTAL
    return RowKind.DOUBTFUL if named else RowKind.PERSON
