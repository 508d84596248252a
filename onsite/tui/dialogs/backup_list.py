"""The backups of a shoot with what each holds, to go back to one of them."""

from __future__ import annotations

from typing import ClassVar
from zoneinfo import ZoneInfo

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Footer, Static

from onsite.store.backups import FOLDER, Backup, list_backups
from onsite.store.restore_backup import BackupContent, read_backup
from onsite.store.shoot import Shoot
from onsite.tui.background_workers import background_worker
from onsite.tui.dialogs.question_dialogs import ChoiceScreen
from onsite.tui.screen_host import host_of
from onsite.tui.widgets.virtual_list import Cell, Ink, VirtualList, cells_line

_COUNTED = ("people", "arrivals", "frames")
_MADE, _NUMBER = 19, 9  # cells of a backup's time, and of each number


class BackupListScreen(ModalScreen[Backup | None]):
    """Enter goes back to the backup under the cursor, after you confirm"""

    CSS = """
    BackupListScreen { align: center middle; background: $ground; }
    BackupListScreen > Vertical {
        width: 80; max-width: 100%; height: 80%; padding: 1 2; background: $raised;
    }
    BackupListScreen Static { height: auto; margin: 0 0 1 0; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "enter", "Go back to it"),  # the list handles the key itself
        Binding("escape", "dismiss", "Cancel"),
    ]

    def compose(self) -> ComposeResult:
        with Vertical():
            yield Static(Text("Go back to a backup: what does each hold?", "bold"), markup=False)
            yield Static(
                "The shoot's record is then as it was at that moment. What is recorded now is kept in a"
                " folder beside the backups. Pictures are not touched. Close all other stations first.",
                markup=False,
            )
            heading = f" {'made':<{_MADE}}" + "".join(f" {word:>{_NUMBER}}" for word in _COUNTED)
            yield Static(Text(heading, "bold"), markup=False)
            yield VirtualList[BackupContent](
                self._line, lambda content: content.backup.path, empty="reading the backups …"
            )
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        self.query_one(VirtualList).focus()
        self._read()

    @property
    def _shoot(self) -> Shoot:
        return host_of(self).shoot

    @property
    def _zone(self) -> ZoneInfo:
        return self._shoot.zone

    @background_worker("Reading the backups")
    def _read(self) -> None:
        contents = [read_backup(backup) for backup in list_backups(self._shoot.folder / FOLDER)]
        host_of(self).call_later_from_anywhere(self._show, contents)

    def _show(self, contents: list[BackupContent]) -> None:
        if self.is_mounted:
            self.query_one(VirtualList).show(contents, empty="There is no backup yet.")

    def _line(self, content: BackupContent, width: int, ink: Ink) -> Text:
        made = f"{content.backup.made.astimezone(self._zone):%Y-%m-%d %H:%M:%S}"
        if content.damage:
            cells = [Cell(made, _MADE, ink.quiet), Cell(f"! damaged: {content.damage}", 0, ink.alert)]
            return cells_line(width, cells, ink)
        counts = (content.people, content.arrivals, content.frames)
        numbers = [Cell(f"{count:,}", _NUMBER, ink.plain, right=True) for count in counts]
        return cells_line(width, [Cell(made, _MADE, ink.plain), *numbers, Cell("", 0, ink.plain)], ink)

    def action_enter(self) -> None:
        """Do what Enter does in the list, for a click on the footer."""
        self.query_one(VirtualList).action_choose()

    def on_virtual_list_selected(self, event: VirtualList.Selected[BackupContent]) -> None:
        content = event.item
        if content.damage:
            self.notify("This one is damaged. Choose another one.", severity="error", markup=False)
            return
        made = f"{content.backup.made.astimezone(self._zone):%H:%M on %d %B}"
        question = f"Go back to {made}? What was recorded since no longer counts. The screens open again."

        def answered(said: str | None) -> None:
            if said == "y":
                self.dismiss(content.backup)

        self.app.push_screen(ChoiceScreen(question, {"y": "yes, go back"}), answered)
