"""What the five modes have in common: the tabs at the top, the foot of the screen, the keys, and updates."""

from __future__ import annotations

from typing import ClassVar

from rich.cells import cell_len
from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.message import Message
from textual.screen import Screen
from textual.widget import Widget
from textual.widgets import Footer

from onsite.core.text import shown
from onsite.core.times import format_clock_time
from onsite.reconcile.frame_ownership import frames_of_person
from onsite.status.person_status import PersonStatus
from onsite.status.status_cache import StatusCache
from onsite.store.shoot import Shoot
from onsite.tui import key_grammar as keys
from onsite.tui.background_workers import background_worker
from onsite.tui.dialogs.full_screen import FrameScreen
from onsite.tui.screen_host import ScreenHost, host_of
from onsite.tui.widgets.status_line import StandingLine, StatusLine, WhatNext
from onsite.tui.widgets.virtual_list import fit_cells


class StatusChanged(Message, bubble=False):
    """Something happened in the shoot, here or at another station.

    `people` are the ids of the people whose status has changed; `matched` says whether frames were matched
    again.
    """

    def __init__(self, people: frozenset[int], matched: bool) -> None:
        super().__init__()
        self.people = people
        self.matched = matched


class ModeScreen(Screen[None]):
    """A mode. It reads everything when it comes to the front, and what has changed on StatusChanged."""

    BINDINGS: ClassVar[list[BindingType]] = [
        keys.PANEL.says("Next panel", show=False),
        keys.EXPLAIN.says("Help", show=False),
    ]
    SIGNS: ClassVar[tuple[tuple[str, str], ...]] = ()
    """Signs and words of the screen, each with what it means."""

    def __init__(self) -> None:
        super().__init__()
        self._titles: dict[str, str] = {}
        # Textual would parse all styles again when the screen is first shown, a tenth of a second. The app
        # has parsed them at its start; they change only with the theme.
        self._css_update_count = self.app._css_update_count

    def compose(self) -> ComposeResult:
        yield Bar()
        yield from self.body()
        yield WhatNext()
        yield StandingLine()
        yield StatusLine()
        yield Footer(show_command_palette=False)

    def body(self) -> ComposeResult:
        """The widgets between the bar and the status line."""
        raise NotImplementedError

    def renew(self, people: frozenset[int] | None, matched: bool) -> None:
        """Show the current state; `people` are the ids whose status has changed, None for all."""
        raise NotImplementedError

    @property
    def person_in_front(self) -> PersonStatus | None:
        """The person whom a form of one person proposes."""
        return None

    def on_screen_resume(self) -> None:
        self.show_looking_problem()
        if self.onsite.ready:
            self.renew(None, True)

    def on_status_changed(self, message: StatusChanged) -> None:
        self.renew(message.people, message.matched)

    def show_looking_problem(self) -> None:
        """Says that nothing new is read from the shoot, as long as that is so."""
        for line in self.query(StandingLine):
            line.show_problem(self.onsite.looking_problem)

    def name_panel(self, panel: str, text: str) -> None:
        """Set the title of a panel, given by its selector; an unchanged one is not drawn again."""
        if self._titles.get(panel) != text:
            self._titles[panel] = text
            self.query_one(panel).border_title = Content(shown(text))

    @background_worker("Reading the frames")
    def open_pictures_of(self, status: PersonStatus) -> None:
        """Open a person's frames full screen, or say that there is none."""
        with self.shoot.reading() as session:
            frames = frames_of_person(session, status.person.id)
        labels = {frame.frame: frame.name for frame in frames}
        self.onsite.call_later_from_anywhere(self._open_pictures, status.person.name, labels)

    def _open_pictures(self, name: str, labels: dict[int, str]) -> None:
        if labels:
            self.app.push_screen(FrameScreen(list(labels), next(iter(labels)), name, labels.__getitem__))
        else:
            self.status_line.show_message(f"{name}: no frame yet.")

    def say_next(self, text: str) -> None:
        """Say the one thing to do next, where the step is empty or finished; an empty text takes it away."""
        self.query_one(WhatNext).say(text)

    @property
    def onsite(self) -> ScreenHost:
        return host_of(self)

    @property
    def shoot(self) -> Shoot:
        return self.onsite.shoot

    @property
    def status_cache(self) -> StatusCache:
        return self.onsite.status_cache

    @property
    def status_line(self) -> StatusLine:
        """The line that answers what was pressed."""
        return self.query_one(StatusLine)


MODES = {
    "door": ("F1", "Door"),
    "set": ("F2", "Set"),
    "reconcile": ("F3", "Reconcile"),
    "board": ("F4", "Status"),
    "desk": ("F10", "Desk"),
}


class Bar(Widget):
    """The line at the top: the modes as tabs with their keys, the shoot, the station and the time."""

    DEFAULT_CSS = """
    Bar { height: 1; dock: top; background: $raised; color: $ink; }
    Bar > .bar--here { background: $mark-fill; color: $mark-text; text-style: $mark-style; }
    Bar > .bar--plain { background: $raised; color: $ink; }
    """
    COMPONENT_CLASSES: ClassVar[set[str]] = {"bar--here", "bar--plain"}

    def on_mount(self) -> None:
        self.set_interval(5, self.refresh)

    def on_click(self, event: events.Click) -> None:
        """Go to the mode whose tab was clicked, or open the help."""
        end = 0
        for name, text in _TABS.items():
            end += cell_len(text)
            if event.x < end:
                self.app.call_later(
                    self.app.run_action, "explain" if name == "help" else f"switch_mode('{name}')"
                )
                return

    def render(self) -> Text:
        app = host_of(self)
        here, plain = self.get_component_rich_style("bar--here"), self.get_component_rich_style("bar--plain")
        tabs = Text(style=plain)
        for name, text in _TABS.items():
            tabs.append(text, here if name == self.app.current_mode else plain)
        right = f"  {shown(app.station)}  {format_clock_time(app.shoot.now(), app.shoot.zone)} "
        room = self.size.width - tabs.cell_len - cell_len(right)
        name = fit_cells(app.shoot.settings.name if room >= _NAMED_FROM else "", max(room, 0), right=True)
        return Text.assemble(tabs, (name, plain), (right, plain), no_wrap=True, overflow="crop")


_NAMED_FROM = 12
"""Cells from which the shoot's name says something."""

_TABS = {mode: f" {key} {name} " for mode, (key, name) in MODES.items()} | {"help": " F5 Help "}
"""The text of each tab."""
