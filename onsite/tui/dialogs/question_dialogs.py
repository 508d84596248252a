"""Questions: with a line for the answer, for yes or no, and with a few choices."""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Static

from onsite.core.text import shown
from onsite.tui.widgets.input_form import EntryField


class AskScreen(ModalScreen[str | None]):
    """Enter answers, Escape takes the question back."""

    CSS = """
    AskScreen { align: center middle; background: $ground; }
    AskScreen Vertical { width: 72; max-width: 100%; height: auto; padding: 1 2; background: $raised; }
    AskScreen Input { background: $ground; margin: 1 0; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "dismiss", "Back")]

    def __init__(self, question: str, answer: str = "", hint: str = "") -> None:
        super().__init__()
        self._question = question
        self._answer = answer
        self._hint = hint

    def compose(self) -> ComposeResult:
        with Vertical():
            yield Static(Text(shown(self._question)), markup=False)
            yield EntryField(self._entered, self._answer, self._hint)
            yield Static("Enter: go on.  Esc: back.", markup=False)

    def _entered(self, text: str) -> bool:
        self.dismiss(text.strip() or None)
        return False


class ConfirmScreen(ModalScreen[bool]):
    """Enter does it, Escape does not."""

    CSS = """
    ConfirmScreen { align: center middle; background: $ground; }
    ConfirmScreen Static { width: 72; max-width: 100%; height: auto; padding: 1 2; background: $raised; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "dismiss(True)", "Yes"),
        Binding("escape", "dismiss(False)", "No"),
    ]

    def __init__(self, question: str) -> None:
        super().__init__()
        self._question = question

    def compose(self) -> ComposeResult:
        yield Static(Text(f"{shown(self._question)}\n\nEnter: yes    Esc: no"), markup=False)


class ChoiceScreen(ModalScreen[str | None]):
    """A letter for each thing that may be done, Escape for none. Enter does nothing: it may have been pressed
    twice for what was there before."""

    CSS = """
    ChoiceScreen { align: center middle; background: $ground; }
    ChoiceScreen Static { width: 76; max-width: 100%; height: auto; padding: 1 2; background: $raised; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "dismiss", "Back")]

    def __init__(self, question: str, choices: Mapping[str, str]) -> None:
        """`choices` maps each letter to what it does; the letter is the answer."""
        super().__init__()
        self._question = question
        self._choices = choices

    def compose(self) -> ComposeResult:
        listed = [f"{letter.upper()}    {shown(what)}" for letter, what in self._choices.items()]
        yield Static(Text("\n".join([shown(self._question), "", *listed, "Esc  back"])), markup=False)

    def on_key(self, event: events.Key) -> None:
        if event.key.lower() in self._choices:
            event.stop()
            self.dismiss(event.key.lower())
