"""The lists at the end of the day, shown one at a time."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import ClassVar

from rich.cells import cell_len
from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.screen import ModalScreen
from textual.widget import Widget
from textual.widgets import Footer, Static

from onsite.reconcile.camera_lanes import DayLanes
from onsite.reconcile.end_of_day_lists import (
    EndOfDayLists,
    GapLine,
    PersonLine,
    SlateLine,
    read_end_of_day_lists,
)
from onsite.tui import key_grammar as keys
from onsite.tui.background_workers import background_worker
from onsite.tui.screen_host import ScreenHost, host_of
from onsite.tui.widgets.virtual_list import Cell, Ink, VirtualList, cells_line

Entry = PersonLine | SlateLine | GapLine


@dataclass(frozen=True, slots=True)
class ListKind:
    """A list: heading, a line about it, the text where it is empty, and how its entries are found."""

    heading: str
    about: str
    none: str
    entries: Callable[[EndOfDayLists], Sequence[Entry]]


LISTS = (
    ListKind(
        "Not photographed",
        "They are here, and have no frame.",
        "everybody who came has frames",
        lambda lists: lists.arrived_not_shot,
    ),
    ListKind(
        "Frames, not checked in",
        "They have frames, and nobody checked them in: is it really them?",
        "everybody with frames was checked in",
        lambda lists: lists.shot_not_arrived,
    ),
    ListKind(
        "Did not come",
        "Neither here nor photographed: for the make-up day.",
        "everybody on the list came",
        lambda lists: lists.never_came,
    ),
    ListKind(
        "Slates without frames",
        "A slate with no frame after it.",
        "every slate has frames",
        lambda lists: lists.slates_without_frames,
    ),
    ListKind(
        "Missing counters",
        "Counters that are missing: deleted, or still on a memory card?",
        "no counter is missing",
        lambda lists: lists.gaps,
    ),
)


class ListHeadings(Widget):
    """The lists with their counts; the list shown stands out and is in brackets."""

    DEFAULT_CSS = """
    ListHeadings { height: auto; color: $quiet; background: $ground; }
    ListHeadings > .headings--here { color: $mark-text; background: $mark-fill; text-style: $mark-style; }
    ListHeadings > .headings--plain { color: $ink; background: $ground; }
    """
    COMPONENT_CLASSES: ClassVar[set[str]] = {"headings--here", "headings--plain"}

    def __init__(self) -> None:
        super().__init__()
        self.chosen = 0
        self.counts: Sequence[int] | None = None

    def render(self) -> Text:
        here, plain = (self.get_component_rich_style(f"headings--{name}") for name in ("here", "plain"))
        lines, used = [Text()], 0
        for number, kept in enumerate(LISTS):
            count = "" if self.counts is None else f" {self.counts[number]}"
            text = f"[{kept.heading}{count}]" if number == self.chosen else f" {kept.heading}{count} "
            if used and used + cell_len(text) > self.size.width:
                lines.append(Text())
                used = 0
            lines[-1].append(text, here if number == self.chosen else plain)
            used += cell_len(text)
        return Text("\n").join(lines)


class EndOfDayScreen(ModalScreen[None]):
    """Who and what somebody must look after"""

    CSS = """
    EndOfDayScreen { background: $ground; color: $ink; layout: vertical; }
    EndOfDayScreen Static { height: 1; padding: 0 1; color: $quiet; }
    EndOfDayScreen ListHeadings { padding: 0; }
    EndOfDayScreen VirtualList { padding: 0 1; border-top: heavy $line; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        keys.TURN.says("List"),
        keys.TURN_BACK.says(),
        Binding("left", "turn(-1)", show=False, priority=True),
        Binding("right", "turn(1)", show=False, priority=True),
        Binding("escape,l", "dismiss", "Back", key_display="Esc"),
    ]

    def __init__(self, lanes: DayLanes | None) -> None:
        """`lanes` is the day as last matched."""
        super().__init__()
        self._lanes = lanes
        self._lists: EndOfDayLists | None = None

    def compose(self) -> ComposeResult:
        yield ListHeadings()
        yield Static("", markup=False, id="about")
        yield VirtualList[Entry](self._line, id, empty="reading the lists …")
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        self._show()
        if self._lanes is not None:
            self._read(self._lanes)

    @background_worker("Reading the lists")
    def _read(self, lanes: DayLanes) -> None:
        self.onsite.call_later_from_anywhere(self._have, read_end_of_day_lists(self.onsite.shoot, lanes))

    def _have(self, lists: EndOfDayLists) -> None:
        self._lists = lists
        if self.is_mounted:
            self._show()

    def _show(self) -> None:
        headings = self.query_one(ListHeadings)
        kept = LISTS[headings.chosen]
        self.query_one("#about", Static).update(kept.about)
        if self._lists is not None:
            headings.counts = [len(list_kind.entries(self._lists)) for list_kind in LISTS]
            self.query_one(VirtualList).show(kept.entries(self._lists), at=0, empty=kept.none)
        headings.refresh(layout=True)

    def _line(self, entry: Entry, width: int, ink: Ink) -> Text:
        if isinstance(entry, GapLine):
            return cells_line(width, [Cell(entry.camera, 6, ink.strong), Cell(entry.reason)], ink)
        if isinstance(entry, SlateLine):
            number = entry.person.sequence if entry.person is not None else None
            whose = entry.person.name if entry.person is not None else "a slate"
            about = f"{entry.label}: {entry.reason}"
        else:
            number, whose, about = entry.person.sequence, entry.person.name, entry.reason
        return cells_line(
            width,
            [
                Cell(str(number or ""), 5, ink.quiet, right=True),
                Cell(whose, max(width // 3, 12), ink.strong),
                Cell(about, 0, ink.plain),
            ],
            ink,
        )

    def action_turn(self, by: int) -> None:
        headings = self.query_one(ListHeadings)
        headings.chosen = (headings.chosen + by) % len(LISTS)
        self._show()

    @property
    def onsite(self) -> ScreenHost:
        return host_of(self)
