"""Full screens: slates to be photographed, a ticket's code to be copied, and pictures of frames.

Slate and code look different on purpose: only the slate is part of the record by which frames get names.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from typing import ClassVar

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Center, Vertical
from textual.screen import ModalScreen
from textual.widgets import Footer, Static

from onsite.checkin.station_door import StationDoor
from onsite.core.errors import NoServer, Problem
from onsite.core.text import shown
from onsite.core.times import format_clock_time
from onsite.reconcile.shoot_times import outside_hours_notice
from onsite.roster.find_people import RosterPerson
from onsite.slates.clock_slate import ClockSlate
from onsite.slates.terminal_slate import slate_text
from onsite.store.shoot import Shoot
from onsite.tui.background_workers import background_worker
from onsite.tui.screen_host import host_of
from onsite.tui.widgets.frame_picture import FramePicture
from onsite.tui.widgets.pictures_side_by_side import preview_place_of


class _SymbolView(Static):
    """A person's code as a symbol, as large as fits: dark on white, whatever the theme."""

    def __init__(self, person: RosterPerson) -> None:
        super().__init__("", markup=False)
        self._someone = person

    def draw(self, columns: int, rows: int) -> bool:
        """Draw the symbol; where there is no room for a readable one, show the reason and return False."""
        self.remove_class("-told")
        try:
            self.update(slate_text(self._someone.code, self._someone.name, columns, rows))
        except Problem as problem:
            self.add_class("-told")
            self.update(Text(f"{shown(problem.what)}\n{shown(problem.remedy)}", style="#000000 on #ffffff"))
            return False
        return True


class SlateScreen(ModalScreen[None]):
    """Somebody's slate: the whole screen is white, to be photographed. Any key closes it."""

    CSS = """
    SlateScreen { align: center middle; background: #ffffff; }
    SlateScreen Static { width: auto; height: auto; background: #ffffff; color: #000000; }
    SlateScreen Static.-told { width: 100%; }
    """

    def __init__(self, person: RosterPerson, shown: Callable[[RosterPerson], None]) -> None:
        """`shown` is called once the slate is on the screen."""
        super().__init__()
        self._someone = person
        self._shown = shown

    def compose(self) -> ComposeResult:
        yield _SymbolView(self._someone)

    def on_mount(self) -> None:
        if self._draw():
            self.call_after_refresh(self._shown, self._someone)

    def on_key(self, event: events.Key) -> None:
        event.stop()
        self.dismiss()

    def on_resize(self) -> None:
        self._draw()

    def _draw(self) -> bool:
        return self.query_one(_SymbolView).draw(*self.app.size)


