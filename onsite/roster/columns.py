"""Which column of a list is which field."""

from __future__ import annotations

import collections.abc
from collections.abc import Sequence
from dataclasses import dataclass

from onsite.problems import Problem
from onsite.roster.consent import Consent
from onsite.roster.consent_columns import ConsentColumn, Sense, answer_under, sense_of
from onsite.roster.entry import FIELDS, Notice, shown
from onsite.roster.headings import is_name_heading, may_be_consent, recognise
from onsite.roster.names import fold
from onsite.roster.table import Row, Table

_LOOKED_AT = 20
"""Rows at the top among which the headings are looked for."""


@dataclass(frozen=True, slots=True)
class Mapping:
    """How a list's columns are read.

    `columns` are (field, column from 0); `headings` has a text for every column, "column D" where there is
    none; `heading_row` is the row they stand in. `family_first`: the one column of names has the family name
    first. `consents` are all columns that say something about consent, the one of the field first.
    """

    columns: tuple[tuple[str, int], ...]
    headings: tuple[str, ...]
    heading_row: int
    family_first: bool = False
    consents: tuple[ConsentColumn, ...] = ()

    @property
    def fields(self) -> frozenset[str]:
        return frozenset(field for field, _ in self.columns)

    @property
    def others(self) -> tuple[int, ...]:
        """The columns that are kept as they are: no field is read from them, or what they say of consent is
        kept in other words."""
        used = {column for _, column in self.columns}
        if len(self.consents) > 1 or any(one.sense is not Sense.AGREES for one in self.consents):
            used -= {one.column for one in self.consents}
        return tuple(column for column in range(len(self.headings)) if column not in used)

    def value(self, row: Row, field: str) -> str:
        """The cell of a field in a row, empty when there is none."""
        column = dict(self.columns).get(field)
        return cell(row, column) if column is not None else ""


def cell(row: Row, column: int) -> str:
    """The cell of a row in a column from 0, empty beyond its end."""
    return row.cells[column] if column < len(row.cells) else ""


def letter(column: int) -> str:
    """The letter of a column from 0, as a spreadsheet shows it: 0 is A, 26 is AA."""
    text = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, 26)
        text = chr(ord("A") + rest) + text
    return text


def find_columns(
    table: Table, by_hand: collections.abc.Mapping[str, str] | None = None, file: str = "The list"
) -> tuple[Mapping, tuple[Notice, ...]]:
    """Finds the headings and says which column each field is read from.

    `by_hand` maps a field to a heading, a column letter or a column number from 1, in this order of trial.
    Raises Problem when there is no column of names, or for a field or column in `by_hand` that is not there.
    """
    by_hand = by_hand or {}
    for field in by_hand:
        if field not in FIELDS:
            raise Problem(f"There is no field {shown(field)}", f"Fields: {', '.join(FIELDS)}.")
    heading_row, is_certain = _heading_row(table.rows, by_hand)
    headings = _headings(table, heading_row)
    taken = {field: _column(text, headings, field) for field, text in by_hand.items()}
    _refuse_double(taken, headings)
    guessed, notices = _guess(heading_row, headings, taken)
    below = tuple(row for row in table.rows if row.number > heading_row.number)
    columns, family_first, more = _settle(guessed, taken, below, headings)
    if not columns.keys() & {"name", "given", "family"}:
        listed = ", ".join(shown(heading) for heading in headings[:30])
        raise Problem(
            f"{file} has no column of names; headings: {listed}", "Say which column it is: --map name=COLUMN"
        )
    notices += more
    if not is_certain:
        listed = ", ".join(shown(text) for text in heading_row.cells[:10])
        notices.append(
            Notice(heading_row.number, f"taken as the headings: {listed}; add headings if this is a person")
        )
    notices += [
        Notice(row.number, f"above the headings, not read: {shown(' · '.join(filter(None, row.cells)))}")
        for row in table.rows
        if row.number < heading_row.number
    ]
    consents = _consents(heading_row, headings, columns, "consent" in taken, below)
    if consents:
        columns["consent"] = consents[0].column
        notices += _how_consent_is_read(heading_row, consents)
    else:
        notices += _about_consent(heading_row, set(columns.values()))
    ordered = tuple((field, columns[field]) for field in FIELDS if field in columns)
    return Mapping(ordered, headings, heading_row.number, family_first, consents), tuple(notices)


