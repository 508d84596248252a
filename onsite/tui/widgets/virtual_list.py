"""A list of any length with a cursor, which draws only the lines on the screen; and text fitted to cells."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Any, ClassVar, Generic, TypeVar

from rich.cells import cell_len, set_cell_size
from rich.segment import Segment
from rich.style import Style
from rich.text import Text
from textual import events
from textual.binding import Binding, BindingType
from textual.geometry import Region, Size
from textual.message import Message
from textual.reactive import reactive
from textual.scroll_view import ScrollView
from textual.strip import Strip

from onsite.core.text import shown


@dataclass(frozen=True, slots=True)
class Ink:
    """The styles of a line by the theme; on the chosen row all are the row's style."""

    plain: Style
    quiet: Style
    strong: Style
    alert: Style


@dataclass(frozen=True, slots=True)
class Cell:
    """Text in a column of `width` cells; 0, once in a line, takes the remaining width."""

    text: str
    width: int = 0
    style: Style | None = None
    right: bool = False


def fit_cells(text: str, width: int, right: bool = False) -> str:
    """`text` in exactly `width` cells: cut with an ellipsis, or padded."""
    text = shown(text)
    if width <= 0:
        return ""
    if cell_len(text) > width:
        return set_cell_size(set_cell_size(text, width - 1).rstrip() + "…", width)
    padding = " " * (width - cell_len(text))
    return padding + text if right else text + padding


def cells_line(width: int, cells: Sequence[Cell], ink: Ink) -> Text:
    """Columns side by side, with a space between them, in `width` cells in all."""
    fixed = sum(cell.width for cell in cells) + len(cells) - 1
    rest = max(width - fixed, 0)
    text = Text(no_wrap=True, end="")
    for number, cell in enumerate(cells):
        if number:
            text.append(" ", ink.plain)
        text.append(fit_cells(cell.text, cell.width or rest, cell.right), cell.style or ink.plain)
    return text


S = TypeVar("S")
T = TypeVar("T")

Line = Callable[[T, int, Ink], Text]
"""Draws an item in so many cells with these styles."""


class _ItemMessage(Message, Generic[S]):
    """What a list says of one of its items."""

    def __init__(self, virtual_list: VirtualList[Any], item: S) -> None:
        super().__init__()
        self.virtual_list = virtual_list
        self.item = item

    @property
    def control(self) -> VirtualList[Any]:
        return self.virtual_list


