"""The people suggested for a run: a key, a bar and per cent for how strongly, the name, and the reasons."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import ClassVar

from rich.segment import Segment
from textual import events
from textual.message import Message
from textual.strip import Strip
from textual.widget import Widget

from onsite.matching.evidence import Suggestion
from onsite.reconcile.runs import RunKind
from onsite.tui.reconcile.reconcile_run_list import Who
from onsite.tui.reconcile.run_description import SelectedRun
from onsite.tui.widgets.people_bars import bar
from onsite.tui.widgets.virtual_list import fit_cells

Line = list[Segment]

_BAR = 8  # cells of a bar
_ROOMY = 76  # width in cells from which the reasons have room beside the name


STRONG = 0.9
"""The probability above which Enter alone accepts; below it, the suggestion's number does. Of simulated days'
suggestions above it 97 in 100 were right, of those from 50 to 90 per cent 68 (`bench_certainty`): a hand that
is tired and presses Enter must not give a wrong name."""

WEAK = 0.1
"""The probability below which a suggestion's number asks, and the same number again accepts. Own choice: low
enough that the first suggestion is seldom asked about."""


def is_strong(choices: Sequence[Suggestion]) -> bool:
    """Whether the first suggestion is one that Enter alone accepts."""
    return bool(choices) and choices[0].certainty > STRONG


class SuggestionLines(Widget):
    """The suggestions, best first, as far as there is room; for an empty backdrop, to set it aside."""

    DEFAULT_CSS = """
    SuggestionLines {
        color: $ink;
        background: $ground;
        & > .offer--plain { color: $ink; background: $ground; }
        & > .offer--quiet { color: $quiet; background: $ground; }
        & > .offer--strong { color: $ink; background: $ground; text-style: bold; }
        & > .offer--key { color: $mark-text; background: $mark-fill; text-style: $mark-style; }
    }
    """
    COMPONENT_CLASSES: ClassVar[set[str]] = {"offer--plain", "offer--quiet", "offer--strong", "offer--key"}

    class Accepted(Message):
        """The suggestion of this number, from 1, was clicked."""

        def __init__(self, number: int) -> None:
            super().__init__()
            self.number = number

    def __init__(self, who: Who, id: str | None = None) -> None:
        super().__init__(id=id)
        self._who = who
        self._chosen: SelectedRun | None = None

    def show(self, chosen: SelectedRun | None) -> None:
        self._chosen = chosen
        self.refresh()

    def render_line(self, y: int) -> Strip:
        width = self.content_size.width
        plain = self.get_component_rich_style("offer--plain")
        lines = list(self._lines(width))
        return Strip(lines[y] if y < len(lines) else []).adjust_cell_length(width, plain)

    def on_click(self, event: events.Click) -> None:
        choices = self._chosen.choices if self._chosen is not None else ()
        row = 0
        for number in range(1, len(choices) + 1):
            row += self._rows_of(number)
            if event.y < row:
                self.post_message(self.Accepted(number))
                return

    def _rows_of(self, number: int) -> int:
        """The rows of a suggestion: two where the reasons have room below the name, the first ones first."""
        choices = len(self._chosen.choices) if self._chosen is not None else 0
        return 2 if number <= self.content_size.height - choices else 1

    def _lines(self, width: int) -> Iterator[Line]:
        chosen = self._chosen
        if chosen is None or width < 8 or chosen.run.kind is not RunKind.LOOSE:
            return
        plain, quiet, key = (
            self.get_component_rich_style(f"offer--{name}") for name in ("plain", "quiet", "key")
        )
        if chosen.run.shows_nobody:
            yield [Segment(" Enter ", key), Segment(" set aside: kept, never delivered", plain)]
            yield [Segment("   P    somebody is on it after all: choose the person", quiet)]
            return
        choices = chosen.choices
        for number, suggestion in enumerate(choices, 1):
            takes_enter = number == 1 and is_strong(choices)
            yield from self._offer(number, suggestion, takes_enter, width, self._rows_of(number))
        if not choices:
            yield [Segment("   P    nobody is suggested: choose the person", quiet)]

    def _offer(
        self, number: int, suggestion: Suggestion, takes_enter: bool, width: int, rows: int
    ) -> Iterator[Line]:
        plain, quiet, strong, key = (
            self.get_component_rich_style(f"offer--{name}") for name in ("plain", "quiet", "strong", "key")
        )
        sign = f" {bar(round(suggestion.certainty * 100), 100, _BAR)} {suggestion.certainty * 100:3.0f} % "
        keys = " Enter " if takes_enter else f"   {number}   "
        room = max(width - len(keys) - len(sign), 0)
        reasons = "; ".join(suggestion.reasons)
        name = self._who(suggestion.person)
        for_name = room if rows == 2 or width < _ROOMY else min(room, max(room // 3, 24))
        yield [
            Segment(keys, key if takes_enter else quiet),
            Segment(sign, plain),
            Segment(fit_cells(name, for_name), strong),
            Segment(fit_cells(f" {reasons}", room - for_name), quiet),
        ]
        if rows == 2:
            indent = len(keys) + 1
            yield [Segment(" " * indent + fit_cells(reasons, max(width - indent, 0)), quiet)]
