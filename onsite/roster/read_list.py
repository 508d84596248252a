"""Reading a client's list from its file into entries, with notices about everything unusual."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from onsite.core.errors import Problem
from onsite.core.text import escaped
from onsite.messages.languages import unusable_languages
from onsite.roster.column_mapping import ColumnMapping, find_columns
from onsite.roster.consent_columns import ConsentQuestion, consent_question
from onsite.roster.consent_headings import forbids
from onsite.roster.header_and_total_rows import RowKind, row_kind
from onsite.roster.list_column_options import ColumnMap
from onsite.roster.name_capitals import CapitalisedNames, apply_capitals
from onsite.roster.person_names import fold_name, full_name, natural_order, other_part, split_name
from onsite.roster.read_list_table import RosterTable, TableRow, cell_text, column_letter, read_table
from onsite.roster.roster_entry import ListNotice, RosterEntry

_PLAIN = ("key", "group", "role", "email", "phone", "slot", "note", "spoken", "language")


@dataclass(frozen=True, slots=True)
class ListReading:
    """The contents of a list: `entries` in the order of the file, their mapping, and notices by row.

    `questions` are about consent: while there are any, the list must not be loaded.
    """

    entries: tuple[RosterEntry, ...]
    mapping: ColumnMapping
    notices: tuple[ListNotice, ...]
    table: RosterTable
    questions: tuple[ConsentQuestion, ...] = ()
    capitals: CapitalisedNames = field(default_factory=CapitalisedNames)

    @property
    def refused(self) -> tuple[ListNotice, ...]:
        """The rows that were left out."""
        return tuple(notice for notice in self.notices if notice.refused)


def read_roster(
    path: Path,
    sheet: str | None = None,
    maps: Iterable[ColumnMap] = (),
    remembered: Iterable[ColumnMap] = (),
    capitals: str = "",
    drop_totals: bool = False,
) -> ListReading:
    """Reads a client's list.

    `maps` are (field, column) from `--map`, `remembered` those of earlier lists; see `find_columns`.
    `capitals` is what to do with names in capitals; empty if nobody chose. `drop_totals` leaves out rows that
    may be totals, which are kept as people otherwise. Raises Problem when the file
    cannot be read, has no column of names, or holds nobody.
    """
    table = read_table(path, sheet)
    file = escaped(Path(path).name)
    columns, notices = find_columns(table, maps, file, remembered)
    entries, refused = _entries(table, columns, drop_totals)
    entries, in_capitals = apply_capitals(entries, capitals)
    kept, doubles = _without_doubles(entries)
    if not kept:
        first = f"; row {refused[0].row}: {refused[0].text}" if refused else ""
        raise Problem(f"{file} has headings and nobody under them{first}", "Is it the right file or sheet?")
    collected = [
        *_about_file(table),
        *notices,
        *_about_order(table, columns),
        *in_capitals.notices,
        *_about_consents(table, columns),
        *_about_remarks(table, columns),
        *refused,
        *doubles,
        *_about_names(kept),
        *_about_keys(kept, columns),
        *_about_languages(kept),
    ]
    collected.sort(key=lambda notice: notice.row)
    return ListReading(
        tuple(kept), columns, tuple(collected), table, _questions(table, columns, kept), in_capitals
    )


def _questions(
    table: RosterTable, mapping: ColumnMapping, entries: Sequence[RosterEntry]
) -> tuple[ConsentQuestion, ...]:
    rows = {row.number: row for row in table.rows}
    return tuple(
        consent_question(
            asked,
            mapping.headings,
            [(entry.name, cell_text(rows[entry.row], asked.column)) for entry in entries],
        )
        for asked in mapping.asked
    )


def _entries(
    table: RosterTable, mapping: ColumnMapping, drop_totals: bool
) -> tuple[list[RosterEntry], list[ListNotice]]:
    headings = [row.cells for row in table.rows if mapping.first_row <= row.number <= mapping.heading_row]
    totals = _totals(table, mapping)
    entries: list[RosterEntry] = []
    notices: list[ListNotice] = []
    for row in table.rows:
        listed = escaped(" · ".join(filter(None, row.cells)))
        if row.number <= mapping.heading_row:
            continue
        if row.cells in headings:
            notices.append(ListNotice(row.number, "the headings once more, skipped"))
        elif totals.get(row.number) is RowKind.DOUBTFUL and drop_totals:
            notices.append(ListNotice(row.number, f"taken for a total, left out: {listed}", left_out=True))
        elif totals.get(row.number) is RowKind.TOTAL:
            notices.append(ListNotice(row.number, f"a total and not a person, left out: {listed}"))
        elif len(row.cells) > len(mapping.headings):
            notices.append(_too_long(row, table, mapping))
        else:
            entry = _entry(row, mapping)
            if not entry.name:
                notices.append(ListNotice(row.number, f"no name; the row holds: {listed}", refused=True))
                continue
            entries.append(entry)
            if totals.get(row.number) is RowKind.DOUBTFUL:
                text = f"may be a total and is kept as a person: {listed}; if it is one: --drop-totals"
                notices.append(ListNotice(row.number, text, may_be_total=True))
    return entries, notices


def _totals(table: RosterTable, mapping: ColumnMapping) -> dict[int, RowKind]:
    """Row number -> kind, for rows that may be totals rather than people."""
    rows = [row for row in table.rows if row.number > mapping.heading_row]
    names = [column for field, column in mapping.columns if field in ("name", "given", "family")]
    named = [any(cell_text(row, column) for column in names) for row in rows]
    lettered = any(
        character.isalpha() for row in rows for column in names for character in cell_text(row, column)
    )
    kinds: dict[int, RowKind] = {}
    at_end = True
    for place in range(len(rows) - 1, -1, -1):
        above = {place, sum(named[:place]), len({row.cells for row in rows[:place]})} if at_end else ()
        kind = row_kind(rows[place].cells, above, at_end, named[place] and lettered)
        at_end = at_end and kind is RowKind.TOTAL
        if kind is not RowKind.PERSON:
            kinds[rows[place].number] = kind
    return kinds


def _too_long(row: TableRow, table: RosterTable, mapping: ColumnMapping) -> ListNotice:
    """The notice about a row with more cells than headings, whose fields are therefore uncertain."""
    mark = {"\t": "a tab", "": "a line break"}.get(table.delimiter, table.delimiter)
    return ListNotice(
        row.number,
        f"{len(row.cells)} cells under {len(mapping.headings)} headings: "
        f"a cell with {mark} in it needs quotes around it ({escaped(' · '.join(row.cells))})",
        refused=True,
    )


def _entry(row: TableRow, mapping: ColumnMapping) -> RosterEntry:
    given, family = mapping.value(row, "given"), mapping.value(row, "family")
    written = mapping.value(row, "name")
    name = natural_order(written) if written else full_name(given, family)
    if written and not given and not family:
        given, family = split_name(written, family_first=mapping.family_first)
    elif not family:
        family = other_part(name, given)
    elif not given:
        given = other_part(name, family)
    extra = tuple((mapping.headings[column], cell_text(row, column)) for column in mapping.unmapped)
    plain = {field: mapping.value(row, field) for field in _PLAIN} | {"consent": mapping.consent(row).text}
    return RosterEntry(name=name, given=given, family=family, extra=extra, row=row.number, **plain)


def _without_doubles(entries: Iterable[RosterEntry]) -> tuple[list[RosterEntry], list[ListNotice]]:
    """The entries without exact repetitions, and without a second person under one key."""
    kept: list[RosterEntry] = []
    notices: list[ListNotice] = []
    by_key: dict[str, RosterEntry] = {}
    seen: dict[RosterEntry, int] = {}
    for entry in entries:
        content = replace(entry, row=0)
        holder = by_key.get(entry.key) if entry.key else None
        if content in seen:
            hint = "" if entry.key else "; if these are two people, tell them apart by a key or a note"
            notices.append(ListNotice(entry.row, f"the same as row {seen[content]}, kept once{hint}"))
        elif holder:
            notices.append(
                ListNotice(
                    entry.row,
                    f"key {escaped(entry.key)} is already {escaped(holder.name)} in row {holder.row}; "
                    f"{escaped(entry.name)} is left out",
                    refused=True,
                )
            )
        else:
            kept.append(entry)
            seen[content] = entry.row
            if entry.key:
                by_key[entry.key] = entry
    return kept, notices


def _about_languages(entries: Sequence[RosterEntry]) -> list[ListNotice]:
    """Notices about languages that cannot be used for messages, one for each language."""
    whose: dict[str, list[RosterEntry]] = defaultdict(list)
    for entry in entries:
        if entry.language:
            whose[entry.language].append(entry)
    notices = []
    for text, why in unusable_languages(whose).items():
        first, *others = whose[text]
        more = f" and {len(others)} more" if others else ""
        notices.append(
            ListNotice(
                first.row,
                f"language {escaped(text)} of {escaped(first.name)}{more} {why}; "
                "they are written to in their group's language, else in the shoot's",
            )
        )
    return notices


def _about_file(table: RosterTable) -> list[ListNotice]:
    notices: list[ListNotice] = []
    if len(table.sheets) > 1:
        others = ", ".join(escaped(name) for name in table.sheets if name != table.sheet)
        notices.append(ListNotice(0, f"sheet {escaped(table.sheet)} is read; other sheets: {others}"))
    if not table.certain:
        words = (
            word for row in table.rows for text in row.cells for word in text.split() if not word.isascii()
        )
        examples = ", ".join(escaped(word) for word in list(dict.fromkeys(words))[:6])
        notices.append(
            ListNotice(
                0,
                f"the file does not say its encoding; it is read as {table.encoding}: check {examples}; "
                "if they are wrong, save the list as UTF-8 or XLSX",
            )
        )
    if table.blank:
        notices.append(ListNotice(0, f"blank rows skipped: {table.blank}"))
    return notices


def _about_order(table: RosterTable, mapping: ColumnMapping) -> list[ListNotice]:
    """A notice about names that are shown in another order than written."""
    turned = [
        (row, written)
        for row in table.rows
        if row.number > mapping.heading_row
        and len(row.cells) <= len(mapping.headings)
        and (written := mapping.value(row, "name"))
        and natural_order(written) != written
    ]
    if not turned:
        return []
    row, written = turned[0]
    return [
        ListNotice(
            0,
            f'names written "Family, Given" are shown given name first: {len(turned)}, '
            f"such as {escaped(natural_order(written))} in row {row.number}",
        )
    ]


def _about_consents(table: RosterTable, mapping: ColumnMapping) -> list[ListNotice]:
    """A notice about the rows in which columns about consent disagree."""
    rows = [
        row.number
        for row in table.rows
        if row.number > mapping.heading_row
        and len(row.cells) <= len(mapping.headings)
        and mapping.consent(row).disagree
    ]
    if not rows:
        return []
    listed = ", ".join(map(str, rows[:20])) + (" …" if len(rows) > 20 else "")
    return [
        ListNotice(0, f"columns about consent disagree; the stricter counts: {len(rows)} (rows {listed})")
    ]


def _about_remarks(table: RosterTable, mapping: ColumnMapping) -> list[ListNotice]:
    """A notice about remarks that may refuse consent: a refusal must not go unnoticed among the remarks."""
    consents = {column.column for column in mapping.consents} | {column.column for column in mapping.asked}
    names = {
        column for field, column in mapping.columns if field in ("key", "name", "given", "family", "email")
    }
    remarks = [
        (row.number, text)
        for row in table.rows
        if row.number > mapping.heading_row
        for column, text in enumerate(row.cells)
        if column not in consents | names and " " in text and forbids(text)
    ]
    if not remarks:
        return []
    listed = "; ".join(f"row {number}: {escaped(text)}" for number, text in remarks[:10])
    listed += " …" if len(remarks) > 10 else ""
    return [
        ListNotice(
            0, f"remarks that may be about consent and are not read as such: {len(remarks)} ({listed})"
        )
    ]


_LOST = re.compile(r"\ufffd|\?(?=\w)")
"""What stands in place of a letter that an encoding did not have."""


def _about_names(entries: Sequence[RosterEntry]) -> list[ListNotice]:
    notices: list[ListNotice] = []
    first: dict[str, RosterEntry] = {}
    for entry in entries:
        same = first.setdefault(fold_name(entry.name), entry)
        if same is not entry:
            groups = " and ".join(escaped(each.group) or "no group" for each in (same, entry))
            notices.append(
                ListNotice(
                    entry.row,
                    f"{escaped(entry.name)} has the same name as row {same.row} ({groups}); both are kept",
                )
            )
        if _LOST.search(entry.name):
            notices.append(
                ListNotice(entry.row, f"a letter of {escaped(entry.name)} was lost before this list was made")
            )
        elif not any(character.isalpha() for character in entry.name):
            notices.append(ListNotice(entry.row, f"the name {escaped(entry.name)} has no letter in it"))
        elif not entry.name.isprintable() and escaped(entry.name, 10_000) != entry.name:
            notices.append(
                ListNotice(
                    entry.row,
                    f"the name {escaped(entry.name)} holds marks that do not print; kept as written",
                )
            )
    return notices


def _about_keys(entries: Sequence[RosterEntry], mapping: ColumnMapping) -> list[ListNotice]:
    if "key" not in mapping.fields:
        return [ListNotice(0, "no column of keys: a newer list will be matched by name and group")]
    without = [entry.row for entry in entries if not entry.key]
    if without:
        rows = ", ".join(map(str, without[:20])) + (" …" if len(without) > 20 else "")
        return [ListNotice(0, f"people without a key: {len(without)} (rows {rows})")]
    by_folded: dict[str, list[RosterEntry]] = defaultdict(list)
    for entry in entries:
        by_folded[fold_name(entry.key)].append(entry)
    return [
        ListNotice(
            same[1].row,
            f"keys {escaped(same[0].key)} and {escaped(same[1].key)} differ in little; both are kept",
        )
        for same in by_folded.values()
        if len(same) > 1
    ]


def columns_used(reading: ListReading) -> list[tuple[str, str, str]]:
    """(column letter, heading, field) of every column for a preview; field is empty for extra columns."""
    fields = {column: field for field, column in reading.mapping.columns}
    return [
        (column_letter(column), heading, fields.get(column, ""))
        for column, heading in enumerate(reading.mapping.headings)
    ]
