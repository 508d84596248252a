"""The part of the app that screens and widgets may use."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Protocol, TypeVar, cast

from textual.dom import DOMNode

from onsite.checkin.station_door import StationDoor
from onsite.core.errors import Problem
from onsite.status.status_cache import StatusCache
from onsite.store.shoot import Shoot
from onsite.tui.background_folder_watch import FolderWatching
from onsite.tui.themes import ScreenTheme

T = TypeVar("T")


class ScreenHost(Protocol):
    """The app, as screens see it."""

    shoot: Shoot
    station: str
    ready: bool
    status_cache: StatusCache
    watching: FolderWatching

    @property
    def screen_theme(self) -> ScreenTheme: ...

    @property
    def door(self) -> StationDoor: ...

    @property
    def cannot_match(self) -> bool: ...

    @property
    def looking_problem(self) -> Problem | None: ...

    @property
    def name_in_front(self) -> str: ...

    def start(self, title: str) -> None: ...

    def write(self, work: Callable[[], T], then: Callable[[T], None] | None = None) -> None: ...

    def show_message(self, said: str | Problem) -> None: ...

    def show_worker_message(self, said: str | Problem) -> None: ...

    def show_message_from_anywhere(self, said: str | Problem) -> None: ...

    def call_later_from_anywhere(self, function: Callable[..., None], *arguments: Any) -> None: ...


def host_of(node: DOMNode) -> ScreenHost:
    """The app that `node` belongs to."""
    return cast("ScreenHost", node.app)
