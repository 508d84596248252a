"""The call list: who is next, in the order in which they came."""

from __future__ import annotations

from rich.text import Text

from onsite.checkin.queue import Waiting
from onsite.progress.stage import Standing
from onsite.tui.widgets.cells import Cell, Ink, line
from onsite.tui.widgets.people import waited
from onsite.tui.widgets.roll import Roll

_ROOMY = 40  # cells from which the group has room


def was_called(waiting: Waiting[Standing]) -> bool:
    """Whether their slate was shown since they came: they are on their way, or no frame has come yet."""
    standing = waiting.standing
    return standing.shown is not None and standing.arrived is not None and standing.shown >= standing.arrived


def call_line(waiting: Waiting[Standing], width: int, ink: Ink) -> Text:
    """Number, name, and how long they have waited, or that their slate was shown."""
    person = waiting.standing.person
    cells = [Cell(str(person.sequence or ""), 4, ink.quiet, right=True), Cell(person.name, 0, ink.plain)]
    if width >= _ROOMY:
        cells.append(Cell(person.group, 12, ink.quiet))
    said = "shown" if was_called(waiting) else waited(waiting)
    cells.append(Cell(said, 10, ink.quiet, right=True))
    return line(width, cells, ink)


class CallList(Roll[Waiting[Standing]]):
    """Who waits; the one under the cursor is called next."""

    def __init__(self, id: str | None = None) -> None:
        super().__init__(call_line, lambda one: one.standing.person.id, empty="nobody waits", id=id)

    def after(self, person: int) -> None:
        """Goes on to whoever comes after somebody, where they still are in the list."""
        for place, one in enumerate(self.items):
            if one.standing.person.id == person and place + 1 < len(self.items):
                self.go_to(place + 1)
                return
