"""What runs in other threads than the one that draws: its errors are told on the screen, and it goes on.

A worker that ended without a word would leave a screen that looks alive and shows nothing new. So whatever
ends one is told in words, once, with what happens next; it is tried again, after a pause that grows, and when
it works again that is told too.
"""

from __future__ import annotations

import functools
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, Concatenate, ParamSpec, TypeVar, cast

from textual import work
from textual.widget import Widget
from textual.worker import get_current_worker

from onsite.problems import Problem

if TYPE_CHECKING:
    from onsite.tui.app import OnsiteApp

FIRST_PAUSE, LONGEST_PAUSE = 1.0, 30.0
"""Seconds before a worker is tried again: the first time, and at most; each time twice as long."""

W = TypeVar("W", bound=Widget)
P = ParamSpec("P")
Tell = Callable[[str | Problem], None]


def problem_of(doing: str, error: Exception, next_step: str) -> Problem:
    """An error as it is told: a Problem in its own words, any other by what was being done, and what happens
    next."""
    if isinstance(error, Problem):
        return Problem(error.what, f"{error.remedy} {next_step}".strip())
    reason = next(iter(str(error).splitlines()), "")
    return Problem(f"{doing} has failed: {type(error).__name__} {reason}".rstrip() + ".", next_step)


class Attempts:
    """How the attempts of one worker went. It tells of an error once, however often it is met again."""

    def __init__(self, doing: str, tell: Tell) -> None:
        """`doing` is what the worker does, as the beginning of a sentence; `tell` is called in its thread."""
        self._doing = doing
        self._tell = tell
        self._told = ""
        self._pause = FIRST_PAUSE

    @property
    def failing(self) -> bool:
        """Whether the last attempt failed."""
        return bool(self._told)

    def failed(self, error: Exception) -> float:
        """Takes note of an error. Returns the seconds to wait before the next attempt."""
        problem = problem_of(self._doing, error, "It is tried again by itself; Ctrl+Q closes the screens.")
        if str(problem) != self._told:
            self._tell(problem)
        self._told = str(problem)
        pause, self._pause = self._pause, min(2 * self._pause, LONGEST_PAUSE)
        return pause

    def worked(self) -> None:
        """Takes note of an attempt that worked."""
        if self._told:
            self._tell(f"{self._doing} works again.")
        self._told, self._pause = "", FIRST_PAUSE


def worker(
    doing: str, *, exclusive: bool = False, group: str = "default"
) -> Callable[[Callable[Concatenate[W, P], None]], Callable[Concatenate[W, P], object]]:
    """A widget's method that runs in a thread of its own, as Textual's `work` has it. Where it fails, that is
    told, and it runs again with the same arguments, unless it was called anew meanwhile or its widget is
    gone. `doing` is what it does, as the beginning of a sentence."""

    def decorate(method: Callable[Concatenate[W, P], None]) -> Callable[Concatenate[W, P], object]:
        name = f"_attempts_{method.__name__}"

        def run(widget: W, called: int, *args: P.args, **kwargs: P.kwargs) -> None:
            onsite = cast("OnsiteApp", widget.app)
            attempts, _ = getattr(widget, name)
            try:
                method(widget, *args, **kwargs)
            except Exception as error:
                if get_current_worker().is_cancelled:
                    return
                pause = attempts.failed(error)
                onsite.call_later_from_anywhere(later, widget, pause, called, args, kwargs)
            else:
                attempts.worked()

        def later(widget: W, pause: float, called: int, args: Any, kwargs: Any) -> None:
            def again() -> None:
                if getattr(widget, name)[1] == called and widget.is_attached:
                    started(widget, called, *args, **kwargs)

            if widget.is_attached:
                widget.set_timer(pause, again)

        started = work(
            thread=True, exclusive=exclusive, group=group, exit_on_error=False, name=method.__name__
        )(run)

        def start(widget: W, /, *args: P.args, **kwargs: P.kwargs) -> object:
            onsite = cast("OnsiteApp", widget.app)
            attempts, calls = getattr(widget, name, None) or (Attempts(doing, onsite.tell_from_anywhere), 0)
            setattr(widget, name, (attempts, calls + 1))
            return started(widget, calls + 1, *args, **kwargs)

        functools.update_wrapper(start, method)
        return start

    return decorate
