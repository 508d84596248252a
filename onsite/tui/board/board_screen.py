"""The Board screen with its stage bars: everybody with their stage, filtered by stage, group and text."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar

from rich.cells import cell_len
from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.geometry import Size
from textual.widget import Widget
from textual.widgets import Input, Static

from onsite.core.text import shown
from onsite.status.person_status import (
    PersonStatus,
    Stage,
    count_groups,
    count_reached,
    count_stages,
    cumulative_counts,
    is_over,
    stages_to_show,
)
from onsite.tui.dialogs.history_screen import HistoryScreen
from onsite.tui.mode_screen import ModeScreen
from onsite.tui.widgets.person_lines import SHAPES, person_line
from onsite.tui.widgets.virtual_list import Cell, Ink, VirtualList, cells_line

_MOST = 2000  # the most people that a text finds; nobody reads further


class BoardScreen(ModeScreen):
    """The board: everybody with their stage"""

    CSS_PATH = "screen.tcss"
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (110, "-wide")]  # noqa: RUF012
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("slash", "search", "Search", key_display="/"),
        Binding("s", "stage", "Stage"),
        Binding("right", "group(1)", "Group", key_display="← →"),
        Binding("left", "group(-1)", "The group before", show=False),
        Binding("h", "history", "History"),
        Binding("escape", "clear", "Everybody"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._stage: Stage | None = None
        self._group: str | None = None
        self._groups: list[GroupCount] = []
        self._stages_shown: list[Stage] = list(Stage)
        self._over = False

    def body(self) -> ComposeResult:
        yield Flow(id="stages")
        with Horizontal(id="board"):
            with Vertical(id="groups-side"):
                yield Static("photographed, by group", classes="heading", markup=False)
                yield VirtualList[GroupCount](
                    group_line, lambda g: g.name or "", id="groups", empty="no list yet"
                )
            with Vertical(id="people-side"):
                yield Static("", classes="heading", id="filter", markup=False)
                yield Input(placeholder="part of a name, a key, a number", id="text", max_length=100_000)
                yield VirtualList[PersonStatus](
                    self._line, lambda s: s.person.id, id="people", empty="nobody"
                )

    def on_mount(self) -> None:
        self.query_one("#groups", VirtualList).can_focus = False
        self.query_one("#text").display = False
        self.query_one("#people").focus()

    def renew(self, people: frozenset[int] | None, matched: bool) -> None:  # noqa: ARG002
        if people is not None and not people:
            return
        everybody = self.status_cache.statuses.values()
        groups = count_groups(everybody)
        stages = count_stages(everybody)
        self._groups = [
            GroupCount(None, stages),
            *(GroupCount(name, groups[name]) for name in sorted(groups)),
        ]
        counts = cumulative_counts(everybody)
        self._stages_shown = stages_to_show(stages)
        self._over = is_over(self.shoot, everybody)
        self.query_one(Flow).show(
            [f"{SHAPES[stage]} {counts[stage]:,} {stage.value}" for stage in stages_to_show(counts)]
        )
        self._filter()

    def _line(self, status: PersonStatus, width: int, ink: Ink) -> Text:
        return person_line(status, width, ink, self._over)

    def _filter(self) -> None:
        text = self.query_one("#text", Input).value.strip()
        statuses = self.status_cache.statuses
        found = (
            [statuses[hit.person.id] for hit in self.status_cache.finder.find(text, limit=_MOST)]
            if text
            else list(statuses.values())
        )
        rows = [s for s in found if self._group in (None, s.person.group) and self._stage in (None, s.stage)]
        self.query_one("#people", VirtualList).show(rows)
        names = [group.name for group in self._groups]
        at = names.index(self._group) if self._group in names else 0
        self.query_one("#groups", VirtualList).show(self._groups, at=at)
        parts = [
            f"now at {self._stage.value}" if self._stage else "",
            self._group or "",
            f"“{text}”" if text else "",
        ]
        said = ", ".join(part for part in parts if part) or "everybody"
        self.query_one("#filter", Static).update(Text(shown(f"{len(rows):,} people: {said}")))

    def on_input_changed(self) -> None:
        self._filter()

    def on_input_submitted(self) -> None:
        self.query_one("#people").focus()

    def on_virtual_list_selected(self, event: VirtualList.Selected[PersonStatus]) -> None:
        if event.virtual_list.id == "people":
            self.app.push_screen(HistoryScreen(event.item))
        elif event.virtual_list.id == "groups":
            self.action_group(0)

    def on_virtual_list_highlighted(self, event: VirtualList.Highlighted[GroupCount]) -> None:
        if event.virtual_list.id == "groups" and event.item is not None and event.item.name != self._group:
            self._group = event.item.name
            self._filter()

    def action_history(self) -> None:
        self.query_one("#people", VirtualList).action_choose()

    def action_search(self) -> None:
        field = self.query_one("#text", Input)
        field.display = True
        field.focus()

    def action_stage(self) -> None:
        """Filter by the next stage that is in use; after the last stage, show all."""
        later = list(Stage)[list(Stage).index(self._stage) + 1 :] if self._stage else list(Stage)
        self._stage = next((stage for stage in later if stage in self._stages_shown), None)
        self._filter()

    def action_group(self, by: int) -> None:
        self.query_one("#groups", VirtualList).action_step(by)

    def action_clear(self) -> None:
        self._stage = self._group = None
        field = self.query_one("#text", Input)
        field.value = ""
        field.display = False
        self.query_one("#people").focus()
        self._filter()


@dataclass(frozen=True, slots=True)
class GroupCount:
    """A group and how many of its people are at each stage; `name` is None for everybody together."""

    name: str | None
    stages: Mapping[Stage, int]

    @property
    def total(self) -> int:
        return sum(self.stages.values())


def shares(counts: Mapping[Stage, int], width: int) -> list[tuple[Stage, int]]:
    """The cells of a bar of `width` for each stage, the latest stage first.

    Every stage with people gets at least one cell where there is room. The cells add up to `width` unless
    there is nobody.
    """
    there = [stage for stage in reversed(Stage) if counts.get(stage)]
    total = sum(counts[stage] for stage in there)
    if not total or width < 1:
        return []
    cells = {stage: max(counts[stage] * width // total, 1) for stage in there}
    while (over := sum(cells.values()) - width) != 0:
        # the rounding error goes to, or comes from, the stage that is farthest from its true share
        off = {stage: counts[stage] * width / total - cells[stage] for stage in there}
        stage = min(off, key=lambda s: (off[s], s)) if over > 0 else max(off, key=lambda s: (off[s], s))
        if over > 0 and len(there) > width:
            return [(stage, 1) for stage in there[:width]]
        cells[stage] += 1 if over < 0 else -1
    return list(cells.items())


def stage_bar(counts: Mapping[Stage, int], width: int) -> str:
    """A bar in which each stage takes its share of the width, in its shape."""
    return "".join(SHAPES[stage] * cells for stage, cells in shares(counts, width))


def group_line(group: GroupCount, width: int, ink: Ink) -> Text:
    """A group in one line: its name, its bar, and how many of its people are photographed or further."""
    done = count_reached(group.stages, Stage.PHOTOGRAPHED)
    name = "everybody" if group.name is None else group.name or "no group"
    name_width = max(min(width // 2, 24), 6)
    drawn = stage_bar(group.stages, max(width - name_width - 12, 0))
    return cells_line(
        width,
        [
            Cell(name, name_width, ink.strong if group.name is None else ink.plain),
            Cell(drawn, 0, ink.quiet if ink.quiet.bgcolor != ink.plain.bgcolor else ink.plain),
            Cell(f"{done}/{group.total}", 10, ink.plain, right=True),
        ],
        ink,
    )


def flowed(parts: Sequence[str], width: int, gap: str = "   ") -> list[str]:
    """The parts as lines of at most `width` cells; no part is broken, so a long part may exceed it."""
    lines: list[str] = []
    for part in parts:
        longer = f"{lines[-1]}{gap}{part}" if lines else part
        if lines and cell_len(longer) <= width:
            lines[-1] = longer
        else:
            lines.append(part)
    return lines


class Flow(Widget):
    """Short texts one after another, on as many lines as they need."""

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
