"""The person who is photographed now, large, and the call list of who is next."""

from __future__ import annotations

from rich.text import Text
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widgets import Digits, Static

from onsite.checkin.arrivals_at_door import WaitingPerson
from onsite.core.text import shown
from onsite.status.person_status import PersonStatus
from onsite.tui.widgets.person_lines import waiting_text
from onsite.tui.widgets.person_panel import publication_warning
from onsite.tui.widgets.virtual_list import Cell, Ink, VirtualList, cells_line


class CurrentPerson(Vertical):
    """Number and name, pronunciation, consent, group, note, and the number of frames."""

    DEFAULT_CSS = """
    CurrentPerson {
        height: auto;
        & > Digits { width: 100%; text-style: bold; display: none; }
        & > Static { width: 100%; height: auto; display: none; }
        & > Static.-said { display: block; }
        & > .on--name, & > .on--numbered { text-style: bold; }
        & > .on--consent, &.-unnamed > .on--name { background: $alert; color: $on-alert; text-style: bold; }
    }
    """

    def compose(self) -> ComposeResult:
        yield Digits("")
        for part in ("numbered", "name", "spoken", "consent", "group", "note", "count"):
            yield Static("", classes=f"on--{part}", markup=False)

    def show(self, status: PersonStatus | None, instead: str, count: str = "", loud: bool = False) -> None:
        """Show a person and their frame count, or the text `instead`, `loud` where a name is missing."""
        number = str(status.person.sequence or "") if status is not None else ""
        self.query_one(Digits).update(number)
        self.set_class(bool(number), "-numbered")
        self.set_class(loud, "-unnamed")
        said = _cautions(status) if status is not None else {"name": f"! {instead}" if loud else instead}
        for field in self.query(Static):
            part = next(name for name in field.classes if name.startswith("on--"))
            text = count if part == "on--count" else said.get(part.removeprefix("on--"), "")
            field.set_class(bool(text), "-said")
            field.update(Text(shown(text)))


def _cautions(status: PersonStatus) -> dict[str, str]:
    """The text of each part. Of the name with the number and without, the style sheet shows one."""
    person = status.person
    return {
        "numbered": f"{person.sequence}  {person.name}" if person.sequence else person.name,
        "name": person.name,
        "spoken": f"say: {status.spoken}" if status.spoken else "",
        "consent": publication_warning(status),
        "group": " · ".join(part for part in (person.group, status.role) if part),
        "note": f"note: {status.note}" if status.note else "",
    }


_ROOMY = 40  # width in cells from which the group has room


def is_slate_shown(waiting: WaitingPerson[PersonStatus]) -> bool:
    """Whether a person's slate was shown since they arrived: they are on their way to the camera."""
    status = waiting.status
    return status.shown is not None and status.arrived is not None and status.shown >= status.arrived


def call_line(waiting: WaitingPerson[PersonStatus], width: int, ink: Ink) -> Text:
    """Number, name, and the time waited, or that the person's slate was shown."""
    person = waiting.status.person
    cells = [Cell(str(person.sequence or ""), 4, ink.quiet, right=True), Cell(person.name, 0, ink.plain)]
    if width >= _ROOMY:
        cells.append(Cell(person.group, 12, ink.quiet))
    said = "shown" if is_slate_shown(waiting) else waiting_text(waiting)
    cells.append(Cell(said, 10, ink.quiet, right=True))
    return cells_line(width, cells, ink)


class CallList(VirtualList[WaitingPerson[PersonStatus]]):
    """The people who wait; the person under the cursor is called next."""

    def __init__(self, id: str | None = None) -> None:
        super().__init__(
            call_line, lambda waiting_person: waiting_person.status.person.id, empty="nobody waits", id=id
        )

    def after(self, person: int) -> None:
        """Move the cursor to the person after this one, where they are still in the list."""
        for place, waiting_person in enumerate(self.items):
            if waiting_person.status.person.id == person and place + 1 < len(self.items):
                self.go_to(place + 1)
                return
