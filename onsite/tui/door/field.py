"""The door's one field."""

from __future__ import annotations

from collections.abc import Callable

from textual import events
from textual.widgets import Input


class WhoField(Input):
    """Takes a name, a key, a number or a scanned code. Enter is acted on before the next key is taken: a
    scanner, or a quick hand, types on at once."""

    def __init__(self, entered: Callable[[str], bool], id: str | None = None) -> None:
        """`entered` gets the text and returns whether the field is to be emptied."""
        super().__init__(placeholder="who is it?", max_length=100_000, id=id)
        self._entered = entered

    def on_key(self, event: events.Key) -> None:
        """Here and not in a binding: bindings are acted on only after the keys that came in meanwhile."""
        if event.key == "enter":
            event.stop()
            event.prevent_default()
            if self._entered(self.value):
                self.value = ""
