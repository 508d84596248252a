"""A person's whole history, from the list to now."""

from __future__ import annotations

from typing import ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen

from onsite.progress.history import Told, history
from onsite.progress.stage import Standing
from onsite.tui.screen_host import ScreenHost, host_of
from onsite.tui.widgets.card import PersonCard
from onsite.tui.widgets.cells import Cell, Ink, line
from onsite.tui.widgets.roll import Roll
from onsite.tui.workers import worker


class HistoryScreen(ModalScreen[None]):
    """What happened with one person, in order"""

    CSS = """
    HistoryScreen { align: center middle; background: $ground; }
    HistoryScreen > Vertical { width: 100%; height: 100%; padding: 1 2; background: $ground; }
    HistoryScreen PersonCard { height: 12; border-left: none; }
    HistoryScreen Roll { border-top: heavy $line; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "dismiss", "Back")]

    def __init__(self, standing: Standing) -> None:
        super().__init__()
        self._standing = standing

    def compose(self) -> ComposeResult:
        with Vertical():
            yield PersonCard(self.onsite.shoot.zone)
            yield Roll[Told](self._line, id, empty="…")

    def on_mount(self) -> None:
        self.query_one(PersonCard).show(self._standing)
        self._read()

    @worker("Reading the history")
    def _read(self) -> None:
        told = history(self.onsite.shoot, self._standing.person.id)
        self.onsite.call_later_from_anywhere(self._have, told)

    def _have(self, told: list[Told]) -> None:
        if self.is_mounted:
            self.query_one(Roll).show(told, empty="nothing yet")

    def _line(self, told: Told, width: int, ink: Ink) -> Text:
        at = told.at.astimezone(self.onsite.shoot.zone)
        when = f"{at.day} {at:%b} {at:%H:%M}"
        return line(
            width, [Cell(when, 12, ink.quiet), Cell(told.text), Cell(told.station, 12, ink.quiet)], ink
        )

    @property
    def onsite(self) -> ScreenHost:
        return host_of(self)
