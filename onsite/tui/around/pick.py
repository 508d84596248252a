"""Picking somebody: one field, and who may be meant."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, cast

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from onsite.progress.stage import Standing
from onsite.slate.lettering import shown
from onsite.tui.widgets.people import person_line
from onsite.tui.widgets.roll import Roll

if TYPE_CHECKING:
    from onsite.tui.app import OnsiteApp


class PickScreen(ModalScreen[int | None]):
    """Somebody by name, key, code or number. Enter takes who is marked; nobody is marked by a guess alone
    until something was typed."""

    CSS = """
    PickScreen { align: center middle; background: $ground; }
    PickScreen Vertical {
        width: 76; max-width: 100%; height: 20; max-height: 100%; padding: 1 2; background: $raised;
    }
    PickScreen Input { background: $ground; margin: 1 0; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "step(-1)", "Up", show=False, priority=True),
        Binding("down", "step(1)", "Down", show=False, priority=True),
        Binding("escape", "dismiss", "Back"),
    ]

    def __init__(self, question: str) -> None:
        super().__init__()
        self._question = question

    def compose(self) -> ComposeResult:
        with Vertical():
            yield Static(Text(shown(self._question)), markup=False)
            yield Input(placeholder="name, key, code or number", max_length=1000)
            yield Roll[Standing](person_line, lambda s: s.person.id, empty="nobody yet")

    @property
    def _found(self) -> Roll[Standing]:
        return self.query_one(Roll)

    def on_input_changed(self, event: Input.Changed) -> None:
        everybody = cast("OnsiteApp", self.app).everybody
        hits = everybody.finder.find(event.value)
        self._found.show(
            [everybody.standings[hit.someone.id] for hit in hits], at=0, empty="nobody of that name"
        )

    def on_input_submitted(self, event: Input.Submitted) -> None:
        event.stop()
        if self._found.item is not None:
            self.dismiss(self._found.item.person.id)

    def on_roll_chosen(self, event: Roll.Chosen[Standing]) -> None:
        self.dismiss(event.item.person.id)

    def action_step(self, by: int) -> None:
        self._found.action_step(by)
