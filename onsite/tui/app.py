"""The app: holds the shoot, switches between modes, and passes changes on to the screens in front."""

from __future__ import annotations

import platform
import re
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future
from functools import partial
from pathlib import PurePath
from typing import TYPE_CHECKING, Any, ClassVar, TypeVar

from textual.app import App
from textual.binding import Binding, BindingType
from textual.screen import Screen

from onsite.checkin.station_door import StationDoor
from onsite.core.errors import Problem
from onsite.status.status_cache import StatusCache
from onsite.store.backups import Backup
from onsite.store.shoot import Shoot
from onsite.tui import themes
from onsite.tui.background_folder_watch import FolderWatching, WatchChanged
from onsite.tui.background_updates import BackgroundUpdates, WriteQueue
from onsite.tui.board.board_screen import BoardScreen
from onsite.tui.commands.command_palette import EverydayNames, PaletteEntry
from onsite.tui.commands.palette_command import PaletteCommand
from onsite.tui.commands.start_command import start_command
from onsite.tui.desk.desk_screen import DeskScreen
from onsite.tui.dialogs.backup_list import BackupListScreen
from onsite.tui.dialogs.key_help import HelpScreen
from onsite.tui.dialogs.theme_preview import ThemePreviewScreen
from onsite.tui.dialogs.things_to_try import ThingsToTryScreen
from onsite.tui.door.door_forms import DoorForms
from onsite.tui.door.door_screen import DoorScreen
from onsite.tui.key_grammar import key_text
from onsite.tui.mode_screen import MODES, ModeScreen, StatusChanged
from onsite.tui.reconcile.reconcile_screen import ReconcileScreen
from onsite.tui.roster.list_screen import choose_list
from onsite.tui.screen_host import ScreenHost
from onsite.tui.set.set_screen import SetScreen
from onsite.tui.thread_retries import worker_problem
from onsite.tui.widgets.status_line import StatusLine

T = TypeVar("T")


