"""Choosing a theme: each is put on the screens at once as the cursor comes to it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Static

from onsite.tui.widgets.virtual_list import Ink, VirtualList, fit_cells


class ThemePreviewScreen(ModalScreen[None]):
    """Colours of the screens: the screen behind shows the theme under the cursor"""

    CSS = """
    ThemePreviewScreen { align: right bottom; background: $ground 0%; }
    ThemePreviewScreen Vertical {
        width: 44; max-width: 100%; height: auto; padding: 0 1; background: $ground; border: heavy $mark;
    }
    ThemePreviewScreen VirtualList { height: auto; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "take_back", "Back")]

    def __init__(self, themes: Sequence[str]) -> None:
        super().__init__()
        self._themes = themes
        self._before = ""

    def compose(self) -> ComposeResult:
        with Vertical():
            yield Static("Theme. Enter keeps it, Esc takes it back.", markup=False)
            yield VirtualList[str](_line, lambda name: name)

    def on_mount(self) -> None:
        self._before = self.app.theme
        themes = self.query_one(VirtualList)
        themes.styles.height = len(self._themes)
        at = self._themes.index(self._before) if self._before in self._themes else 0
        themes.show(self._themes, at=at)

    def on_virtual_list_highlighted(self, event: VirtualList.Highlighted[str]) -> None:
        if event.item is not None:
            self.app.theme = event.item

    def on_virtual_list_selected(self) -> None:
        self.dismiss()

    def action_take_back(self) -> None:
        self.app.theme = self._before
        self.dismiss()


def _line(name: str, width: int, ink: Ink) -> Text:
    return Text(fit_cells(name, width), ink.plain, end="")
