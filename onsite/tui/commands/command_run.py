"""A command while it runs, with its progress, and what it printed and made."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import ClassVar

from rich.text import Text
from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Footer, Static

from onsite.core.text import shown
from onsite.tui.commands.palette_command import CommandResult, PaletteCommand, RunSettings

_BAR = 40  # cells of the progress bar
_TICK = 0.2  # seconds between drawings of the progress


class CommandRunScreen(ModalScreen[CommandResult]):
    """Escape stops it while it runs, and closes its result."""

    CSS = """
    CommandRunScreen { align: center middle; background: $ground; }
    CommandRunScreen > Vertical {
        width: 100; max-width: 100%; height: auto; max-height: 100%; padding: 1 2; background: $raised;
    }
    CommandRunScreen Static { height: auto; }
    CommandRunScreen VerticalScroll { height: auto; max-height: 60vh; margin: 1 0; }
    CommandRunScreen #then { text-style: bold; }
    CommandRunScreen #made { color: $quiet; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "close", "Close"),
        Binding("o", "open", "Open what was made"),
        Binding("y", "agree", "Yes"),
        Binding("escape", "stop", "Stop, close"),
    ]

    def __init__(
        self,
        command: PaletteCommand,
        values: Mapping[str, str],
        shoot: Path | None,
        station: str = "",
        agreed: bool = True,
    ) -> None:
        """Unless it was `agreed` to, only what the command would do is shown, and it is asked."""
        super().__init__()
        self._rehearse = None if agreed else command.rehearse
        self._command = command
        self._values = values
        self._shoot = shoot
        self._station = station
        self._progress = (0, 0)
        self._stopping = False
        self._result: CommandResult | None = None

    def compose(self) -> ComposeResult:
        with Vertical():
            of = ", ".join(value for value in self._values.values() if value) if self._rehearse else ""
            title = f"{self._command.title}: {of}" if of else self._command.title
            yield Static(Text(shown(title), style="bold"), markup=False)
            yield Static("", id="progress", markup=False)
            with VerticalScroll():
                yield Static("", id="printed", markup=False)
            yield Static("", id="then", markup=False)
            yield Static("", id="made", markup=False)
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        self._show_progress()
        self.set_interval(_TICK, self._show_progress)
        columns = min(self.app.size.width, 100) - 6
        self._run_it(RunSettings(self._shoot, self._station, columns, self._step))

    @work(thread=True, exit_on_error=False)
    def _run_it(self, settings: RunSettings) -> None:
        result = (self._rehearse or self._command.run)(self._values, settings)
        self.app.call_later(self._done, result)

    def _step(self, done: int, total: int) -> None:
        """Take a step of the run, in its thread."""
        if self._stopping:
            raise KeyboardInterrupt
        self._progress = done, total

    def _show_progress(self) -> None:
        if self._result is not None or not self.is_mounted:
            return
        done, total = self._progress
        filled = _BAR * done // total if total else 0
        counted = f" {done:,} of {total:,}" if total else ""
        doing = "stopping …" if self._stopping else "running …"
        self.query_one("#progress", Static).update(
            Text(f"{'█' * filled}{'░' * (_BAR - filled)}{counted}  {doing}   Esc: stop")
        )

    def _done(self, result: CommandResult) -> None:
        if not self.is_attached:
            return
        self._result = result
        asks = self._rehearse is not None and not result.stopped
        head = "Stopped. What was done so far is kept." if result.stopped else ""
        if result.problem is not None:
            self.dismiss(result)
            return
        self.query_one("#progress", Static).update(head or ("Nothing is done yet." if asks else "Done."))
        self.query_one("#printed", Static).update(Text(result.text.rstrip()))
        if asks:
            self.query_one("#then", Static).update(Text(f"Y: {self._command.asks}.   Esc: no."))
        elif self._command.then and not result.stopped:
            self.query_one("#then", Static).update(Text(f"Next: {self._command.then}"))
        if result.made:
            listed = "\n".join(f"  {shown(str(path))}" for path in result.made)
            self.query_one("#made", Static).update(Text(f"O opens:\n{listed}"))
        self.query_one(VerticalScroll).focus()
        self.refresh_bindings()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002
        if action == "agree":
            return self._rehearse is not None and self._result is not None and not self._result.stopped
        if action == "close":  # Enter once too often must not stop a delivery
            return self._result is not None
        return action != "open" or bool(self._result is not None and self._result.made)

    def action_agree(self) -> None:
        """Have done what was shown."""
        if self._result is not None:
            self.dismiss(replace(self._result, agreed=True))

    def action_close(self) -> None:
        """Close the result."""
        self.dismiss(self._result)

    def action_stop(self) -> None:
        """Stop the run, or close its result."""
        if self._result is None:
            self._stopping = True
            self._show_progress()
        else:
            self.action_close()

    def action_open(self) -> None:
        """Open what was made in the program that this computer has for it."""
        if self._result is not None and self._result.made:
            self.app.open_url(self._result.made[0].absolute().as_uri())
