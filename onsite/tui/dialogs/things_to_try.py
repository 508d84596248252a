"""What to try first, shown when the demo opens."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Static

from onsite.core.text import shown


class ThingsToTryScreen(ModalScreen[None]):
    """Enter begins."""

    CSS = """
    ThingsToTryScreen { align: center middle; background: $ground; }
    ThingsToTryScreen Vertical {
        width: 72; max-width: 100%; height: auto; padding: 1 2; background: $raised;
    }
    ThingsToTryScreen Static { height: auto; margin: 0 0 1 0; }
    ThingsToTryScreen .foot { color: $quiet; margin: 0; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [Binding("enter,escape,space", "dismiss", "Begin")]

    def __init__(self, things: Sequence[str]) -> None:
        super().__init__()
        self._things = tuple(things)

    def compose(self) -> ComposeResult:
        with Vertical():
            yield Static(Text("A festival in the middle of its day: three things to try", style="bold"))
            for number, thing in enumerate(self._things, 1):
                yield Static(Text.assemble((f"{number}  ", "bold"), shown(thing)))
            yield Static(
                Text(
                    "F10 shows the work after the first day. Ctrl+P finds everything by name, these three"
                    " things too. All people are invented: nothing can go wrong.\n\nEnter: begin"
                ),
                classes="foot",
            )
