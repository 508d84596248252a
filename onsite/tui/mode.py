"""What the five modes have in common: the bar, the line of answers, the keys, and hearing of changes."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.message import Message
from textual.screen import Screen
from textual.widgets import Footer

from onsite.progress.everybody import StatusCache
from onsite.store.shoot import Shoot
from onsite.tui.screen_host import ScreenHost, host_of
from onsite.tui.widgets.bar import Bar
from onsite.tui.widgets.told import StatusLine


class StatusChanged(Message, bubble=False):
    """Something happened in the shoot, here or at another station: `people` stand differently; `matched`
    tells that frames were matched anew."""

    def __init__(self, people: frozenset[int], matched: bool) -> None:
        super().__init__()
        self.people = people
        self.matched = matched


class ModeScreen(Screen[None]):
    """A mode. It reads everything anew when it comes to the front, and what changed when told of it."""

    def __init__(self) -> None:
        super().__init__()
        # Textual would read all styles anew when the screen is first shown, a tenth of a second; they are
        # those that the app has read at its start, unless the theme changes later
        self._css_update_count = self.app._css_update_count

    def compose(self) -> ComposeResult:
        yield Bar()
        yield from self.body()
        yield StatusLine()
        yield Footer(show_command_palette=False)

    def body(self) -> ComposeResult:
        """What is between the bar and the line of answers."""
        raise NotImplementedError

    def renew(self, people: frozenset[int] | None, matched: bool) -> None:
        """Shows how things stand now; `people` are those who changed, None for all."""
        raise NotImplementedError

    def on_screen_resume(self) -> None:
        if self.onsite.ready:
            self.renew(None, True)

    def on_status_changed(self, message: StatusChanged) -> None:
        self.renew(message.people, message.matched)

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