def _consents(
    heading_row: Row, headings: Sequence[str], columns: dict[str, int], by_hand: bool, rows: Sequence[Row]
) -> tuple[ConsentColumn, ...]:
    """Every column that says something about consent, that of the field first. Where it was named by hand,
    other columns that agree say nothing, but those that forbid still do."""
    main = columns.get("consent")
    used = {column for field, column in columns.items() if field != "consent"}
    found: list[ConsentColumn] = []
    for column, heading in enumerate(headings):
        sense = sense_of(cell(heading_row, column))
        if column == main:
            sense = sense or Sense.AGREES
        elif by_hand and sense is Sense.AGREES:
            continue
        if sense is not None and column not in used:
            expected = any(answer_under(sense, cell(row, column)) is Consent.YES for row in rows)
            found.append(ConsentColumn(column, heading, sense, expected))
    return tuple(sorted(found, key=lambda one: one.column != main))


def _how_consent_is_read(heading_row: Row, consents: Sequence[ConsentColumn]) -> list[Notice]:
    told = [
        Notice(heading_row.number, f"{shown(one.heading)} (column {letter(one.column)}): {one.sense}")
        for one in consents
        if one.sense is not Sense.AGREES
    ]
    if len(consents) > 1:
        listed = ", ".join(f"{shown(one.heading)} (column {letter(one.column)})" for one in consents)
        told.append(
            Notice(
                heading_row.number, f"{len(consents)} columns about consent, the stricter counts: {listed}"
            )
        )
    return told


def _about_consent(heading_row: Row, used: collections.abc.Set[int]) -> list[Notice]:
    """Who must not be published must not hide in a column that nobody reads."""
    return [
        Notice(
            heading_row.number,
            f"{shown(text)} may be about consent and is kept beside; if it is: --map consent={shown(text)}",
        )
        for column, text in enumerate(heading_row.cells)
        if column not in used and may_be_consent(text)
    ]


def _heading_row(rows: Sequence[Row], by_hand: collections.abc.Mapping[str, str]) -> tuple[Row, bool]:
    """The row with most usual headings, and whether it has any: without one it is the first row."""
    asked = {fold(text) for text in by_hand.values()}

    def score(row: Row) -> tuple[bool, int]:
        sorts = {recognise(text) for text in row.cells} - {None}
        named = sum(fold(text) in asked for text in row.cells)
        return any(is_name_heading(text) for text in row.cells), len(sorts) + 2 * named

    best = max(rows[:_LOOKED_AT], key=score)
    return (best, True) if score(best) > (False, 0) else (rows[0], False)


def _headings(table: Table, heading_row: Row) -> tuple[str, ...]:
    """A text for each column; a workbook's columns may have values and no heading."""
    widest = heading_row.width
    if table.sheet:
        widest = max(len(row.cells) for row in table.rows if row.number >= heading_row.number)
    elif heading_row.width > len(heading_row.cells):
        used = (len(row.cells) for row in table.rows if row.number > heading_row.number)
        widest = max(len(heading_row.cells), min(heading_row.width, max(used, default=0)))
    return tuple(cell(heading_row, column) or f"column {letter(column)}" for column in range(widest))


def _column(text: str, headings: Sequence[str], field: str) -> int:
    """The column that somebody named by heading, letter or number."""
    text = text.strip()
    for same in (lambda heading: heading == text, lambda heading: fold(heading) == fold(text)):
        found = [column for column, heading in enumerate(headings) if same(heading)]
        if len(found) > 1:
            letters = " and ".join(letter(column) for column in found)
            raise Problem(
                f"{len(found)} columns are called {shown(text)}",
                f"Say which by its letter: {field}={letters}.",
            )
        if found:
            return found[0]
    for column in range(len(headings)):
        if text.upper() == letter(column) or text == str(column + 1):
            return column
    listed = ", ".join(shown(heading) for heading in headings[:30])
    raise Problem(f"There is no column {shown(text)} for {field}", f"Columns: {listed}.")


