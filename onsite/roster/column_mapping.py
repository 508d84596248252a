"""Mapping the columns of a list to fields."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from onsite.core.errors import Problem
from onsite.core.text import escaped
from onsite.roster.column_headings import is_name_heading, recognise
from onsite.roster.consent_answers import CombinedConsent, ConsentColumn, ConsentSense, combine_consents
from onsite.roster.consent_columns import AskedColumn, find_consent_columns
from onsite.roster.header_and_total_rows import HeaderRows, find_header_rows
from onsite.roster.list_column_options import ColumnMap, choose_columns, map_option
from onsite.roster.person_names import fold_name
from onsite.roster.read_list_table import RosterTable, TableRow, cell_text, column_letter
from onsite.roster.roster_entry import FIELDS, ListNotice


@dataclass(frozen=True, slots=True)
class ColumnMapping:
    """How the columns of a list are read."""

    columns: tuple[tuple[str, int], ...]
    """(field, column from 0)."""
    headings: tuple[str, ...]
    """A text for every column, "column D" if it has no heading."""
    heading_row: int
    """The row of the headings; the last of them if there are two."""
    family_first: bool = False
    """The single column of names has the family name first."""
    consents: tuple[ConsentColumn, ...] = ()
    """All columns about consent, the one of the field "consent" first."""
    asked: tuple[AskedColumn, ...] = ()
    """Columns that a person must explain before the list can be loaded."""
    maps: tuple[ColumnMap, ...] = ()
    """The columns mapped with `--map`: (field, heading)."""
    first_row: int = 0
    """The first row of the headings."""

    @property
    def fields(self) -> frozenset[str]:
        return frozenset(field for field, _ in self.columns)

    @property
    def unmapped(self) -> tuple[int, ...]:
        """The columns that are kept as extra columns.

        They have no field, or are columns about consent whose answers are stored in other words.
        """
        used = {column for _, column in self.columns}
        if len(self.consents) > 1 or any(
            consent.sense is not ConsentSense.AGREES for consent in self.consents
        ):
            used -= {consent.column for consent in self.consents}
        return tuple(column for column in range(len(self.headings)) if column not in used)

    def consent(self, row: TableRow) -> CombinedConsent:
        """The consent of a row's person, from all columns about it."""
        return combine_consents(self.consents, [cell_text(row, consent.column) for consent in self.consents])

    def value(self, row: TableRow, field: str) -> str:
        """The cell of a field in a row; empty if there is none."""
        column = dict(self.columns).get(field)
        return cell_text(row, column) if column is not None else ""


def find_columns(
    table: RosterTable,
    by_hand: Iterable[ColumnMap] = (),
    file: str = "The list",
    remembered: Iterable[ColumnMap] = (),
) -> tuple[ColumnMapping, tuple[ListNotice, ...]]:
    """Finds the headings and maps columns to fields. Returns the mapping and notices.

    `by_hand` are the maps given now, `remembered` those of an earlier list, used where they still fit
    (`choose_columns`). Raises Problem when there is no column of names, or for an impossible map.
    """
    by_hand, remembered = tuple(by_hand), tuple(remembered)
    header, about_header = find_header_rows(table, [text for _, text in (*by_hand, *remembered)])
    headings = _headings(table, header)
    below = tuple(row for row in table.rows if row.number > header.last)
    chosen, about_maps = choose_columns(by_hand, headings, below, remembered)
    taken = dict(chosen.fields)
    mapped = {column for _, column in chosen.maps}
    consents, asked, about_consent = find_consent_columns(header.texts, headings, below, chosen)
    about = {consent.column for consent in consents} | {column.column for column in asked}
    guessed, notices = _guess(header, headings, taken, mapped, about)
    columns, family_first, more = _settle(guessed, taken, below, headings)
    if not columns.keys() & {"name", "given", "family"}:
        listed = ", ".join(escaped(heading) for heading in headings[:30])
        raise Problem(
            f"{file} has no column of names; headings: {listed}", "Say which column it is: --map name=COLUMN"
        )
    if consents:
        columns["consent"] = consents[0].column
    notices += [*more, *about_header, *about_maps]
    notices += [replace(notice, row=header.last) for notice in about_consent]
    ordered = tuple((field, columns[field]) for field in FIELDS if field in columns)
    maps = tuple((name, headings[column]) for name, column in chosen.maps)
    mapping = ColumnMapping(ordered, headings, header.last, family_first, consents, asked, maps, header.first)
    return mapping, tuple(notices)


