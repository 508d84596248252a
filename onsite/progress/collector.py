"""Python's garbage collector out of the way while very many objects are made that stay."""

from __future__ import annotations

import gc
from collections.abc import Callable, Iterator
from contextlib import contextmanager


@contextmanager
def collector_paused(then: Callable[[], None] | None = None) -> Iterator[None]:
    """Pauses it, since it would go through all of them again and again. `then` is called before it goes on
    where nothing went wrong: with `gc.freeze` it leaves what was made alone for good."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
        if then is not None:
            then()
    finally:
        if was_on:
            gc.enable()
