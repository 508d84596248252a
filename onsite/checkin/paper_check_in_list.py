"""Checking in people from a paper list that was kept at the door and typed in afterwards."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

from onsite.checkin.waiting_people import Arrival, ArrivalDesk, arrival_time
from onsite.core.errors import Problem
from onsite.core.text import escaped
from onsite.core.times import parse_time
from onsite.roster.person_lookup import PersonLookup
from onsite.roster.read_list_table import TableRow, read_table
from onsite.roster.read_people import read_people
from onsite.store.shoot import Shoot

COLUMNS = ("who", "at", "card", "station")


@dataclass(frozen=True, slots=True)
class PaperListResult:
    """The outcome of a paper list."""

    done: list[Arrival] = field(default_factory=list)
    """People who arrived by this list, in order of arrival."""
    already: list[Arrival] = field(default_factory=list)
    """People who were here already, in order of arrival."""
    refused: list[tuple[int, str]] = field(default_factory=list)
    """(row as a spreadsheet numbers it, why it was refused)."""
    ignored: tuple[str, ...] = ()
    """Headings that are not columns of a paper list."""


@dataclass(frozen=True, slots=True)
class _Line:
    row: int
    who: str
    at: datetime | None
    card: str | None
    station: str


def check_in_list(shoot: Shoot, path: Path, station: str = "") -> PaperListResult:
    """Checks in everybody on a list with the columns who, at, card and station; only who is required.

    Rows are processed in order of their time, rows without a time last, as arriving now. A row that fails is
    refused and the others are done. `station` is for rows without one. Raises Problem when the file cannot be
    read or has no column who.
    """
    table = read_table(path)
    headings, *rows = table.rows
    columns, ignored = _columns(headings, escaped(Path(path).name))
    result = PaperListResult(ignored=ignored)
    lines: list[_Line] = []
    for row in rows:
        try:
            lines.append(_line(row, columns, max(len(headings.cells), headings.width), shoot, station))
        except Problem as problem:
            result.refused.append((row.number, _single_line(problem)))
    with shoot.writing() as session:
        lookup, desk, now = PersonLookup(read_people(session)), ArrivalDesk(session), shoot.now()
        for line in sorted(lines, key=_by_time):
            try:
                arrival = desk.arrive(lookup.resolve(line.who), line.at or now, line.station, line.card)
            except Problem as problem:
                result.refused.append((line.row, _single_line(problem)))
            else:
                (result.already if arrival.is_repeated else result.done).append(arrival)
    result.refused.sort()
    return result


def _columns(headings: TableRow, file: str) -> tuple[dict[str, int], tuple[str, ...]]:
    columns: dict[str, int] = {}
    ignored: list[str] = []
    for place, heading in enumerate(headings.cells):
        name = heading.casefold()
        if name in columns:
            raise Problem(f"{file} has two columns {name}", "Keep one of them.")
        if name in COLUMNS:
            columns[name] = place
        elif heading:
            ignored.append(heading)
    if "who" not in columns:
        listed = ", ".join(escaped(heading) for heading in headings.cells[:10])
        raise Problem(
            f"{file} has no column who; its first row is: {listed}", f"Columns: {', '.join(COLUMNS)}."
        )
    return columns, tuple(ignored)


def _line(row: TableRow, columns: dict[str, int], width: int, shoot: Shoot, station: str) -> _Line:
    if len(row.cells) > width:
        raise Problem(
            f"{len(row.cells)} cells under {width} headings",
            f"a cell with a comma in it needs quotes around it ({escaped(' · '.join(row.cells))})",
        )
    cells = {name: row.cells[place] if place < len(row.cells) else "" for name, place in columns.items()}
    at = cells.get("at", "")
    return _Line(
        row.number,
        cells["who"],
        arrival_time(shoot, parse_time(at, shoot.zone, shoot.day)) if at else None,
        cells.get("card") or None,
        cells.get("station") or station,
    )


def _by_time(line: _Line) -> tuple[bool, datetime, int]:
    at = line.at or datetime.min.replace(tzinfo=UTC)
    return line.at is None, at.astimezone(UTC), line.row


def _single_line(problem: Problem) -> str:
    """The problem and its remedy on one line, whatever punctuation they end in."""
    parts = (part.rstrip(".") for part in (problem.what, problem.remedy))
    return ". ".join(part for part in parts if part) + "."