def _refuse_double(taken: dict[str, int], headings: Sequence[str]) -> None:
    for field, column in taken.items():
        others = [other for other in taken if other != field and taken[other] == column]
        if others:
            raise Problem(
                f"{field} and {others[0]} are both mapped to {shown(headings[column])}",
                "Map every column to one field.",
            )


def _guess(
    heading_row: Row, headings: Sequence[str], taken: dict[str, int]
) -> tuple[dict[str, int], list[Notice]]:
    """The first column of each sort of heading; a second one is reported and stays with the others."""
    guessed: dict[str, int] = {}
    notices: list[Notice] = []
    for column, heading in enumerate(headings):
        sort = recognise(cell(heading_row, column))
        if sort is None or column in taken.values() or sort in taken:
            continue
        if sort == "consent" and sort in guessed:
            continue  # all columns about consent count
        if sort in guessed:
            first = headings[guessed[sort]]
            field = "name" if sort in {"bare", "family first"} else "key" if sort == "number" else sort
            notices.append(
                Notice(
                    heading_row.number,
                    f"two columns for {field}: {shown(first)} (column {letter(guessed[sort])}) is used, "
                    f"{shown(heading)} (column {letter(column)}) is kept beside it",
                )
            )
        else:
            guessed[sort] = column
    return guessed, notices


def _settle(
    guessed: dict[str, int], taken: dict[str, int], rows: Sequence[Row], headings: Sequence[str]
) -> tuple[dict[str, int], bool, list[Notice]]:
    """The columns of the fields, whether the family name comes first, and what to tell."""
    columns = {field: column for field, column in guessed.items() if field in FIELDS} | taken
    family_first = False
    if "name" not in columns and "family first" in guessed:
        columns["name"] = guessed["family first"]
        family_first = True
    if "bare" in guessed:
        meant = _meaning_of_bare(columns, guessed["bare"], rows)
        if meant:
            columns[meant] = guessed["bare"]
    if "name" in taken:
        family_first = recognise(headings[taken["name"]]) == "family first"
    notices: list[Notice] = []
    if "key" not in columns and "number" in guessed:
        if _counts_rows(rows, guessed["number"]):
            heading = shown(headings[guessed["number"]])
            notices.append(
                Notice(
                    0,
                    f"{heading} only counts the rows and is not taken as a key; "
                    f"if it is one: --map key={heading}",
                )
            )
        else:
            columns["key"] = guessed["number"]
    return columns, family_first, notices


def _meaning_of_bare(columns: dict[str, int], bare: int, rows: Sequence[Row]) -> str | None:
    """What "Name", "Nom" or "Nombre" means: the part that no other column has, else the full name."""
    missing = [part for part in ("given", "family") if part not in columns]
    if len(missing) == 1:
        other = columns["family" if missing == ["given"] else "given"]
        if not _holds(rows, bare, other):
            return missing[0]
    return "name" if "name" not in columns else None


def _holds(rows: Sequence[Row], whole: int, part: int) -> bool:
    """Whether the texts of one column mostly contain, as words, those of another and more."""
    pairs = [(fold(cell(row, whole)).split(), fold(cell(row, part)).split()) for row in rows[:300]]
    pairs = [(long, short) for long, short in pairs if long and short]
    holding = sum(set(short) < {word.strip(",") for word in long} for long, short in pairs)
    return 2 * holding > len(pairs)


def _counts_rows(rows: Sequence[Row], column: int) -> bool:
    """Whether a column is 1, 2, 3 … down the list: sorted anew, its numbers would belong to other people."""
    numbers = [text.rstrip(".") for row in rows if (text := cell(row, column))]
    return len(numbers) > 1 and numbers == [str(number) for number in range(1, len(numbers) + 1)]
