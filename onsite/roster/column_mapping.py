"""Which column of a list is which field."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace

from onsite.core.errors import Problem
from onsite.core.text import escaped
from onsite.roster.column_headings import is_name_heading, recognise
from onsite.roster.consent_answers import ConsentColumn, ConsentSense
from onsite.roster.find_consent_columns import AskedColumn, find_consent_columns
from onsite.roster.header_rows import HeaderRows, find_header_rows
from onsite.roster.map_options import ColumnMap, choose_columns, map_option
from onsite.roster.person_names import fold_name
from onsite.roster.read_table import RosterTable, TableRow, cell_text, column_letter
from onsite.roster.roster_entry import FIELDS, ListNotice


@dataclass(frozen=True, slots=True)
class ColumnMapping:
    """How a list's columns are read.

    `columns` are (field, column from 0); `headings` has a text for every column, "column D" where there is
    none; `heading_row` is the row they stand in, the last of them, and `first_row` the first. `family_first`:
    the one column of names has the family name first. `consents` are all columns that say something about
    consent, the one of the field first; `asked` those about which somebody has to be asked before the list is
    loaded. `maps` are the columns mapped by hand, by their headings.
    """

    columns: tuple[tuple[str, int], ...]
    headings: tuple[str, ...]
    heading_row: int
    family_first: bool = False
    consents: tuple[ConsentColumn, ...] = ()
    asked: tuple[AskedColumn, ...] = ()
    maps: tuple[ColumnMap, ...] = ()
    first_row: int = 0

    @property
    def fields(self) -> frozenset[str]:
        return frozenset(field for field, _ in self.columns)

    @property
    def unmapped(self) -> tuple[int, ...]:
        """The columns that are kept as they are: no field is read from them, or what they say of consent is
        kept in other words."""
        used = {column for _, column in self.columns}
        if len(self.consents) > 1 or any(
            consent_column.sense is not ConsentSense.AGREES for consent_column in self.consents
        ):
            used -= {consent_column.column for consent_column in self.consents}
        return tuple(column for column in range(len(self.headings)) if column not in used)

    def value(self, row: TableRow, field: str) -> str:
        """The cell of a field in a row, empty when there is none."""
        column = dict(self.columns).get(field)
        return cell_text(row, column) if column is not None else ""


def find_columns(
    table: RosterTable,
    by_hand: Iterable[ColumnMap] = (),
    file: str = "The list",
    remembered: Iterable[ColumnMap] = (),
) -> tuple[ColumnMapping, tuple[ListNotice, ...]]:
    """Finds the headings and says which column each field is read from.

    `by_hand` maps fields to columns; so does what is `remembered` of an earlier list, where it still fits
    (`choose_columns`). Raises Problem when there is no column of names, or for a map that cannot be.
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
    """A text for each column; a workbook's columns may have values and no heading."""
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
    """The first column of each sort of heading; a second one is reported and stays with the others. A column
    that is or may be `about_consent` is nothing else, unless it has the names."""
    guessed: dict[str, int] = {}
    notices: list[ListNotice] = []
    for column, heading in enumerate(headings):
        sort = recognise(header.text(column))
        if sort is None or column in mapped or sort in taken or sort == "consent":
            continue  # all columns about consent count: `find_consent_columns`
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
    """The columns of the fields, whether the family name comes first, and what to tell."""
    columns = {field: column for field, column in guessed.items() if field in FIELDS} | taken
    family_first = False
    if "name" not in columns and "family first" in guessed:
        columns["name"] = guessed["family first"]
        family_first = True
    if "bare" in guessed:
        field_name = _field_of_bare_name(columns, guessed["bare"], rows)
        if field_name:
            columns[field_name] = guessed["bare"]
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
    """What "Name", "Nom" or "Nombre" means: the part that no other column has, else the full name."""
    missing = [part for part in ("given", "family") if part not in columns]
    if len(missing) == 1:
        other = columns["family" if missing == ["given"] else "given"]
        if not _holds(rows, bare, other):
            return missing[0]
    return "name" if "name" not in columns else None


def _holds(rows: Sequence[TableRow], whole: int, part: int) -> bool:
    """Whether the texts of one column mostly contain, as words, those of another and more."""
    pairs = [
        (fold_name(cell_text(row, whole)).split(), fold_name(cell_text(row, part)).split())
        for row in rows[:300]
    ]
    pairs = [(long, short) for long, short in pairs if long and short]
    holding = sum(set(short) < {word.strip(",") for word in long} for long, short in pairs)
    return 2 * holding > len(pairs)


def _counts_rows(rows: Sequence[TableRow], column: int) -> bool:
    """Whether a column is 1, 2, 3 … down the list: sorted anew, its numbers would belong to other people."""
    numbers = [text.rstrip(".") for row in rows if (text := cell_text(row, column))]
    return len(numbers) > 1 and numbers == [str(number) for number in range(1, len(numbers) + 1)]