class ClockScreen(ModalScreen[None]):
    """The door's time, anew every second: the whole screen is white, to be photographed with each camera"""

    CSS = """
    ClockScreen { align: center middle; background: #ffffff; }
    ClockScreen Static { width: auto; height: auto; background: #ffffff; color: #000000; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,enter,space,c", "dismiss", "Close"),
    ]

    def __init__(self, shoot: Shoot) -> None:
        super().__init__()
        self._shoot = shoot

    def compose(self) -> ComposeResult:
        yield Static("", markup=False)

    def on_mount(self) -> None:
        self._tick()

    def on_resize(self) -> None:
        self._draw()

    def _tick(self) -> None:
        """Draw, and again at the beginning of the next second."""
        now = self._draw()
        self.set_timer(1 - now.microsecond / 1_000_000, self._tick)

    def _draw(self) -> datetime:
        now = self._shoot.now()
        try:
            text = ClockSlate(self._shoot.mark, now).text(*self.app.size)
        except Problem as problem:
            text = Text(f"{shown(problem.what)}\n{shown(problem.remedy)}", style="#000000 on #ffffff")
        self.query_one(Static).update(text)
        return now


class CodeScreen(ModalScreen[None]):
    """Somebody's ticket code in a frame: for whoever lost their ticket, and no slate"""

    CSS = """
    CodeScreen { align: center middle; background: $ground; }
    CodeScreen Vertical {
        width: 100%; height: 100%; align: center middle; border: heavy $line; background: $ground;
    }
    CodeScreen Static { width: 100%; height: auto; text-align: center; background: $ground; color: $ink; }
    CodeScreen .title { text-style: $mark-style; color: $mark-text; background: $mark-fill; }
    CodeScreen.-low Vertical { border: none; }
    CodeScreen.-low .foot { display: none; }
    CodeScreen _SymbolView { width: auto; text-align: left; }
    CodeScreen _SymbolView.-told { width: 100%; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,enter,space", "dismiss", "Close"),
    ]

    _AROUND: ClassVar = (
        2,
        4,
    )  # columns and rows of border and texts; low screens have room for the title only
    _LOW: ClassVar = 22

    def __init__(self, person: RosterPerson) -> None:
        super().__init__()
        self._someone = person

    def compose(self) -> ComposeResult:
        with Vertical():
            title = f"Ticket code of {self._someone.name}: a phone may take a picture of it"
            yield Static(Text(shown(title)), classes="title", markup=False)
            with Center():
                yield _SymbolView(self._someone)
            yield Static(
                "Not the slate, and not recorded: F6 shows the slate.   Esc: close",
                classes="foot",
                markup=False,
            )

    def on_mount(self) -> None:
        self._draw()

    def on_resize(self) -> None:
        self._draw()

    def _draw(self) -> None:
        size, low = self.app.size, self.app.size.height < self._LOW
        columns, rows = (0, 1) if low else self._AROUND
        self.set_class(low, "-low")
        self.query_one(_SymbolView).draw(size.width - columns, size.height - rows)


def record_slate(door: StationDoor, person: RosterPerson, station: str) -> str:
    """Record that a slate is on a screen now, and return the message. Takes as long as the store."""
    at = door.slate_shown(person, station)
    outside = ""
    with suppress(NoServer):
        outside = outside_hours_notice(door.shoot, at)
    return f"{person.name}: slate shown {format_clock_time(at, door.shoot.zone)}. {outside}".rstrip()


class FrameScreen(ModalScreen[int]):
    """A frame as large as the terminal allows, and the others of its run"""

    CSS = """
    FrameScreen { background: $ground; }
    FrameScreen FramePicture { width: 100%; height: 1fr; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "step(-1)", "Frame before"),
        Binding("right", "step(1)", "Frame after"),
        Binding("escape,enter,space,f", "back", "Back", key_display="Esc"),
    ]

    def __init__(self, frames: Sequence[int], frame: int, whose: str, label: Callable[[int], str]) -> None:
        """`whose` names the person, for the line under the picture; `label` formats a frame's id."""
        super().__init__()
        self._frames = list(frames)
        self._place = self._frames.index(frame)
        self._whose = whose
        self._label = label

    def compose(self) -> ComposeResult:
        yield FramePicture()
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        self._show()

    def _show(self) -> None:
        self.query_one(FramePicture).show(None, self._under, missing="…")
        self._look(self._frames[self._place])

    @property
    def _under(self) -> str:
        frame = self._frames[self._place]
        return f"{self._whose}: frame {self._place + 1} of {len(self._frames)}, {self._label(frame)}"

    @background_worker("Finding the picture")
    def _look(self, frame: int) -> None:
        onsite = host_of(self)
        onsite.call_later_from_anywhere(self._found, frame, preview_place_of(onsite.shoot, frame))

    def _found(self, frame: int, path: Path | None) -> None:
        if self.is_mounted and frame == self._frames[self._place]:
            self.query_one(FramePicture).show(path, self._under, missing="picture missing")

    def action_step(self, by: int) -> None:
        place = max(0, min(self._place + by, len(self._frames) - 1))
        if place != self._place:
            self._place = place
            self._show()

    def action_back(self) -> None:
        self.dismiss(self._frames[self._place])
