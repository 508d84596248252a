"""Decisions about how a client's list is read: columns mapped with `--map FIELD=COLUMN`, remembered for newer
versions of the list.
"""

from __future__ import annotations

import json
import shlex
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from typing import Any

from sqlmodel import Session

from onsite.core.errors import Problem
from onsite.core.text import escaped
from onsite.roster.consent_answers import ConsentSense, consent_answer
from onsite.roster.consent_headings import Leaning, heading_leaning
from onsite.roster.parse_consent import Consent
from onsite.roster.person_names import fold_name
from onsite.roster.read_list_table import TableRow, cell_text, column_letter
from onsite.roster.roster_entry import FIELDS, ListNotice
from onsite.store.schema import Meta

CONSENT, NO_CONSENT, OTHER = "consent", "no-consent", "other"
"""A yes in the column means: may be published, must not be published, or nothing about consent."""

MAPPED_FIELDS = (*FIELDS, NO_CONSENT, OTHER)
"""The fields to which a column can be mapped."""

SENSES = {CONSENT: ConsentSense.AGREES, NO_CONSENT: ConsentSense.FORBIDS}
KNOWN_SENSES: Mapping[Leaning | None, ConsentSense] = {
    Leaning.AGREES: ConsentSense.AGREES,
    Leaning.FORBIDS: ConsentSense.FORBIDS,
}
"""The senses of headings that are known word for word."""
_SEVERAL = (CONSENT, NO_CONSENT, OTHER)
"""Fields to which several columns may be mapped; all columns about consent count."""

ColumnMap = tuple[str, str]
"""(field, column): a column is a heading, a letter or a number from 1, tried in this order."""


@dataclass(frozen=True, slots=True)
class ChosenColumns:
    """The columns, from 0, that were mapped with `--map`."""

    fields: Mapping[str, int] = field(default_factory=dict)
    """Field -> its column."""
    senses: Mapping[int, ConsentSense] = field(default_factory=dict)
    """Column -> the meaning of a yes in it."""
    others: frozenset[int] = frozenset()
    """Columns that are kept as extra columns."""

    @property
    def maps(self) -> tuple[tuple[str, int], ...]:
        """(field, column) of each."""
        about = tuple(
            (next(name for name, same in SENSES.items() if same is sense), column)
            for column, sense in self.senses.items()
        )
        return (*self.fields.items(), *about, *((OTHER, column) for column in sorted(self.others)))


def choose_columns(
    maps: Iterable[ColumnMap],
    headings: Sequence[str],
    rows: Sequence[TableRow] = (),
    remembered: Iterable[ColumnMap] = (),
) -> tuple[ChosenColumns, list[ListNotice]]:
    """The columns that `maps` name, and those that `remembered` names, where still there and not mapped anew.

    Raises Problem for a field or column that does not exist, for two fields of one column, for a sense that
    contradicts the heading, and if a column known to be about consent has answers in `rows` and would not be
    read: a refusal in it must not be lost. A remembered map with such a fault is left out with a notice
    instead.
    """
    found: list[tuple[str, int]] = []
    for name, text in maps:
        if name not in MAPPED_FIELDS:
            raise Problem(f"There is no field {escaped(name)}", f"Fields: {', '.join(MAPPED_FIELDS)}.")
        column = _column(text, headings, name)
        _refuse_double(found, name, column, headings)
        if wrong := _contradiction(name, column, headings, rows):
            raise wrong
        found.append((name, column))
    notices: list[ListNotice] = []
    for name, text in remembered:
        same = [column for column, heading in enumerate(headings) if heading == text] or [
            column for column, heading in enumerate(headings) if fold_name(heading) == fold_name(text)
        ]
        if any(column in same or (other == name and name not in _SEVERAL) for other, column in found):
            continue
        said = f"--map {name}={shlex.quote(text)}"
        if len(same) != 1:
            notices.append(ListNotice(0, f"remembered, but not a column of this list: {said}"))
        elif wrong := _contradiction(name, same[0], headings, rows):
            notices.append(ListNotice(0, f"no longer used, {said}: {wrong.what}"))
        else:
            notices.append(ListNotice(0, f"as for an earlier list: {said}"))
            found.append((name, same[0]))
    return _as_chosen_columns(found), notices


def map_option(name: str, column: int, headings: Sequence[str]) -> str:
    """The option that maps a column to a field, quoted for a shell.

    It names the column by its letter if the heading is long, not printable, or not unique.
    """
    heading = " ".join(headings[column].split())
    folded = fold_name(heading)
    is_plain = (
        len(heading) <= 60 and heading.isprintable() and escaped(heading) == heading and heading.strip()
    )
    if is_plain and sum(fold_name(other) == folded for other in headings) == 1:
        return f"--map {name}={shlex.quote(heading)}"
    return f"--map {name}={column_letter(column)}"


