"""A line to type into whose Enter is acted on before the next key."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from textual import events
from textual.suggester import SuggestFromList
from textual.widgets import Input


class EntryField(Input):
    """One line of text. Bindings are acted on only after the keys that came in meanwhile: too late for a
    scanner, or a quick hand, that types on at once. Enter is taken here, with the text as it is then."""

    def __init__(
        self,
        entered: Callable[[str], bool],
        value: str = "",
        hint: str = "",
        known: Sequence[str] = (),
        longest: int = 1000,
        id: str | None = None,
    ) -> None:
        """`entered` gets the text and returns whether the field is to be emptied; `hint` stands in an empty
        field; from `known` values are completed with the right arrow key."""
        suggester = SuggestFromList(known, case_sensitive=False) if known else None
        super().__init__(value, placeholder=hint, suggester=suggester, max_length=longest, id=id)
        self._entered = entered

    def on_key(self, event: events.Key) -> None:
        if event.key == "enter":
            event.stop()
            event.prevent_default()
            if self._entered(self.value):
                self.value = ""
