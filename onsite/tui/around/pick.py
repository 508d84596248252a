"""Picking somebody: one field, and who may be meant."""

from __future__ import annotations

from typing import ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from onsite.progress.stage import PersonStatus
from onsite.tui.screen_host import host_of
from onsite.tui.search import PersonSearch, is_it_question
from onsite.tui.widgets.field import EntryField
from onsite.tui.widgets.people import person_line
from onsite.tui.widgets.roll import VirtualList
from onsite.words import shown


class ChoosePersonScreen(ModalScreen[int | None]):
    """Somebody by name, key, code or number. Enter takes who is marked, once that is clear."""

    CSS = """
    ChoosePersonScreen { align: center middle; background: $ground; }
    ChoosePersonScreen Vertical {
        width: 76; max-width: 100%; height: 20; max-height: 100%; padding: 1 2; background: $raised;
    }
    ChoosePersonScreen Input { background: $ground; margin: 1 0; }
    ChoosePersonScreen #asked { height: auto; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "step(-1)", "Up", show=False, priority=True),
        Binding("down", "step(1)", "Down", show=False, priority=True),
        Binding("escape", "dismiss", "Back"),
    ]

    def __init__(self, question: str) -> None:
        super().__init__()
        self._question = question
        self._search = PersonSearch()

    def compose(self) -> ComposeResult:
        with Vertical():
            yield Static(Text(shown(self._question)), markup=False)
            yield EntryField(self._entered, hint="name, key, code or number")
            yield VirtualList[PersonStatus](person_line, lambda s: s.person.id, empty="nobody yet")
            yield Static("", id="asked", markup=False)

    @property
    def _found(self) -> VirtualList[PersonStatus]:
        return self.query_one(VirtualList)

    def on_input_changed(self, event: Input.Changed) -> None:
        if event.value != self._search.text:
            self._find(event.value)

    def _find(self, text: str) -> None:
        if text != self._search.text:
            self.query_one("#asked", Static).update("")  # it was asked about another text
        found = self._search.look(text, host_of(self).status_cache)
        self._found.show(found, at=0, empty="nobody of that name" if text.strip() else "nobody yet")

    def _entered(self, text: str) -> bool:
        if text != self._search.text:
            self._find(text)
        status = self._found.item
        if status is not None and self._search.is_meant_by_enter(status.person):
            self.dismiss(status.person.id)
        elif status is not None:
            self.query_one("#asked", Static).update(Text(shown(is_it_question(status.person))))
        return False

    def on_virtual_list_selected(self, event: VirtualList.Selected[PersonStatus]) -> None:
        self.dismiss(event.item.person.id)

    def action_step(self, by: int) -> None:
        self._search.moved = True
        self._found.action_step(by)
