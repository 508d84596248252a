"""What a screen or a widget may use of the app, and nothing else."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Protocol, TypeVar, cast

from textual.dom import DOMNode

from onsite.problems import Problem
from onsite.progress.everybody import Everybody
from onsite.store.shoot import Shoot
from onsite.tui.set.watching import Watching
from onsite.tui.themes import Look

T = TypeVar("T")


class ScreenHost(Protocol):
    """The app, as screens see it."""

    shoot: Shoot
    station: str
    ready: bool
    everybody: Everybody
    watching: Watching

    @property
    def look(self) -> Look: ...

    @property
    def cannot_match(self) -> bool: ...

    def write(self, work: Callable[[], T], then: Callable[[T], None] | None = None) -> None: ...

    def tell(self, said: str | Problem) -> None: ...

    def tell_from_anywhere(self, said: str | Problem) -> None: ...

    def call_later_from_anywhere(self, function: Callable[..., None], *arguments: Any) -> None: ...


def host_of(node: DOMNode) -> ScreenHost:
    """The app that `node` is in."""
    return cast("ScreenHost", node.app)
