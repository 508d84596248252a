"""Saying what a column of the client's list holds: a short list, which typed letters make shorter."""

from __future__ import annotations

from typing import ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Footer, Input, Static

from onsite.core.text import shown
from onsite.roster.consent_columns import ConsentQuestion
from onsite.roster.list_column_options import CONSENT, MAPPED_FIELDS, NO_CONSENT, OTHER
from onsite.roster.roster_list_preview import ASKED, ListColumn
from onsite.tui.widgets.input_form import EntryField
from onsite.tui.widgets.virtual_list import Cell, Ink, VirtualList, cells_line

FIELD_WORDS = {
    ASKED: "? who may be published",
    CONSENT: "consent: yes = may be published",
    NO_CONSENT: "consent: yes = must not be",
    OTHER: "kept as it is",
    "given": "given name",
    "family": "family name",
    "name": "full name",
    "spoken": "how the name is said",
    "email": "e-mail",
}
"""Fields whose names are not words enough."""


def field_words(field: str) -> str:
    """What a field is called on the screens."""
    return FIELD_WORDS.get(field, field)


class ColumnKindScreen(ModalScreen[str | None]):
    """↓ chooses, letters shorten the list, Enter takes it. The first line is how the column is taken now.

    The question who may be published is answered by the arrow keys alone: what is typed in answer to it, such
    as "no", could be found in more than one answer.
    """

    CSS = """
    ColumnKindScreen { align: center middle; background: $ground; }
    ColumnKindScreen Vertical {
        width: 90; max-width: 100%; height: auto; max-height: 100%; padding: 1 2; background: $raised;
    }
    ColumnKindScreen Static { height: auto; }
    ColumnKindScreen Input { background: $ground; margin: 1 0; }
    ColumnKindScreen #asked { margin: 0 0 1 0; }
    ColumnKindScreen VirtualList { height: 9; }
    ColumnKindScreen #means { min-height: 2; margin: 1 0 0 0; color: $quiet; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "take", "Choose"),  # the field handles the key itself
        Binding("up", "step(-1)", "Another", key_display="↑ ↓", priority=True),
        Binding("down", "step(1)", show=False, priority=True),
        Binding("escape", "dismiss", "Back"),
    ]

    def __init__(self, column: ListColumn, question: ConsentQuestion | None) -> None:
        """`question` is what is asked about the column, where it may say who may be published."""
        super().__init__()
        self._column = column
        self._question = question
        answers = (CONSENT, NO_CONSENT, OTHER) if question is not None else _IN_ORDER
        self._fields = [column.field, *(field for field in answers if field != column.field)]

    def compose(self) -> ComposeResult:
        heading = f"Column {self._column.letter}: {self._column.heading}"
        with Vertical():
            yield Static(Text(shown(heading), style="bold"), markup=False)
            yield Static(Text(shown(" · ".join(self._column.examples))), markup=False)
            if self._question is not None:
                yield Static(Text("\nDoes this column say who may be published?", style="bold"), id="asked")
            else:
                yield EntryField(self._entered, hint="↓ chooses; or type: name, group, …")
            yield VirtualList[str](self._line, str, empty="nothing of that name")
            yield Static("", id="means", markup=False)
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        self._list.show(self._fields)
        self._list.styles.height = min(len(self._fields), 9)

    @property
    def _list(self) -> VirtualList[str]:
        return self.query_one(VirtualList)

    def _line(self, field: str, width: int, ink: Ink) -> Text:
        now = "as it is taken now" if field == self._column.field else ""
        words = _ANSWERS.get(field) if self._question is not None else None
        return cells_line(width, [Cell(words or field_words(field), 34), Cell(now, 0, ink.quiet)], ink)

    def on_input_changed(self, event: Input.Changed) -> None:
        typed = event.value.casefold().split()
        others = self._fields[1:]
        found = [field for field in others if all(_begins(field, word) for word in typed)]
        self._list.show(found if typed else self._fields, at=0)

    def on_virtual_list_highlighted(self, event: VirtualList.Highlighted[str]) -> None:
        """Say what the answer would mean, with an example of each."""
        answers = self._question.answers if self._question is not None else ()
        means = next((str(answer) for answer in answers if answer.field == event.item), "")
        self.query_one("#means", Static).update(Text(shown(means)))

    def on_virtual_list_selected(self, event: VirtualList.Selected[str]) -> None:
        self.dismiss(event.item)

    def _entered(self, _: str) -> bool:
        if self._list.item is not None:
            self.dismiss(self._list.item)
        return False

    def action_take(self) -> None:
        """Do what Enter does in the field, for a click on the footer."""
        self._entered("")

    def action_step(self, by: int) -> None:
        self._list.action_step(by)


_ANSWERS = {ASKED: "not answered yet", OTHER: "no, it is about something else"}
_LAST = (CONSENT, NO_CONSENT)
_IN_ORDER = (OTHER, *(field for field in MAPPED_FIELDS if field not in (OTHER, *_LAST)), *_LAST)


def _begins(field: str, typed: str) -> bool:
    """Whether a word of the field, as it is shown or as the command line calls it, begins so."""
    return any(word.startswith(typed) for word in f"{field_words(field)} {field}".split())
