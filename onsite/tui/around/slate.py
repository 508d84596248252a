"""The slate full screen, to be photographed: dark on white, whatever the theme."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, ClassVar, cast

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.screen import ModalScreen
from textual.widgets import Static

from onsite.problems import Problem
from onsite.roster.find import Someone
from onsite.slate import lettering
from onsite.slate.terminal import slate_text

if TYPE_CHECKING:
    from onsite.tui.app import OnsiteApp


class SlateScreen(ModalScreen[None]):
    """Somebody's slate, as large as the terminal allows. Showing it on set is recorded; at the door it is
    the ticket's code, to be copied or photographed by whoever lost theirs."""

    CSS = """
    SlateScreen { align: center middle; background: #ffffff; }
    SlateScreen Static { width: auto; height: auto; background: #ffffff; color: #000000; }
    SlateScreen Static.-told { width: 100%; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,enter,space", "dismiss", "Close"),
    ]

    def __init__(self, someone: Someone, shown: Callable[[Someone], None] | None = None) -> None:
        """`shown` is called once the slate stands on the screen."""
        super().__init__()
        self._someone = someone
        self._shown = shown

    def compose(self) -> ComposeResult:
        yield Static("", markup=False)

    def on_mount(self) -> None:
        if self._draw() and self._shown is not None:
            self.call_after_refresh(self._shown, self._someone)

    def on_resize(self) -> None:
        self._draw()

    def _draw(self) -> bool:
        """False where the terminal is too small for a symbol that reads."""
        size = self.app.size
        field = self.query_one(Static)
        field.remove_class("-told")
        try:
            field.update(slate_text(self._someone.code, self._someone.name, size.width, size.height))
        except Problem as problem:
            field.add_class("-told")
            field.update(
                Text(
                    f"{lettering.shown(problem.what)}\n{lettering.shown(problem.remedy)}",
                    style="#000000 on #ffffff",
                )
            )
            return False
        return True

    @property
    def onsite(self) -> OnsiteApp:
        return cast("OnsiteApp", self.app)
