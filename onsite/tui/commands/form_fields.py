"""Fields of a form beside plain text: a choice, and a path that completes itself."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import ClassVar

from rich.text import Text
from textual import events
from textual.binding import Binding, BindingType
from textual.suggester import Suggester
from textual.widgets import Static

from onsite.core.text import shown
from onsite.tui.widgets.input_form import EntryField


class ChoiceField(Static, can_focus=True):
    """One of a few values. Arrows or Space take the next; Enter goes on."""

    DEFAULT_CSS = """
    ChoiceField { height: 1; width: 1fr; padding: 0 1; background: $ground; color: $ink; }
    ChoiceField:focus { background: $mark-fill; color: $mark-text; text-style: $mark-style; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "turn(-1)", "Another value", key_display="← →"),
        Binding("right,space", "turn(1)", "Next value", show=False),
    ]

    def __init__(
        self,
        entered: Callable[[str], bool],
        value: str,
        choices: Sequence[str],
        empty: str = "any",
        id: str | None = None,
    ) -> None:
        """`empty` is shown for the empty value."""
        super().__init__("", markup=False, id=id)
        self._empty = empty
        self._entered = entered
        self._choices = tuple(choices)
        self.value = value if value in self._choices else self._choices[0]

    def render(self) -> Text:
        return Text(f"‹ {shown(self.value) or self._empty} ›")

    def action_turn(self, by: int) -> None:
        self.value = self._choices[(self._choices.index(self.value) + by) % len(self._choices)]
        self.refresh()

    def on_click(self) -> None:
        self.action_turn(1)

    def on_key(self, event: events.Key) -> None:
        if event.key == "enter":
            event.stop()
            self._entered(self.value)


class PathSuggester(Suggester):
    """Completes a path from what lies on the disk, the first name in alphabetical order."""

    def __init__(self) -> None:
        super().__init__(use_cache=False, case_sensitive=True)

    async def get_suggestion(self, value: str) -> str | None:
        return completed_path(value)


def completed_path(text: str) -> str | None:
    """The text completed to the first file or folder that begins so; None where there is none.

    A folder ends in a slash, so that what is in it can be typed on.
    """
    folder, begun = (
        (text, "") if text.endswith("/") else (text[: len(text) - len(Path(text).name)], Path(text).name)
    )
    if not text:
        return None
    try:
        names = sorted(path.name + "/" * path.is_dir() for path in Path(folder or ".").expanduser().iterdir())
    except OSError:
        return None
    found = next((n for n in names if n.startswith(begun) and (begun.startswith(".") or n[0] != ".")), None)
    return folder + found if found is not None and found != begun else None


class PathField(EntryField):
    """A path: the right arrow takes the completion."""

    def __init__(self, entered: Callable[[str], bool], value: str, id: str | None = None) -> None:
        super().__init__(entered, value, "a path; → completes, Ctrl+O chooses", longest=4096, id=id)
        self.suggester = PathSuggester()
        self.select_on_focus = False  # what is proposed is typed on
