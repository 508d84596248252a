"""One frame full screen."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.screen import ModalScreen
from textual.widgets import Footer

from onsite.tui.screen_host import host_of
from onsite.tui.widgets.picture import FramePicture
from onsite.tui.workers import background_worker
from onsite.tui.wrap.beside import preview_place_of


class FrameScreen(ModalScreen[int]):
    """A frame as large as the terminal allows, and the others of its run"""

    CSS = """
    FrameScreen { background: $ground; }
    FrameScreen FramePicture { width: 100%; height: 1fr; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "step(-1)", "Frame before"),
        Binding("right", "step(1)", "Frame after"),
        Binding("escape,enter,space,v", "back", "Back", key_display="Esc"),
    ]

    def __init__(self, frames: Sequence[int], frame: int, whose: str, label: Callable[[int], str]) -> None:
        """`whose` in words, for the line under the picture; `label` is what a frame is called."""
        super().__init__()
        self._frames = list(frames)
        self._place = self._frames.index(frame)
        self._whose = whose
        self._label = label

    def compose(self) -> ComposeResult:
        yield FramePicture()
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        self._show()

    def _show(self) -> None:
        self.query_one(FramePicture).show(None, self._under, missing="…")
        self._look(self._frames[self._place])

    @property
    def _under(self) -> str:
        frame = self._frames[self._place]
        return f"{self._whose}: frame {self._place + 1} of {len(self._frames)}, {self._label(frame)}"

    @background_worker("Finding the picture")
    def _look(self, frame: int) -> None:
        onsite = host_of(self)
        onsite.call_later_from_anywhere(self._found, frame, preview_place_of(onsite.shoot, frame))

    def _found(self, frame: int, path: Path | None) -> None:
        if self.is_mounted and frame == self._frames[self._place]:
            self.query_one(FramePicture).show(path, self._under, missing="picture missing")

    def action_step(self, by: int) -> None:
        place = max(0, min(self._place + by, len(self._frames) - 1))
        if place != self._place:
            self._place = place
            self._show()

    def action_back(self) -> None:
        self.dismiss(self._frames[self._place])