def _headings(table: RosterTable, header: HeaderRows) -> tuple[str, ...]:
    """A text for each column; columns of a workbook may have values but no heading."""
    widest = header.width
    if table.sheet:
        widest = max(len(row.cells) for row in table.rows if row.number >= header.first)
    elif header.width > len(header.texts):
        used = (len(row.cells) for row in table.rows if row.number > header.last)
        widest = max(len(header.texts), min(header.width, max(used, default=0)))
    return tuple(header.text(column) or f"column {column_letter(column)}" for column in range(widest))


def _guess(
    header: HeaderRows,
    headings: Sequence[str],
    taken: dict[str, int],
    mapped: Collection[int],
    about_consent: Collection[int],
) -> tuple[dict[str, int], list[ListNotice]]:
    """The first column of each sort of heading; a second one is reported and kept as an extra column.

    A column that is, or may be, `about_consent` is taken for nothing else, unless it has the names.
    """
    guessed: dict[str, int] = {}
    notices: list[ListNotice] = []
    for column, heading in enumerate(headings):
        sort = recognise(header.text(column))
        if sort is None or column in mapped or sort in taken or sort == "consent":
            continue  # `find_consent_columns` uses all of them
        if column in about_consent and not is_name_heading(header.text(column)):
            continue
        if sort in guessed:
            first = headings[guessed[sort]]
            field = "name" if sort in {"bare", "family first"} else "key" if sort == "number" else sort
            notices.append(
                ListNotice(
                    header.last,
                    f"two columns for {field}: {escaped(first)} (column {column_letter(guessed[sort])}) is"
                    f" used, {escaped(heading)} (column {column_letter(column)}) is kept beside it",
                )
            )
        else:
            guessed[sort] = column
    return guessed, notices


def _settle(
    guessed: dict[str, int], taken: dict[str, int], rows: Sequence[TableRow], headings: Sequence[str]
) -> tuple[dict[str, int], bool, list[ListNotice]]:
    """The columns of the fields, whether the family name comes first, and notices."""
    columns = {field: column for field, column in guessed.items() if field in FIELDS} | taken
    family_first = False
    if "name" not in columns and "family first" in guessed:
        columns["name"] = guessed["family first"]
        family_first = True
    if "bare" in guessed:
        field_name = _field_of_bare_name(columns, guessed["bare"], rows)
        if field_name:
            columns[field_name] = guessed["bare"]
    if "voice" in guessed:
        columns.setdefault("role" if "group" in columns else "group", guessed["voice"])
    if "name" in taken:
        family_first = recognise(headings[taken["name"]]) == "family first"
    notices: list[ListNotice] = []
    if "key" not in columns and "number" in guessed:
        if _counts_rows(rows, guessed["number"]):
            number = guessed["number"]
            notices.append(
                ListNotice(
                    0,
                    f"{escaped(headings[number])} only counts the rows and is not taken as a key; "
                    f"if it is one: {map_option('key', number, headings)}",
                )
            )
        else:
            columns["key"] = guessed["number"]
    return columns, family_first, notices


def _field_of_bare_name(columns: dict[str, int], bare: int, rows: Sequence[TableRow]) -> str | None:
    """The field of "Name", "Nom" or "Nombre": the part that no other column has, else the full name."""
    missing = [part for part in ("given", "family") if part not in columns]
    if len(missing) == 1:
        other = columns["family" if missing == ["given"] else "given"]
        if not _holds(rows, bare, other):
            return missing[0]
    return "name" if "name" not in columns else None


def _holds(rows: Sequence[TableRow], whole: int, part: int) -> bool:
    """Whether most texts of one column contain, as words, the texts of another column and more."""
    pairs = [
        (fold_name(cell_text(row, whole)).split(), fold_name(cell_text(row, part)).split())
        for row in rows[:300]
    ]
    pairs = [(long, short) for long, short in pairs if long and short]
    holding = sum(set(short) < {word.strip(",") for word in long} for long, short in pairs)
    return 2 * holding > len(pairs)


def _counts_rows(rows: Sequence[TableRow], column: int) -> bool:
    """Whether a column counts down the list, perhaps with rows left out since: sorting it, or counting again,
    would give the numbers to other people."""
    texts = [text.rstrip(".") for row in rows if (text := cell_text(row, column))]
    if len(texts) < 2 or not all(text.isdecimal() for text in texts):
        return False
    numbers = list(map(int, texts))
    grow = all(before < after for before, after in pairwise(numbers))
    return grow and numbers[0] <= 2 and numbers[-1] <= _COUNTED * len(numbers)


_COUNTED = 1.5
"""Times the number of rows up to which the last number is a count with rows left out. Own choice."""
