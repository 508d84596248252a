"""The person who is photographed now, as large as the terminal allows, and the line of who is next."""

from __future__ import annotations

from typing import ClassVar

from rich.cells import cell_len
from rich.segment import Segment
from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.strip import Strip
from textual.widgets import Static

from onsite.checkin.waiting_people import WaitingPerson
from onsite.core.text import shown
from onsite.status.person_status import PersonStatus
from onsite.tui.widgets.block_text import BlockText
from onsite.tui.widgets.person_lines import waiting_text
from onsite.tui.widgets.person_panel import publication_warning
from onsite.tui.widgets.virtual_list import Ink, VirtualList, fit_cells


class CurrentPerson(Vertical):
    """Number and name large, then pronunciation, consent, group, note, and the number of frames."""

    DEFAULT_CSS = """
    CurrentPerson {
        height: auto;
        & > Static { width: 100%; height: auto; display: none; }
        & > Static.-said { display: block; }
        & > .on--consent, &.-unnamed > .on--name { background: $alert; color: $on-alert; text-style: bold; }
        & > .on--consent { padding: 0 1; }
        & > .on--count { text-style: bold; }
    }
    """

    def compose(self) -> ComposeResult:
        yield BlockText(3, classes="on--number")
        yield BlockText(5, classes="on--name")
        for part in ("consent", "spoken", "group", "note", "count"):
            yield Static("", classes=f"on--{part}", markup=False)

    def show(self, status: PersonStatus | None, instead: str, count: str = "", loud: bool = False) -> None:
        """Show a person and their frame count, or the text `instead`, `loud` where a name is missing."""
        number = str(status.person.sequence or "") if status is not None else ""
        self.query_one(".on--number", BlockText).show(number)
        self.set_class(loud, "-unnamed")
        head, _, reason = instead.partition(": ")
        name = status.person.name if status is not None else f"! {head}" if loud else instead
        self.query_one(".on--name", BlockText).show(name)
        said = _cautions(status) if status is not None else {"note": reason if loud else ""}
        for field in self.query(Static):
            part = next(name for name in field.classes if name.startswith("on--")).removeprefix("on--")
            text = count if part == "count" else said.get(part, "")
            field.set_class(bool(text), "-said")
            field.update(Text(shown(text)))


def _cautions(status: PersonStatus) -> dict[str, str]:
    """The text of each part."""
    person = status.person
    return {
        "spoken": f"say: {status.spoken}" if status.spoken else "",
        "consent": publication_warning(status),
        "group": " · ".join(part for part in (person.group, status.role) if part),
        "note": f"note: {status.note}" if status.note else "",
    }


def is_slate_shown(waiting: WaitingPerson[PersonStatus]) -> bool:
    """Whether a person's slate was shown since they arrived: they are on their way to the camera."""
    status = waiting.status
    return status.shown is not None and status.arrived is not None and status.shown >= status.arrived


def call_text(waiting: WaitingPerson[PersonStatus], width: int) -> str:
    """Number and name, and where there is room that the slate was shown, else the time waited."""
    person = waiting.status.person
    said = "slate shown" if is_slate_shown(waiting) else waiting_text(waiting)
    whose = f"{person.sequence} {person.name}" if person.sequence else person.name
    full = f"{whose}, {said}"
    return full if cell_len(full) <= width else whose


_AT_ONCE = 3
"""People in the line: who is called, who gets ready, and who comes then."""


class CallList(VirtualList[WaitingPerson[PersonStatus]]):
    """The people who wait, three of them in one line; the person under the cursor is called next."""

    DEFAULT_CSS = """
    CallList { height: 1; scrollbar-size: 0 0; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "step(-1)", show=False),
        Binding("right", "step(1)", show=False),
    ]

    def __init__(self, id: str | None = None) -> None:
        super().__init__(
            lambda waiting, width, ink: Text(fit_cells(call_text(waiting, width), width), ink.plain, end=""),
            lambda waiting_person: waiting_person.status.person.id,
            empty="reading who waits …",
            id=id,
        )

    def render_line(self, y: int) -> Strip:
        width, plain = self.size.width, self._ink(False)
        if y or not self.items:
            return Strip([Segment("" if y else self._empty, plain.quiet)]).adjust_cell_length(
                width, plain.plain
            )
        segments: list[Segment] = []
        each = max(width // _AT_ONCE, 1)
        for place in range(self._first, min(self._first + _AT_ONCE, len(self.items))):
            ink: Ink = self._ink(place == self.cursor)
            mark = "▶ " if place == self.cursor else "  "
            text = fit_cells(call_text(self.items[place], each - 3), each - 3)
            segments.append(Segment(f"{mark}{text} ", ink.plain))
        return Strip(segments).adjust_cell_length(width, plain.plain)

    @property
    def _first(self) -> int:
        """The place of the first person in the line."""
        return self.cursor // _AT_ONCE * _AT_ONCE

    def on_click(self, event: events.Click) -> None:
        """Move to the person clicked; a second click shows the slate."""
        event.prevent_default()
        place = self._first + event.x // max(self.size.width // _AT_ONCE, 1)
        if place < len(self.items):
            again = place == self.cursor
            self.go_to(place)
            if again:
                self.action_choose()

    def refresh_line(self, y: int) -> None:  # noqa: ARG002
        """Draw the one line again, whichever person in it has changed."""
        self.refresh()

    def after(self, person: int) -> None:
        """Move the cursor to the person after this one, where they are still in the list."""
        for place, waiting_person in enumerate(self.items):
            if waiting_person.status.person.id == person and place + 1 < len(self.items):
                self.go_to(place + 1)
                return
