"""Rows of the Desk: what the photographer has to do, what is overdue first; people who wait; batches."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from rich.text import Text

from onsite.status.batch_status import Batch
from onsite.status.person_status import OpenWork, WaitingFor
from onsite.store.settings import Agreement
from onsite.tui.widgets.person_lines import SHAPES, group_width
from onsite.tui.widgets.virtual_list import Cell, Ink, cells_line

_FOR_GROUP, _FOR_MORE = 44, 60  # widths in cells from which the group, and further facts, have room
_FOR_HAND = 50
_BESIDE = 19  # cells of the further facts

LOOK_AT = "look at"
"""The work on returned files that were held, beside the kinds of `WaitingFor`."""

WRITE_TO = "write to"
"""The work for people who have proofs and had no mail about them: first they are told."""

Work = WaitingFor | str

TEXTS: Mapping[Work, str] = {
    LOOK_AT: "to look at: held files",
    WaitingFor.PROOF: "to make proofs for",
    WRITE_TO: "to tell: proofs are ready",
    WaitingFor.PICKS: "to remind: no picks yet",
    WaitingFor.SENDING: "to send to retouch",
    WaitingFor.RETOUCH: "to get back from retouch",
    WaitingFor.DELIVERY: "to deliver",
}

BY_COMMAND: Mapping[Work, str] = {
    WaitingFor.PROOF: "Make proofs",
    WRITE_TO: "Write mails that proofs are ready",
    WaitingFor.SENDING: "Send to retoucher",
    WaitingFor.RETOUCH: "Take retouched files back",
    WaitingFor.DELIVERY: "Deliver",
}
"""The command that does the work, by its everyday name."""


@dataclass(frozen=True, slots=True)
class DeskTask:
    """A kind of open work: for how many it is, the longest wait as text, and the day that was agreed."""

    work: Work
    count: int
    longest: str = ""
    due: date | None = None
    overdue: bool = False


def with_unwritten(waits: Mapping[WaitingFor, Sequence[OpenWork]]) -> dict[Work, list[OpenWork]]:
    """The work, with those apart who have proofs and had no mail about them."""
    work: dict[Work, list[OpenWork]] = {}
    for what, people in waits.items():
        if what is WaitingFor.PICKS:
            work[WRITE_TO] = [waiting for waiting in people if not _is_told(waiting)]
            people = [waiting for waiting in people if _is_told(waiting)]
        work[what] = list(people)
    return work


def _is_told(waiting: OpenWork) -> bool:
    return waiting.status.pictures.invited is not None or waiting.status.pictures.reminded is not None


def desk_tasks(
    waits: Mapping[Work, Sequence[OpenWork]],
    held: int,
    batches: Iterable[Batch],
    agreed: Agreement,
    now: datetime,
) -> list[DeskTask]:
    """The tasks: overdue ones first, then in the order of the work; `held` returned files are one."""
    due: dict[Work, date | None] = {
        WaitingFor.PICKS: _date(agreed.picks_due),
        WaitingFor.RETOUCH: min((b.due for b in batches if b.out and b.due is not None), default=None),
        WaitingFor.DELIVERY: _date(agreed.due),
    }
    tasks = [DeskTask(LOOK_AT, held)] if held else []
    for what, people in waits.items():
        if what == WRITE_TO and not people:
            continue
        day = due.get(what)
        late = bool(people) and day is not None and day < now.date()
        longest = age(people[0].since, now) if people else ""
        tasks.append(DeskTask(what, len(people), longest, day, late))
    return sorted(tasks, key=lambda task: not task.overdue)


def _date(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


def task_line(task: DeskTask, width: int, ink: Ink) -> Text:
    """A task in one line: for how many, what to do, since when, and until when."""
    there = task.count > 0
    due = f"{task.due.day} {task.due:%b}" if task.due is not None and there else ""
    about = f"! due {due}" if task.overdue else f"due {due}" if due else ""
    return cells_line(
        width,
        [
            Cell(f"{task.count:,}", 5, ink.strong if there else ink.quiet, right=True),
            Cell(TEXTS[task.work], 0, ink.strong if there else ink.quiet),
            Cell(f"since {task.longest}" if task.longest and there else "", 12, ink.quiet),
            Cell(about, 12, ink.alert if task.overdue else ink.quiet, right=True),
        ],
        ink,
    )


def age(since: datetime | None, now: datetime) -> str:
    """The time since then in its largest unit, such as "6 d" or "3 h"; "?" where it is unknown."""
    if since is None:
        return "?"
    seconds = (now - since).total_seconds()
    for unit, size in (("d", 86400), ("h", 3600), ("min", 60)):
        if seconds >= size:
            return f"{seconds // size:,.0f} {unit}"
    return "now"


def waits_line(waits: OpenWork, now: datetime, width: int, ink: Ink) -> Text:
    """A person who waits: how long, and what else is known."""
    person = waits.status.person
    cells = [
        Cell(str(person.sequence or ""), 4, ink.quiet, right=True),
        Cell(SHAPES[waits.status.stage], 1, ink.quiet),
        Cell(person.name, 0, ink.plain),
    ]
    more = _BESIDE if width >= _FOR_MORE else 0
    if width >= _FOR_GROUP:
        cells.append(Cell(person.group, group_width(width - more), ink.quiet))
    if more:
        cells.append(Cell(_beside(waits, now), more, ink.quiet))
    cells.append(Cell(age(waits.since, now), 7, ink.quiet, right=True))
    return cells_line(width, cells, ink)


def _beside(waits: OpenWork, now: datetime) -> str:
    after = waits.status.pictures
    if waits.what is WaitingFor.PICKS:
        if after.reminded is not None and (after.proofed is None or after.reminded >= after.proofed):
            ago = age(after.reminded, now)
            return "reminded now" if ago == "now" else f"reminded {ago} ago"
        return "" if after.page else "no page"
    if waits.what in (WaitingFor.RETOUCH, WaitingFor.DELIVERY):
        names = dict.fromkeys(pick.batch for pick in after.picks if pick.batch)
        return f"batch {', '.join(names)}" if names else ""
    return ""


def batch_line(batch: Batch, today: date, width: int, ink: Ink) -> Text:
    """A batch: its state, its name, its retoucher, what is back, and its due date."""
    late = batch.overdue(today)
    state = "! overdue" if late else "out" if batch.out else "all back" if batch.back else "closed"
    back = f"{batch.back}/{batch.files} back" + (f", {batch.sent_back} again" if batch.sent_back else "")
    cells = [
        Cell(state, 9, ink.alert if late else ink.plain if batch.out else ink.quiet),
        Cell(batch.name, 0, ink.strong if batch.out else ink.quiet),
    ]
    if width >= _FOR_HAND:
        cells.append(Cell(batch.retoucher, group_width(width), ink.quiet))
    due = "" if batch.due is None else f"{batch.due.day} {batch.due:%b}"
    cells += [Cell(back, 18 if width >= _FOR_MORE else 10, ink.plain), Cell(due, 6, ink.plain, right=True)]
    return cells_line(width, cells, ink)
