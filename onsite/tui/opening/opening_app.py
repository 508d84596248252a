"""The app that opens outside a shoot, and ends with what was chosen."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from pathlib import Path
from typing import ClassVar

from rich.text import Text
from textual.app import App, ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.widgets import Footer, Static

from onsite.core.errors import Problem
from onsite.core.text import shown
from onsite.store.settings import SETTINGS_FILE, read_settings
from onsite.tui import themes
from onsite.tui.commands.command_form import CommandFormScreen
from onsite.tui.commands.command_run import CommandRunScreen
from onsite.tui.commands.palette_command import CommandField, CommandResult, FieldKind, PaletteCommand
from onsite.tui.key_grammar import key_text
from onsite.tui.widgets.status_line import StatusLine
from onsite.tui.widgets.virtual_list import Cell, Ink, VirtualList, cells_line


class Beginning(StrEnum):
    """What somebody begins with."""

    MAKE = "Make a shoot"
    OPEN = "Open a shoot"
    JOIN = "Join a shoot from another computer"
    DEMO = "Look around in a demo"


@dataclass(frozen=True, slots=True)
class Chosen:
    """What was chosen, and the folder of the shoot, if it is one."""

    what: Beginning
    folder: Path | None = None


@dataclass(frozen=True, slots=True)
class _Choice:
    """A line to choose: its title, what it does, and a shoot's folder where it opens one."""

    what: Beginning
    title: str
    about: str
    folder: Path | None = None


_FOLDER = CommandField("folder", "folder", FieldKind.PATH, about="The folder of a shoot.", required=True)


class OpeningApp(App[Chosen]):
    """Arrows choose, Enter takes it"""

    TITLE = "onsite"
    CSS_PATH = "../app.tcss"
    CSS = """
    OpeningApp Screen { align: center middle; }
    OpeningApp #beginning { width: 90; max-width: 100%; height: auto; max-height: 100%; padding: 1 2; }
    OpeningApp #beginning Static { height: auto; margin: 0 0 1 0; }
    OpeningApp #beginning StatusLine { margin: 0; }
    OpeningApp VirtualList { height: auto; max-height: 20; }
    """
    ENABLE_COMMAND_PALETTE = False
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape,ctrl+q", "quit", "Quit", key_display="Esc")]

    def __init__(self, commands: Sequence[PaletteCommand], here: Path) -> None:
        """`commands` make and join a shoot, each called as its Beginning; those in the folder `here` are
        offered."""
        super().__init__()
        self._commands = {command.title: command for command in commands}
        self._here = here
        looks, _ = themes.all_themes()
        for look in looks.values():
            self.register_theme(look.theme())
        chosen = themes.chosen_theme()
        self.theme = chosen if chosen in looks else themes.DEFAULT

    def compose(self) -> ComposeResult:
        with Vertical(id="beginning"):
            yield Static(Text("onsite: portraits of everybody, each under the right name", style="bold"))
            yield Static("What do you want to do?", markup=False)
            yield VirtualList[_Choice](_drawn, lambda line: (line.title, line.folder))
            yield StatusLine()
        yield Footer(show_command_palette=False)

    def get_key_display(self, binding: Binding) -> str:
        """The key as the footer shows it."""
        return key_text(binding)

    def on_mount(self) -> None:
        lines = list(_lines(self._here))
        choices = self.query_one(VirtualList)
        choices.styles.height = len(lines)
        choices.show(lines)
        choices.focus()

    def on_virtual_list_selected(self, event: VirtualList.Selected[_Choice]) -> None:
        line = event.item
        if line.what is Beginning.DEMO or line.folder is not None:
            self.exit(Chosen(line.what, line.folder))
        elif line.what in self._commands:
            self._fill_in(line.what)
        else:
            self.push_screen(CommandFormScreen("Open a shoot", "Choose its folder.", [_FOLDER]), self._opened)

    def _opened(self, values: dict[str, str] | None) -> None:
        if values is None:
            return
        folder = Path(values["folder"]).expanduser()
        try:
            read_settings(folder)
        except Problem as problem:
            self.query_one(StatusLine).show_problem(Problem(problem.what, "Choose the folder of a shoot."))
        else:
            self.exit(Chosen(Beginning.OPEN, folder))

    def _fill_in(
        self, what: Beginning, values: dict[str, str] | None = None, problem: Problem | None = None
    ) -> None:
        command = self._commands[what]
        proposed = {"folder": f"{self._here}/", "date": date.today().isoformat()}
        form = CommandFormScreen(
            command.title, command.about, command.fields, values=values or proposed, problem=problem
        )

        def made(result: CommandResult | None) -> None:
            if result is not None and result.problem is not None:
                self._fill_in(what, values, result.problem)
            elif result is not None and result.made:
                self.exit(Chosen(what, result.made[0]))

        def filled(given: dict[str, str] | None) -> None:
            nonlocal values
            if (values := given) is not None:
                self.push_screen(CommandRunScreen(command, values, None), made)

        self.push_screen(form, filled)


def _lines(here: Path) -> Iterator[_Choice]:
    yield _Choice(Beginning.MAKE, Beginning.MAKE, "a folder for its list and its record")
    for folder in _shoots_in(here):
        try:
            name = read_settings(folder).name
        except Problem:
            continue
        yield _Choice(Beginning.OPEN, f"Open {name}", str(folder.relative_to(here)), folder)
    yield _Choice(Beginning.OPEN, "Open another shoot", "choose its folder")
    yield _Choice(Beginning.JOIN, Beginning.JOIN, "the address of its database")
    yield _Choice(Beginning.DEMO, Beginning.DEMO, "an invented festival, in the middle of its day")


def _shoots_in(here: Path) -> Sequence[Path]:
    """The shoots in a folder, the last changed first."""
    try:
        found = [path.parent for path in here.glob(f"*/{SETTINGS_FILE}")]
        return sorted(found, key=lambda folder: folder.stat().st_mtime, reverse=True)
    except OSError:
        return []


def _drawn(line: _Choice, width: int, ink: Ink) -> Text:
    return cells_line(
        width,
        [Cell(shown(line.title), max(width * 9 // 20, 36), ink.strong), Cell(line.about, 0, ink.quiet)],
        ink,
    )
