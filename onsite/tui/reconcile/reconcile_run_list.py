"""A lane's runs as lines of a list, with lines between them for breaks, gaps and jumps."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import datetime, timedelta
from typing import NamedTuple

from rich.text import Text

from onsite.core.text import format_day
from onsite.core.times import format_duration
from onsite.matching.evidence import NamedBy
from onsite.matching.slate_status import SlateStatus
from onsite.reconcile.runs import LaneRun, RunKind
from onsite.tui.widgets.virtual_list import Cell, Ink, VirtualList, cells_line

Known = Callable[[int], tuple[int | None, str]]
"""A person's sequence number, or None, and name, by id."""

Who = Callable[[int], str]
"""A person's number and name as text, by id."""

HOW = {
    NamedBy.SLATE: "slate",
    NamedBy.TAIL_SLATE: "tail slate",
    NamedBy.OVERRIDE: "by hand",
    NamedBy.NOTHING: "",
}
_ROOMY = 56  # width in cells from which the end of a run has room beside its beginning


class RunRow(NamedTuple):
    """A run at its `place` in the lane, or a note on what is between two frames."""

    run: LaneRun | None
    place: int = -1
    note: str = ""


def rows_of(runs: Iterable[LaneRun]) -> list[RunRow]:
    """The runs and their notes in order: notes from before a run above it, notes from within it below."""
    rows: list[RunRow] = []
    for place, run in enumerate(runs):
        if run.pause is not None and run.after_break:
            rows.append(RunRow(None, note=_break_text(run.begins, run.pause)))
        if not run.notes:
            rows.append(RunRow(run, place))
            continue
        before = (*run.everything, run.first)[0]
        rows += [RunRow(None, note=note.text) for note in run.notes if note.frame == before]
        rows.append(RunRow(run, place))
        rows += [RunRow(None, note=f"in it, {note.text}") for note in run.notes if note.frame != before]
    return rows


def _break_text(begins: datetime | None, pause: float) -> str:
    """A break, with the day on which it ends where that is another one."""
    text = f"a break of {format_duration(pause)}"
    if begins is None or (begins - timedelta(seconds=pause)).date() == begins.date():
        return text
    return f"{text}, then {format_day(begins)}"


def row_of(rows: Iterable[RunRow], place: int) -> int:
    """The row of the run at a place in the lane."""
    return next((number for number, row in enumerate(rows) if row.place == place), 0)


def numbered(number: int | None, name: str) -> str:
    """A name with the sequence number before it, such as "12 Ana Horvat", where there is a number."""
    return f"{number} {name}" if number else name


def run_line(row: RunRow, known: Known, width: int, ink: Ink) -> Text:
    """A run in one line: time, shape, person or the reason, where there is room what named it, and how many
    frames."""
    run = row.run
    if run is None:
        return cells_line(width, [Cell("", 5), Cell(f"─ {row.note}", 0, ink.quiet)], ink)
    roomy = width >= _ROOMY
    loud = ink.strong if run.kind is RunKind.LOOSE else ink.plain
    cells = [
        Cell(_times(run, roomy), 13 if roomy else 5, ink.quiet),
        Cell(SHAPES[run.kind], 1, loud),
    ]
    if run.kind is RunKind.NAMED and run.person is not None:
        number, name = known(run.person)
        cells += [Cell(str(number or ""), 4, ink.quiet, right=True), Cell(name)]
        if roomy:
            cells.append(Cell(HOW[run.how], 10, ink.quiet))
    else:
        cells.append(Cell(run_text(run, lambda person: numbered(*known(person))), 0, loud))
    cells.append(Cell(str(len(run.frames) or ""), 4, loud, right=True))
    return cells_line(width, cells, ink)


def run_text(run: LaneRun, who: Who) -> str:
    """The person of a run, or why it has none."""
    match run.kind:
        case RunKind.NAMED if run.person is not None:
            return who(run.person)
        case RunKind.LOOSE:
            return f"LOOSE  {run.doubt}".rstrip()
        case RunKind.SET_ASIDE:
            return "set aside"
    if run.doubt == SlateStatus.CLOCK:
        return "clock slate"
    whose = f", {who(run.person)}" if run.person is not None else f": {run.doubt}" if run.doubt else ""
    return f"slate without frames{whose}"


def run_text_short(run: LaneRun, who: Who) -> str:
    """The person of a run, without a reason where it has none."""
    return "loose" if run.kind is RunKind.LOOSE else run_text(run, who)


def _times(run: LaneRun, roomy: bool) -> str:
    begins, ends = clock_text(run.begins), clock_text(run.ends)
    return f"{begins or '  …  '} – {ends}" if roomy and ends and ends != begins else begins


def clock_text(time: datetime | None) -> str:
    """The time on the shoot's clock, as hours and minutes; empty where it is unknown."""
    return f"{time:%H:%M}" if time is not None else ""


class RunList(VirtualList[RunRow]):
    """The list of runs. The cursor skips the lines between them; Enter belongs to the screen."""

    def go_to(self, place: int) -> None:
        """Move the cursor to the run at a line, or to the next run in the direction of the move."""
        rows = self.items
        place = max(0, min(place, len(rows) - 1))
        step = -1 if place < self.cursor else 1
        for ahead in (step, -step):
            at = place
            while 0 <= at < len(rows):
                if rows[at].run is not None:
                    self.cursor = at
                    return
                at += ahead

    def action_choose(self) -> None:
        """Do nothing: only the keys for it give a name."""


# The shapes of frames: a line is settled, a shade is not. The words are always beside them.

SHAPES = {RunKind.NAMED: "━", RunKind.SLATE: "┿", RunKind.LOOSE: "▒", RunKind.SET_ASIDE: "·"}

COUNT_SHAPES = {
    "named": SHAPES[RunKind.NAMED],
    "slates": SHAPES[RunKind.SLATE],
    "loose": SHAPES[RunKind.LOOSE],
    "set aside": SHAPES[RunKind.SET_ASIDE],
}
"""The shapes beside the words of the frame counts, where they serve as the key to the strips."""
