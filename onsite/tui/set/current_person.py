"""Who is on: what the photographer needs to know of them, large."""

from __future__ import annotations

from rich.text import Text
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widgets import Digits, Static

from onsite.checkin.waiting_queue import WaitingPerson
from onsite.core.text import shown
from onsite.status.person_status import PersonStatus
from onsite.tui.widgets.person_lines import waiting_text
from onsite.tui.widgets.person_panel import publication_warning
from onsite.tui.widgets.virtual_list import Cell, Ink, VirtualList, cells_line


class CurrentPerson(Vertical):
    """Number and name, how it is said, whether the picture may be published, group, note, and the count."""

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
        """Somebody with the count of their frames, or a text `instead`, `loud` where a name is missing."""
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
    """What is said of somebody, part by part. The name is there twice, with the number beside it and without:
    one of them is shown."""
    person = status.person
    return {
        "numbered": f"{person.sequence}  {person.name}" if person.sequence else person.name,
        "name": person.name,
        "spoken": f"say: {status.spoken}" if status.spoken else "",
        "consent": publication_warning(status),
        "group": " · ".join(part for part in (person.group, status.role) if part),
        "note": f"note: {status.note}" if status.note else "",
    }


# TODO The call list: who is next, in the order in which they came.

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