def _as_chosen_columns(found: Iterable[tuple[str, int]]) -> ChosenColumns:
    found = list(found)
    return ChosenColumns(
        {name: column for name, column in found if name not in _SEVERAL},
        {column: SENSES[name] for name, column in found if name in SENSES},
        frozenset(column for name, column in found if name == OTHER),
    )


def _column(text: str, headings: Sequence[str], name: str) -> int:
    """The column with that heading, letter or number. Raises Problem."""
    text = text.strip()
    for same in (lambda heading: heading == text, lambda heading: fold_name(heading) == fold_name(text)):
        found = [column for column, heading in enumerate(headings) if same(heading)]
        if len(found) > 1:
            letters = " and ".join(column_letter(column) for column in found)
            raise Problem(
                f"{len(found)} columns are called {escaped(text)}",
                f"Say which by its letter: {name}={letters}.",
            )
        if found:
            return found[0]
    for column in range(len(headings)):
        if text.upper() == column_letter(column) or text == str(column + 1):
            return column
    listed = ", ".join(escaped(heading) for heading in headings[:30])
    raise Problem(f"There is no column {escaped(text)} for {name}", f"Columns: {listed}.")


def _refuse_double(found: Sequence[tuple[str, int]], name: str, column: int, headings: Sequence[str]) -> None:
    for other, there in found:
        if there == column:
            both = f"{other} and {name} are both mapped" if other != name else f"{name} is mapped twice"
            raise Problem(f"{both} to {escaped(headings[column])}", "Map every column to one field.")
        if other == name and name not in _SEVERAL:
            raise Problem(
                f"{name} is mapped to {escaped(headings[there])} and to {escaped(headings[column])}",
                "Map every field to one column.",
            )


def _contradiction(
    name: str, column: int, headings: Sequence[str], rows: Sequence[TableRow]
) -> Problem | None:
    """Why a column's heading, by what it says about consent, does not allow this field; None if it does."""
    heading, leaning = escaped(headings[column]), heading_leaning(headings[column])
    known = KNOWN_SENSES.get(leaning)
    if known is not None and name not in SENSES:
        answers = {consent_answer(known, cell_text(row, column)) for row in rows}
        if answers & {Consent.YES, Consent.NO}:
            return Problem(
                f"{heading} (column {column_letter(column)}) has answers about consent and cannot be {name}",
                "Leave its --map out; if it is about something else, give the column another heading.",
            )
    if name == CONSENT and leaning is Leaning.FORBIDS:
        return Problem(
            f"{heading} says who must not be published: a yes there is no consent",
            "It is read that way by itself: leave this --map out.",
        )
    if name == CONSENT and leaning is Leaning.LIKELY_FORBIDS:
        return Problem(
            f"{heading} seems to say who must not be published: a yes there would be a refusal",
            f"Map it as {map_option(NO_CONSENT, column, headings)}; if a yes there does mean consent, "
            "give the column a heading that says so, such as Consent.",
        )
    if name == NO_CONSENT and leaning is Leaning.AGREES:
        return Problem(
            f"{heading} says who may be published: a no there would become a consent",
            "It is read that way by itself: leave this --map out; if a yes there does mean a refusal, "
            "give the column a heading that says so, such as Do not publish.",
        )
    return None


_KEY = "list decisions"


@dataclass(frozen=True, slots=True)
class ListDecisions:
    """How to read newer versions of the list.

    `maps` are the columns mapped with `--map`, (field, heading); `capitals` is the choice for names in
    capitals (`onsite.roster.name_capitals`), empty if nobody chose.
    """

    maps: tuple[ColumnMap, ...] = ()
    capitals: str = ""


def read_list_decisions(session: Session) -> ListDecisions:
    """The decisions remembered in this shoot."""
    meta = session.get(Meta, _KEY)
    if meta is None:
        return ListDecisions()
    values: dict[str, Any] = json.loads(meta.value)
    return ListDecisions(tuple((name, heading) for name, heading in values["maps"]), values["capitals"])


def save_list_decisions(session: Session, decisions: ListDecisions) -> None:
    """Remembers the decisions; earlier maps of columns that this list does not have are kept."""
    before = read_list_decisions(session)
    headings = {fold_name(heading) for _, heading in decisions.maps}
    single = {name for name, _ in decisions.maps if name not in ("consent", "no-consent", "other")}
    beside = [
        column_map
        for column_map in before.maps
        if fold_name(column_map[1]) not in headings and column_map[0] not in single
    ]
    kept = ListDecisions((*decisions.maps, *beside), decisions.capitals)
    if kept != before:
        session.merge(Meta(key=_KEY, value=json.dumps(asdict(kept), ensure_ascii=False)))
