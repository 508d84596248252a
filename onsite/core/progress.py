"""How long work reports how far it is."""

from __future__ import annotations

from collections.abc import Callable

Progress = Callable[[int, int], None]
"""Called with the amount done and the total, now and then, from one thread at a time."""


def no_progress(done: int, total: int) -> None:
    """Report nothing."""
