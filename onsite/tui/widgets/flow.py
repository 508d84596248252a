"""Short texts one after another, on as many lines as they need: none is broken in two."""

from __future__ import annotations

from collections.abc import Sequence

from rich.cells import cell_len
from rich.text import Text
from textual.geometry import Size
from textual.widget import Widget

from onsite.words import shown


def flowed(parts: Sequence[str], width: int, gap: str = "   ") -> list[str]:
    """The parts as lines of at most `width` cells, as far as no part alone is longer."""
    lines: list[str] = []
    for part in parts:
        longer = f"{lines[-1]}{gap}{part}" if lines else part
        if lines and cell_len(longer) <= width:
            lines[-1] = longer
        else:
            lines.append(part)
    return lines


class Flow(Widget):
    """A line of counts that goes on below where the screen is narrow."""

    DEFAULT_CSS = """
    Flow { height: auto; width: 100%; color: $ink; background: $ground; }
    """

    def __init__(self, id: str | None = None) -> None:
        super().__init__(id=id)
        self._parts: list[str] = []

    def show(self, parts: Sequence[str]) -> None:
        self._parts = [shown(part) for part in parts]
        self.refresh(layout=True)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:  # noqa: ARG002
        return max(len(flowed(self._parts, width)), 1)

    def render(self) -> Text:
        return Text("\n".join(flowed(self._parts, self.content_size.width)), no_wrap=True, overflow="crop")
