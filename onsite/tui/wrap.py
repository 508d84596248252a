"""The wrap screen: the equation of frames, and what is loose and why."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, cast

from rich.text import Text
from textual import work
from textual.app import ComposeResult
from textual.screen import Screen
from textual.widgets import DataTable, Footer, Header, Static

from onsite.slate.lettering import shown
from onsite.wrap.current import wrap_now
from onsite.wrap.report import wrap_data

if TYPE_CHECKING:
    from onsite.tui.app import OnsiteApp


class WrapScreen(Screen[None]):
    """Loose frames with their reason and who may be on them."""

    def compose(self) -> ComposeResult:
        yield Header()
        yield Static("…", classes="counts", markup=False)
        yield DataTable(cursor_type="row", zebra_stripes=True)
        yield Footer()

    def on_mount(self) -> None:
        self.query_one(DataTable).add_columns("frames", "first", "why", "who it may be")

    def on_screen_resume(self) -> None:
        self.read()

    @work(thread=True, exclusive=True)
    def read(self) -> None:
        """Matches, aside of the screen."""
        shoot = cast("OnsiteApp", self.app).shoot
        data = wrap_data(shoot, wrap_now(shoot))
        self.app.call_from_thread(self.fill, data)

    def fill(self, data: dict[str, Any]) -> None:
        self.query_one(".counts", Static).update(data["equation"])
        table = self.query_one(DataTable)
        table.clear()
        for run in data["loose_runs"]:
            who = ", ".join(suggestion["name"] for suggestion in run["suggestions"][:3])
            cells = (str(len(run["frames"])), run["frames"][0], run["doubt"], who)
            table.add_row(*(Text(shown(cell)) for cell in cells))
