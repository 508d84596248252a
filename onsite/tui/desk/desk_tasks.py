"""What the photographer has to do after the shoot, one row for each kind of work, what is overdue first."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from rich.text import Text

from onsite.status.batch_status import Batch
from onsite.status.person_status import OpenWork, WaitingFor
from onsite.store.settings import Agreement
from onsite.tui.desk.desk_lines import age
from onsite.tui.widgets.virtual_list import Cell, Ink, cells_line

LOOK_AT = "look at"
"""The work on returned files that were held, beside the kinds of `WaitingFor`."""

Work = WaitingFor | str

TEXTS: Mapping[Work, str] = {
    LOOK_AT: "to look at: held files",
    WaitingFor.PROOF: "to make proofs for",
    WaitingFor.PICKS: "to remind: no picks yet",
    WaitingFor.SENDING: "to send to retouch",
    WaitingFor.RETOUCH: "to get back from retouch",
    WaitingFor.DELIVERY: "to deliver",
}

BY_COMMAND: Mapping[Work, str] = {
    WaitingFor.PROOF: "Make proofs",
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


def desk_tasks(
    waits: Mapping[WaitingFor, Sequence[OpenWork]],
    held: int,
    batches: Iterable[Batch],
    agreed: Agreement,
    now: datetime,
) -> list[DeskTask]:
    """The tasks: overdue ones first, then in the order of the work; `held` returned files are one."""
    due = {
        WaitingFor.PICKS: _date(agreed.picks_due),
        WaitingFor.RETOUCH: min((b.due for b in batches if b.out and b.due is not None), default=None),
        WaitingFor.DELIVERY: _date(agreed.due),
    }
    tasks = [DeskTask(LOOK_AT, held)] if held else []
    for what, people in waits.items():
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
