"""A person's whole history, from the list to now."""

from __future__ import annotations

from typing import ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Footer

from onsite.status.person_history import HistoryLine, history
from onsite.status.person_status import PersonStatus
from onsite.tui.background_workers import background_worker
from onsite.tui.screen_host import ScreenHost, host_of
from onsite.tui.widgets.person_panel import PersonPanel
from onsite.tui.widgets.virtual_list import Cell, Ink, VirtualList, cells_line


class HistoryScreen(ModalScreen[None]):
    """What happened with one person, in order"""

    CSS = """
    HistoryScreen { align: center middle; background: $ground; }
    HistoryScreen > Vertical { width: 100%; height: 100%; padding: 1 2; background: $ground; }
    HistoryScreen PersonPanel { height: auto; max-height: 12; border-left: none; }
    HistoryScreen .card--number { display: none; }
    HistoryScreen VirtualList { border-top: heavy $line; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "dismiss", "Back")]

    def __init__(self, status: PersonStatus) -> None:
        super().__init__()
        self._standing = status

    def compose(self) -> ComposeResult:
        with Vertical():
            yield PersonPanel(self.onsite.shoot.zone)
            yield VirtualList[HistoryLine](self._line, id, empty="…")
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        self.query_one(PersonPanel).show(self._standing)
        self._read()

    @background_worker("Reading the history")
    def _read(self) -> None:
        lines = history(self.onsite.shoot, self._standing.person.id)
        self.onsite.call_later_from_anywhere(self._show_lines, lines)

    def _show_lines(self, lines: list[HistoryLine]) -> None:
        if self.is_mounted:
            self.query_one(VirtualList).show(lines, empty="nothing yet")

    def _line(self, event: HistoryLine, width: int, ink: Ink) -> Text:
        at = event.at.astimezone(self.onsite.shoot.zone)
        when = f"{at.day} {at:%b} {at:%H:%M}"
        return cells_line(
            width, [Cell(when, 12, ink.quiet), Cell(event.text), Cell(event.station, 12, ink.quiet)], ink
        )

    @property
    def onsite(self) -> ScreenHost:
        return host_of(self)