class OnsiteApp(App[None]):
    """The screens of the working day for one shoot and one station."""

    TITLE = "onsite"
    CSS_PATH: ClassVar[list[str | PurePath]] = [  # read at the start, so that opening a mode reads none
        "app.tcss",
        *(f"{mode}/screen.tcss" for mode in ("door", "set", "reconcile", "board", "desk")),
    ]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f1", "switch_mode('door')", "Door", show=False, priority=True),
        Binding("f2", "switch_mode('set')", "Set", show=False, priority=True),
        Binding("f3", "switch_mode('reconcile')", "Reconcile", show=False, priority=True),
        Binding("f4", "switch_mode('board')", "Status", show=False, priority=True),
        # some terminals open a menu of their own with F10; Ctrl+G does the same and is free in every field
        Binding("f10,ctrl+g", "switch_mode('desk')", "Desk", show=False, priority=True),
        Binding("f5", "explain", "Help", show=False, priority=True),
        Binding("ctrl+q", "quit", "Quit", show=False, priority=True),
    ]
    COMMANDS: ClassVar[set[Any]] = {EverydayNames}
    MODES: ClassVar[dict[str, type[Screen[None]]]] = {  # type: ignore[assignment]
        "door": DoorScreen,
        "set": SetScreen,
        "reconcile": ReconcileScreen,
        "board": BoardScreen,
        "desk": DeskScreen,
    }

    def __init__(
        self,
        shoot: Shoot,
        station: str = "",
        mode: str = "door",
        commands: Sequence[PaletteCommand] = (),
        things_to_try: Sequence[str] = (),
        is_new: bool = False,
        said: str | Problem = "",
        last_known: Shoot | None = None,
    ) -> None:
        """`commands` are found in the palette; `things_to_try` are shown first, each a sentence. A shoot that
        `is_new` begins with its list; `said` is what was done before the screens opened. `last_known` is read
        first, where the shoot's server is gone."""
        super().__init__()
        self._commands = commands
        self._things_to_try = things_to_try
        self._is_new = is_new
        self._last_known = last_known
        self._said = said
        self.going_back: Backup | None = None
        """The backup that the shoot is to go back to, now that the screens are closed."""
        self.goes_to_another = False
        """Whether another shoot is to be made or opened, now that the screens are closed."""
        self.shoot = shoot
        self.station = station or platform.node()
        self.status_cache = StatusCache()
        self.ready = False
        self.failed: Exception | None = None
        self.screen_themes, self._theme_problems = themes.all_themes()
        self._writes = WriteQueue()
        self._first_mode = mode
        self._live = BackgroundUpdates(shoot, self.status_cache, self._heard, self.show_message_from_anywhere)
        self.watching = FolderWatching(shoot, self.station, self._watched, self.show_message_from_anywhere)
        for look in self.screen_themes.values():
            self.register_theme(look.theme())
        chosen = themes.chosen_theme()
        self.theme = chosen if chosen in self.screen_themes else themes.DEFAULT

    def get_key_display(self, binding: Binding) -> str:
        """The key as the footer shows it."""
        return key_text(binding)

    def on_mount(self) -> None:
        self.theme_changed_signal.subscribe(self, lambda theme: themes.choose_theme(theme.name))
        self.mode_change_signal.subscribe(self, self._mode_changed)
        self.switch_mode(self._first_mode)
        if self._things_to_try:
            self.call_after_refresh(self.action_things_to_try)
        if self._is_new:
            self.call_after_refresh(self.action_load_list)
        if self._last_known is not None:
            self.status_cache.catch_up(self._last_known)
            known = [status.person for status in self.status_cache.statuses.values()]
            for arrival in self.door.kept_arrivals(known):
                self.status_cache.arrived(arrival)
            self.call_after_refresh(self._carry, frozenset(), True)
        self._live.start()
        self.write(self.watching.resume)
        if self._said:
            self.call_after_refresh(self.show_message, self._said)
        for problem in self._theme_problems:
            self.call_after_refresh(self.show_message, problem)

    def on_unmount(self) -> None:
        self._writes.finish()
        self.watching.close()
        self._live.stop()

    @property
    def screen_theme(self) -> themes.ScreenTheme:
        """The theme in use."""
        return self.screen_themes.get(self.theme) or self.screen_themes[themes.DEFAULT]

    def write(self, work: Callable[[], T], then: Callable[[T], None] | None = None) -> None:
        """Queue a write. `then` gets its result; a Problem is shown on the screen in front."""
        self._writes.do(work).add_done_callback(
            lambda written: self.call_later_from_anywhere(self._written, written, then)
        )

    def call_later_from_anywhere(self, function: Callable[..., None], *arguments: Any) -> None:
        """Call `call_later` from any thread, also after the screens are closed."""
        if self.is_running:
            self.call_later(function, *arguments)

    @property
    def door(self) -> StationDoor:
        """The door of this station, also while its server is gone."""
        return self._live.door

    @property
    def cannot_match(self) -> bool:
        """Whether the last attempt to match the frames failed."""
        return self._live.cannot_match

    @property
    def looking_problem(self) -> Problem | None:
        """Why nothing new is read from the shoot at present; None where it is."""
        return self._live.looking_problem

    def _written(self, written: Future[T], then: Callable[[T], None] | None) -> None:
        try:
            outcome = written.result()
        except Problem as problem:
            self.show_message(problem)
        except Exception as error:  # a write is done in full or not at all
            self.show_message(worker_problem("Saving this", error, "Nothing was saved. Do it again."))
        else:
            if then is not None:
                then(outcome)
        self._live.look()

    def show_message_from_anywhere(self, said: str | Problem) -> None:
        """Call `show_message` from any thread, also after the screens are closed."""
        self.call_later_from_anywhere(self.show_message, said)

    def show_worker_message(self, said: str | Problem) -> None:
        """`show_message_from_anywhere` for a worker of a screen. While nothing new is read from the shoot, it
        does not say that the worker works again."""
        if isinstance(said, Problem) or self.looking_problem is None:
            self.show_message_from_anywhere(said)

    def _in_everyday_words(self, text: str) -> str:
        """A text in which commands of the command line are called by their titles."""
        for command in sorted(self._commands, key=lambda command: -len(command.line)):
            with_arguments = rf"onsite {re.escape(command.line)}\b(?: (?!or\b)[^ ;.]+)*"
            text = re.sub(with_arguments, f"Ctrl+P “{command.title}”", text)
        return text

    def show_message(self, said: str | Problem) -> None:
        """Show a message or a problem on the frontmost screen that has a status line.

        A screen in front without a status line gets a problem as a notification too. Commands that a remedy
        names are called as the palette calls them.
        """
        for screen in self.screen_stack:
            if isinstance(screen, ModeScreen):
                screen.show_looking_problem()
        if str(said) == str(self.looking_problem):
            return  # it stands on the screen until it is over
        if isinstance(said, Problem):
            said = Problem(said.what, self._in_everyday_words(said.remedy))
            if not self.screen.query(StatusLine):
                self.notify(f"{said.what}\n{said.remedy}".strip(), severity="error", markup=False)
        for screen in reversed(self.screen_stack):
            for line in screen.query(StatusLine):
                line.show_problem(said) if isinstance(said, Problem) else line.show_message(said)
                return

    def _handle_exception(self, error: Exception) -> None:
        """Close the screens on an unexpected error and keep it in `failed`; headless, raise it."""
        if self.is_headless:
            super()._handle_exception(error)
        else:
            self.failed = self.failed or error
            self.exit()

    def _heard(self, people: frozenset[int], matched: bool) -> None:
        self.call_later_from_anywhere(self._carry, people, matched)

    def _watched(self, landed: bool) -> None:
        if landed:
            self._live.look()
        self.call_later_from_anywhere(self._carry_watched)

    def _carry_watched(self) -> None:
        for screen in self.screen_stack:
            screen.post_message(WatchChanged())

    def _carry(self, people: frozenset[int], matched: bool) -> None:
        """Pass a change on to the screens in front; the others read everything when they get there."""
        first, self.ready = not self.ready, True
        for screen in self.screen_stack:
            if first and isinstance(screen, ModeScreen):
                screen.renew(None, True)
            else:
                screen.post_message(StatusChanged(people, matched))

    def _mode_changed(self, mode: str) -> None:
        self._live.at_reconcile = mode == "reconcile"

    def action_explain(self) -> None:
        """Open the help of the screen in front, or close it."""
        if isinstance(self.screen, HelpScreen):
            self.pop_screen()
        else:
            self.push_screen(HelpScreen(self.screen))

    def action_things_to_try(self) -> None:
        self.push_screen(ThingsToTryScreen(self._things_to_try))

    def palette_entries(self) -> Iterator[PaletteEntry]:
        """Everything that is found by name: modes, commands, themes."""
        for mode, say in (
            ("door", "check people in"),
            ("set", "slates, frames as they land, warnings: no slate, no flash, too dark, not sharp"),
            ("reconcile", "frames without a settled name"),
            ("board", "everybody with their stage"),
            ("desk", "who waits for what, batches, reminders, picks"),
        ):
            yield PaletteEntry(MODES[mode][1], say, f"{mode}, {say}", partial(self.switch_mode, mode))
        for command in self._commands:
            call = partial(self._start_command, command)
            yield PaletteEntry(command.title, command.about, command.words, call, command.often)
        about = "name, group, note, whether they are published; of the person in front"
        words = "correct, rename, spelling, wrong name, change, consent, publish, withdraw"
        yield PaletteEntry("Correct a person", about, words, self.action_correct_person, often=4)
        about = "close this one; make, open or join another, or the demo"
        words = "new, make a shoot, begin, open a shoot, join from another computer, demo, try, example"
        yield PaletteEntry("Another shoot", about, words, self.action_another_shoot)
        if self._things_to_try:
            yield PaletteEntry("Three things to try", "in this demo", "demo", self.action_things_to_try)
        yield PaletteEntry("Themes", "see each and choose", "colours", self.action_preview_themes)
        for name in self.screen_themes:
            call = partial(self.use_theme, name)
            yield PaletteEntry(f"Theme: {name}", "change the colours", "colours, dark, light", call)
        yield PaletteEntry("Help", "the keys of this screen", "explain, keys", self.action_explain)
        yield PaletteEntry("Quit", "close the screens; everything is saved", "exit, end", self.action_quit)

    @property
    def name_in_front(self) -> str:
        """The name of the person in front, or their key where another has that name; empty for nobody."""
        modes = (screen for screen in reversed(self.screen_stack) if isinstance(screen, ModeScreen))
        status = next((mode.person_in_front for mode in modes), None)
        if status is None:
            return ""
        name = status.person.name
        several = sum(other.person.name == name for other in self.status_cache.statuses.values()) > 1
        return status.person.key if several else name

    def start(self, title: str) -> None:
        """Start the command of this everyday name, as the palette does."""
        for command in self._commands:
            if command.title == title:
                self._start_command(command)

    def _start_command(self, command: PaletteCommand) -> None:
        if command.by is None:
            start_command(self, self, command)
            return
        mode, action = command.by
        if mode:
            self.switch_mode(mode)
        self.call_after_refresh(lambda: self.run_action(action, self.screen if mode else self))

    def action_load_list(self) -> None:
        choose_list(self, self)

    def action_go_back(self) -> None:
        """Show the backups, and close the screens for the one that is chosen."""
        if self.shoot.settings.store:
            remedy = "Go back to a backup of the server."
            self.show_message(Problem("This shoot's store is a PostgreSQL server.", remedy))
        else:
            self.push_screen(BackupListScreen(), self._go_back)

    def _go_back(self, backup: Backup | None) -> None:
        if backup is not None:
            self.going_back = backup
            self.exit()

    def action_correct_person(self) -> None:
        """Open the form of the person in front, in whatever mode that is."""
        mode = self.screen
        status = mode.person_in_front if isinstance(mode, ModeScreen) else None
        if isinstance(mode, ModeScreen) and status is not None:
            DoorForms(mode).correct(status)
        else:
            self.show_message(Problem("Nobody is selected.", "Choose a person at F1, F4 or F10."))

    def action_another_shoot(self) -> None:
        self.goes_to_another = True
        self.exit()

    def action_preview_themes(self) -> None:
        self.push_screen(ThemePreviewScreen(list(self.screen_themes)))

    def use_theme(self, theme: str) -> None:
        """Change the theme and save it as the choice for the next time."""
        self.theme = theme


if TYPE_CHECKING:

    def _as_host(app: OnsiteApp) -> ScreenHost:
        """Let the type checker verify that the app implements ScreenHost."""
        return app
