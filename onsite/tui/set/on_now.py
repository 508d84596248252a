"""Who is on: what the photographer needs to know of them, large."""

from __future__ import annotations

from rich.text import Text
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widgets import Digits, Static

from onsite.progress.stage import PersonStatus
from onsite.tui.widgets.card import publication_warning
from onsite.words import shown


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
