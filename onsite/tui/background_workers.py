"""Widget methods in background threads: an error is shown, and the method runs again.

A worker that ended silently would leave a screen that looks alive and shows nothing new. So an error is shown
once, with what happens next; the worker is tried again after a growing pause, and a message says when it
works again.
"""

from __future__ import annotations

import functools
from collections.abc import Callable
from typing import Any, Concatenate, ParamSpec, TypeVar

from textual import work
from textual.widget import Widget
from textual.worker import get_current_worker

from onsite.tui.screen_host import host_of
from onsite.tui.thread_retries import RetryState

W = TypeVar("W", bound=Widget)
P = ParamSpec("P")


def background_worker(
    doing: str, *, exclusive: bool = False, group: str = "default"
) -> Callable[[Callable[Concatenate[W, P], None]], Callable[Concatenate[W, P], object]]:
    """Decorate a widget's method to run in a thread of its own, like Textual's `work`.

    Where it fails, it runs again with the same arguments, unless it was called anew meanwhile or its widget
    is gone. `doing` describes its task in messages, as the beginning of a sentence.
    """

    def decorate(method: Callable[Concatenate[W, P], None]) -> Callable[Concatenate[W, P], object]:
        name = f"_attempts_{method.__name__}"

        def run(widget: W, call: int, *args: P.args, **kwargs: P.kwargs) -> None:
            onsite = host_of(widget)
            attempts, _ = getattr(widget, name)
            try:
                method(widget, *args, **kwargs)
            except Exception as error:
                if get_current_worker().is_cancelled:
                    return
                pause = attempts.failed(error)
                onsite.call_later_from_anywhere(later, widget, pause, call, args, kwargs)
            else:
                attempts.worked()

        def later(widget: W, pause: float, call: int, args: Any, kwargs: Any) -> None:
            def again() -> None:
                if getattr(widget, name)[1] == call and widget.is_attached:
                    started(widget, call, *args, **kwargs)

            if widget.is_attached:
                widget.set_timer(pause, again)

        started = work(
            thread=True, exclusive=exclusive, group=group, exit_on_error=False, name=method.__name__
        )(run)

        def start(widget: W, /, *args: P.args, **kwargs: P.kwargs) -> object:
            onsite = host_of(widget)
            attempts, calls = getattr(widget, name, None) or (
                RetryState(doing, onsite.show_worker_message),
                0,
            )
            setattr(widget, name, (attempts, calls + 1))
            return started(widget, calls + 1, *args, **kwargs)

        functools.update_wrapper(start, method)
        return start

    return decorate
