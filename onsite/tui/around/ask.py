"""A question with one line for the answer, and a question for yes or no."""

from __future__ import annotations

from typing import ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Static

from onsite.slate.lettering import shown
from onsite.tui.widgets.field import Field


class AskScreen(ModalScreen[str | None]):
    """Enter answers, Escape takes the question back."""

    CSS = """
    AskScreen { align: center middle; background: $ground; }
    AskScreen Vertical { width: 72; max-width: 100%; height: auto; padding: 1 2; background: $raised; }
    AskScreen Input { background: $ground; margin: 1 0 0 0; }
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
            yield Field(self._entered, self._answer, self._hint)

    def _entered(self, text: str) -> bool:
        self.dismiss(text.strip() or None)
        return False


class SureScreen(ModalScreen[bool]):
    """Enter does it, Escape does not."""

    CSS = """
    SureScreen { align: center middle; background: $ground; }
    SureScreen Static { width: 72; max-width: 100%; height: auto; padding: 1 2; background: $raised; }
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
