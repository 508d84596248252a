"""Which list to load, and then a look at it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from textual.app import App

from onsite.core.errors import Problem
from onsite.tui.commands.command_form import CommandFormScreen
from onsite.tui.commands.palette_command import CommandField, FieldKind
from onsite.tui.roster.list_screen import ListScreen
from onsite.tui.screen_host import ScreenHost

_FILE = CommandField("file", "file", FieldKind.PATH, about="CSV, TSV, XLSX, XLS or ODS.", required=True)


def choose_list(app: App[Any], host: ScreenHost) -> None:
    """Ask for the client's list, show how it is understood, and load it."""

    def loaded(said: str | None) -> None:
        if said:
            host.show_message(said)

    def chosen(values: dict[str, str] | None) -> None:
        if values is None:
            return
        path = Path(values["file"]).expanduser()
        if path.is_file():
            app.push_screen(ListScreen(host, path), loaded)
        else:
            host.show_message(Problem(f"There is no file {path}.", "Check its path."))

    about = "A newer version is loaded the same way: it says what was added, changed and withdrawn."
    app.push_screen(CommandFormScreen("Load the client's list", about, [_FILE]), chosen)
