"""The call list: who is next, in the order in which they came."""

from __future__ import annotations

from rich.text import Text

from onsite.checkin.queue import WaitingPerson
from onsite.progress.stage import PersonStatus
from onsite.tui.widgets.cells import Cell, Ink, cells_line
from onsite.tui.widgets.people import waiting_text
from onsite.tui.widgets.roll import VirtualList

_ROOMY = 40  # cells from which the group has room


def is_slate_shown(waiting: WaitingPerson[PersonStatus]) -> bool:
    """Whether their slate was shown since they came: they are on their way, or no frame has come yet."""
    status = waiting.status
    return status.shown is not None and status.arrived is not None and status.shown >= status.arrived


def call_line(waiting: WaitingPerson[PersonStatus], width: int, ink: Ink) -> Text:
    """Number, name, and how long they have waited, or that their slate was shown."""
    person = waiting.status.person
    cells = [Cell(str(person.sequence or ""), 4, ink.quiet, right=True), Cell(person.name, 0, ink.plain)]
    if width >= _ROOMY:
        cells.append(Cell(person.group, 12, ink.quiet))
    said = "shown" if is_slate_shown(waiting) else waiting_text(waiting)
    cells.append(Cell(said, 10, ink.quiet, right=True))
    return cells_line(width, cells, ink)


class CallList(VirtualList[WaitingPerson[PersonStatus]]):
    """Who waits; the one under the cursor is called next."""

    def __init__(self, id: str | None = None) -> None:
        super().__init__(
            call_line, lambda waiting_person: waiting_person.status.person.id, empty="nobody waits", id=id
        )

    def after(self, person: int) -> None:
        """Goes on to whoever comes after somebody, where they still are in the list."""
        for place, waiting_person in enumerate(self.items):
            if waiting_person.status.person.id == person and place + 1 < len(self.items):
                self.go_to(place + 1)
                return
