"""A frame's picture, as large as the terminal."""

from __future__ import annotations

from pathlib import Path
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.screen import ModalScreen

from onsite.tui.widgets.picture import FramePicture


class LargePicture(ModalScreen[None]):
    """One picture and nothing else"""

    CSS = """
    LargePicture { background: $ground; }
    LargePicture FramePicture { width: 100%; height: 100%; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape,enter,space,f", "dismiss", "Close")]

    def __init__(self, path: Path | None, under: str) -> None:
        super().__init__()
        self._path = path
        self._under = under

    def compose(self) -> ComposeResult:
        yield FramePicture()

    def on_mount(self) -> None:
        self.query_one(FramePicture).show(self._path, self._under)
