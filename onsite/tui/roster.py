"""The roster screen: everybody with their stage."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from rich.text import Text
from textual import work
from textual.app import ComposeResult
from textual.screen import Screen
from textual.widgets import DataTable, Footer, Header, Static

from onsite.progress.stage import Standing, count_stages, standings
from onsite.slate.lettering import shown
from onsite.times import clock_time

if TYPE_CHECKING:
    from onsite.tui.app import OnsiteApp


class RosterScreen(Screen[None]):
    """Everybody on the roster, with number, stage, arrival and frames."""

    def compose(self) -> ComposeResult:
        yield Header()
        yield Static("…", classes="counts", markup=False)
        yield DataTable(cursor_type="row", zebra_stripes=True)
        yield Footer()

    def on_mount(self) -> None:
        self.query_one(DataTable).add_columns("number", "name", "group", "stage", "arrived", "frames")

    def on_screen_resume(self) -> None:
        self.read()

    @work(thread=True, exclusive=True)
    def read(self) -> None:
        """Reads how everybody stands, aside of the screen."""
        everybody = standings(cast("OnsiteApp", self.app).shoot)
        self.app.call_from_thread(self.fill, everybody)

    def fill(self, everybody: list[Standing]) -> None:
        shoot = cast("OnsiteApp", self.app).shoot
        stages = count_stages(everybody)
        self.query_one(".counts", Static).update(
            "   ".join(f"{count} {stage}" for stage, count in stages.items())
        )
        table = self.query_one(DataTable)
        table.clear()
        for s in everybody:
            cells = (
                str(s.person.sequence or ""),
                s.person.name,
                s.person.group,
                f"{s.stage} (withdrawn)" if s.person.withdrawn else s.stage,
                clock_time(s.arrived, shoot.zone) if s.arrived else "",
                str(s.frames or ""),
            )
            table.add_row(*(Text(shown(cell)) for cell in cells))
