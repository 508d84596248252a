"""The app: it holds the shoot and switches between screens."""

from __future__ import annotations

from typing import ClassVar

from textual.app import App
from textual.binding import Binding, BindingType
from textual.screen import Screen

from onsite.store.shoot import Shoot
from onsite.tui.roster import RosterScreen
from onsite.tui.wrap import WrapScreen


class OnsiteApp(App[None]):
    """Everybody with their stage, and the frames that are loose."""

    TITLE = "onsite"
    CSS_PATH = "app.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f1", "switch_mode('roster')", "Roster"),
        Binding("f2", "switch_mode('wrap')", "Wrap"),
        Binding("q", "quit", "Quit"),
    ]
    MODES: ClassVar[dict[str, type[Screen[None]]]] = {"roster": RosterScreen, "wrap": WrapScreen}  # type: ignore[assignment]

    def __init__(self, shoot: Shoot) -> None:
        super().__init__()
        self.shoot = shoot
        self.sub_title = shoot.settings.name

    def on_mount(self) -> None:
        self.switch_mode("roster")