class VirtualList(ScrollView, Generic[T], can_focus=True, inherit_bindings=False):
    """Items one below another, one line each."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "step(-1)", "Move in the list", show=False, key_display="↑ ↓"),
        Binding("down", "step(1)", show=False),
        Binding("pageup", "page(-1)", show=False),
        Binding("pagedown", "page(1)", show=False),
        Binding("home", "first", show=False),
        Binding("end", "last", show=False),
    ]
    COMPONENT_CLASSES: ClassVar[set[str]] = {
        "line--plain",
        "line--quiet",
        "line--strong",
        "line--alert",
        "line--chosen",
    }
    DEFAULT_CSS = """
    VirtualList {
        height: 1fr;
        background: $ground;
        color: $ink;
        scrollbar-size: 1 1;
        overflow-x: hidden;
        & > .line--plain { color: $ink; background: $ground; }
        & > .line--quiet { color: $quiet; background: $ground; }
        & > .line--strong { color: $ink; background: $ground; text-style: bold; }
        & > .line--alert { color: $on-alert; background: $alert; text-style: bold; }
        & > .line--chosen { color: $mark-text; background: $mark-fill; text-style: $mark-style; }
    }
    """

    cursor: reactive[int] = reactive(0, repaint=False)

    class Highlighted(_ItemMessage[S | None]):
        """The cursor is on another item, or another item is under it."""

    class Selected(_ItemMessage[S]):
        """Enter was pressed on an item, or it was clicked."""

    def __init__(
        self,
        draw: Line[T],
        key: Callable[[T], Hashable],
        *,
        empty: str = "",
        marked: bool = True,
        marked_in_focus_only: bool = False,
        id: str | None = None,
        classes: str | None = None,
    ) -> None:
        """`key` identifies an item, so that the cursor stays on it when the items change.

        `empty` is shown where there are no items; `marked` says whether the item under the cursor stands out,
        and `marked_in_focus_only` limits that to when the list has the focus.
        """
        super().__init__(id=id, classes=classes)
        self._marked = marked
        self._in_focus_only = marked_in_focus_only
        self._draw = draw
        self._key = key
        self._empty = empty
        self._items: Sequence[T] = ()
        self._inks: tuple[Ink, Ink] | None = None

    @property
    def items(self) -> Sequence[T]:
        return self._items

    @property
    def item(self) -> T | None:
        """The item under the cursor."""
        return self._items[self.cursor] if 0 <= self.cursor < len(self._items) else None

    def show(self, items: Sequence[T], *, at: int | None = None, empty: str | None = None) -> None:
        """Replace the items. The cursor goes to `at`, else stays on its item, else near its place."""
        before = self.item
        if empty is not None:
            self._empty = empty
        self._items = items
        self.virtual_size = Size(self.scrollable_content_region.width, len(items))
        place = at if at is not None else self._place_of(before)
        place = max(0, min(place, len(items) - 1))
        moved = place != self.cursor
        self.cursor = place
        self.refresh()
        if not moved and self.item is not before:
            self.post_message(self.Highlighted(self, self.item))
        self._keep_in_view()

    def _place_of(self, item: T | None) -> int:
        cursor: int = self.cursor
        if item is None:
            return 0
        key = self._key(item)
        near = range(max(cursor - 2, 0), min(cursor + 3, len(self._items)))
        for place in chain(near, range(len(self._items))):
            if self._key(self._items[place]) == key:
                return place
        return cursor

    def mark(self, marked: bool) -> None:
        """Say whether the item under the cursor stands out."""
        if marked != self._marked:
            self._marked = marked
            self.refresh()

    def go_to(self, place: int) -> None:
        """Move the cursor to an item."""
        self.cursor = max(0, min(place, len(self._items) - 1))

    def watch_cursor(self, before: int, after: int) -> None:
        for place in (before, after):
            self.refresh_line(place - self.scroll_offset.y)
        self._keep_in_view()
        self.post_message(self.Highlighted(self, self.item))

    def refresh_line(self, y: int) -> None:
        """Draw one line of the screen again."""
        self.refresh(Region(0, y, self.size.width, 1))

    def _keep_in_view(self) -> None:
        if self.is_mounted:
            self.scroll_to_region(Region(0, self.cursor, 1, 1), animate=False, force=True)

    def on_resize(self, _: events.Resize) -> None:
        self.virtual_size = Size(self.scrollable_content_region.width, len(self._items))
        self._keep_in_view()

    def on_focus(self) -> None:
        self.refresh_line(self.cursor - self.scroll_offset.y)

    def on_blur(self) -> None:
        self.refresh_line(self.cursor - self.scroll_offset.y)

    def notify_style_update(self) -> None:
        super().notify_style_update()
        self._inks = None

    def _ink(self, chosen: bool) -> Ink:
        if self._inks is None:
            style = self.get_component_rich_style
            plain, quiet, strong, alert, mark = (
                style(f"line--{name}") for name in ("plain", "quiet", "strong", "alert", "chosen")
            )
            self._inks = Ink(plain, quiet, strong, alert), Ink(mark, mark, mark, mark)
        return self._inks[chosen]

    def render_line(self, y: int) -> Strip:
        width = self.scrollable_content_region.width
        place = y + self.scroll_offset.y
        ink = self._ink(False)
        if place >= len(self._items):
            text = self._empty if not self._items and place == 0 else ""
            return Strip([Segment(text, ink.quiet)]).adjust_cell_length(width, ink.plain)
        marked = self._marked and (self.has_focus or not self._in_focus_only)
        ink = self._ink(place == self.cursor and marked)
        text_line = self._draw(self._items[place], width, ink)
        segments = text_line.render(self.app.console, end="")
        return Strip(segments).adjust_cell_length(width, ink.plain)

    def action_step(self, by: int) -> None:
        self.go_to(self.cursor + by)

    def action_page(self, by: int) -> None:
        self.go_to(self.cursor + by * max(self.scrollable_content_region.height - 1, 1))

    def action_first(self) -> None:
        self.go_to(0)

    def action_last(self) -> None:
        self.go_to(len(self._items) - 1)

    def action_choose(self) -> None:
        if self.item is not None:
            self.post_message(self.Selected(self, self.item))

    def on_key(self, event: events.Key) -> None:
        """Choose at Enter. It is no binding here: the mode's own says in the footer what Enter does."""
        if event.key == "enter" and self._items:
            event.stop()
            event.prevent_default()
            self.action_choose()

    def on_click(self, event: events.Click) -> None:
        place = event.y + self.scroll_offset.y
        if 0 <= place < len(self._items):
            again = place == self.cursor
            self.go_to(place)
            if again:
                self.action_choose()
