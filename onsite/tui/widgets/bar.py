"""The line at the top: the shoot, the modes with their keys, the station and the time."""

from __future__ import annotations

from typing import ClassVar

from rich.cells import cell_len
from rich.text import Text
from textual.widget import Widget

from onsite.times import format_clock_time
from onsite.tui.screen_host import host_of
from onsite.tui.widgets.cells import fit_cells
from onsite.words import shown

MODES = {
    "door": ("F1", "Door"),
    "set": ("F2", "Set"),
    "wrap": ("F3", "Wrap"),
    "board": ("F4", "Board"),
    "desk": ("F10", "Desk"),
}


class Bar(Widget):
    """Tells where one is, at which station, and what time it is."""

    DEFAULT_CSS = """
    Bar { height: 1; dock: top; background: $raised; color: $ink; }
    Bar > .bar--here { background: $mark; color: $on-mark; text-style: bold; }
    Bar > .bar--plain { background: $raised; color: $ink; }
    """
    COMPONENT_CLASSES: ClassVar[set[str]] = {"bar--here", "bar--plain"}

    def on_mount(self) -> None:
        self.set_interval(5, self.refresh)

    def render(self) -> Text:
        app = host_of(self)
        here, plain = self.get_component_rich_style("bar--here"), self.get_component_rich_style("bar--plain")
        tabs = Text(style=plain)
        for mode, (key, name) in MODES.items():
            tabs.append(f" {key} {name} ", here if mode == self.app.current_mode else plain)
        tabs.append(" F5 Help ", plain)
        right = f" {shown(app.station)}  {format_clock_time(app.shoot.now(), app.shoot.zone)} "
        room = self.size.width - tabs.cell_len - cell_len(right)
        name = fit_cells(f" {app.shoot.settings.name}", max(room, 0))
        return Text.assemble(tabs, (name, plain), (right, plain), no_wrap=True, overflow="crop")
