"""The Status screen: everybody with their stage, filtered by stage, group and text."""

from __future__ import annotations

from dataclasses import replace
from typing import ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.widgets import Input

from onsite.checkin.undo_check_in import undo_last_act
from onsite.core.text import plural
from onsite.status.person_status import (
    PersonStatus,
    Stage,
    count_groups,
    count_reached,
    count_stages,
    cumulative_counts,
    is_over,
)
from onsite.tui import key_grammar as keys
from onsite.tui.dialogs.person_history_screen import HistoryScreen
from onsite.tui.mode_screen import ModeScreen
from onsite.tui.widgets.block_text import BlockText
from onsite.tui.widgets.people_bars import GroupCount, StageCount, group_line, stage_line
from onsite.tui.widgets.person_lines import SHAPES, person_line
from onsite.tui.widgets.virtual_list import Ink, VirtualList

_MOST = 2000  # the most people that a text finds; nobody reads further


class BoardScreen(ModeScreen):
    """Status: where everybody is, from the list to the finished picture"""

    CSS_PATH = "screen.tcss"
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (110, "-wide"), (160, "-vast")]  # noqa: RUF012
    BINDINGS: ClassVar[list[BindingType]] = [
        keys.ENTER.says("History"),
        keys.MISSING.says("Missing"),
        keys.TURN_BACK.says(),
        keys.TURN.says("Group"),
        keys.SEARCH.says("Search"),
        keys.UNDO.says("Undo"),
        keys.PICTURE.says("Pictures"),
        keys.BACK.says("Everybody", show=False),
    ]
    SIGNS = (
        (
            "reached",
            "The number beside a stage counts all who have reached it; expected: who is not here yet.",
        ),
        (" ".join(SHAPES.values()), "the shape fills as a person goes on, from expected to delivered"),
        ("█ ░", "the share of all, or of a group, that has got there"),
        ("▶ 13/17", "the group whose people are listed; how many of it are photographed"),
    )

    def __init__(self) -> None:
        super().__init__()
        self._stage: Stage | None = None
        self._group: str | None = None
        self._missing = False
        self._groups: list[GroupCount] = []
        self._over = False

    def body(self) -> ComposeResult:
        with Horizontal(id="board"):
            with Vertical(id="counts-side"):
                with Vertical(id="stages-panel", classes="panel"):
                    yield VirtualList[StageCount](
                        stage_line, lambda count: count.stage or "", id="stages", marked_in_focus_only=True
                    )
                with Vertical(id="groups-panel", classes="panel"):
                    yield BlockText(3, spare=20, id="photographed")
                    yield VirtualList[GroupCount](
                        group_line, lambda group: group.name or "", id="groups", marked_in_focus_only=True
                    )
            with Vertical(id="people-panel", classes="panel"):
                yield Input(placeholder="part of a name, a key, a number", id="text", max_length=100_000)
                yield VirtualList[PersonStatus](
                    self._line, lambda s: s.person.id, id="people", empty="nobody", marked_in_focus_only=True
                )

    def on_mount(self) -> None:
        self.name_panel("#stages-panel", "How far everybody is")
        self.name_panel("#groups-panel", "Photographed, by group")
        self.query_one("#text").display = False
        self.query_one("#people").focus()

    def renew(self, people: frozenset[int] | None, matched: bool) -> None:  # noqa: ARG002
        if people is not None and not people:
            return
        everybody = self.status_cache.statuses.values()
        now_at = count_stages(everybody)
        total = sum(now_at.values())
        reached = cumulative_counts(everybody)
        self._over = is_over(self.shoot, everybody)
        self._groups = [
            GroupCount(None, count_reached(now_at, Stage.PHOTOGRAPHED), total),
            *(
                GroupCount(name, count_reached(stages, Stage.PHOTOGRAPHED), sum(stages.values()))
                for name, stages in count_groups(everybody).items()
            ),
        ]
        self.query_one(BlockText).show(f"{self._groups[0].photographed:,} of {total:,}")
        funnel = [StageCount(None, total, total), *(StageCount(s, reached[s], total) for s in Stage)]
        self.query_one("#stages", VirtualList).show(funnel)
        self._filter()
        self.say_next(self._next(total, now_at[Stage.EXPECTED]))

    def _next(self, total: int, expected: int) -> str:
        if not total:
            return "load the client's list. Press Ctrl+P and type: list"
        if expected == total:
            return "check people in. Press F1"
        return ""

    def _line(self, status: PersonStatus, width: int, ink: Ink) -> Text:
        return person_line(status, width, ink, self._over)

    def _filter(self) -> None:
        """Show the people of the stage, group and text chosen."""
        text = self.query_one("#text", Input).value.strip()
        statuses = self.status_cache.statuses
        found = (
            [statuses[hit.person.id] for hit in self.status_cache.finder.find(text, limit=_MOST)]
            if text
            else list(statuses.values())
        )
        rows = [status for status in found if self._is_wanted(status)]
        self.query_one("#people", VirtualList).show(rows)
        names = [group.name for group in self._groups]
        at = names.index(self._group) if self._group in names else 0
        groups = [replace(group, chosen=place == at) for place, group in enumerate(self._groups)]
        self.query_one("#groups", VirtualList).show(groups, at=at)
        parts = [
            "not here yet" if self._missing else "",
            f"now {self._stage.word}" if self._stage else "",
            "no group" if self._group == "" else self._group or "",
            f"“{text}”" if text else "",
        ]
        said = ", ".join(part for part in parts if part) or "everybody"
        self.name_panel("#people-panel", f"{plural(len(rows), 'person', 'people')}: {said}")

    def _is_wanted(self, status: PersonStatus) -> bool:
        if self._missing and not (status.counts and status.stage is Stage.EXPECTED):
            return False
        return self._group in (None, status.person.group) and self._stage in (None, status.stage)

    # Keys

    def on_input_changed(self) -> None:
        self._filter()

    def on_input_submitted(self) -> None:
        self.query_one("#people").focus()

    def on_virtual_list_selected(self, event: VirtualList.Selected[PersonStatus]) -> None:
        if event.virtual_list.id == "people":
            self.app.push_screen(HistoryScreen(event.item))
        else:
            self.query_one("#people").focus()

    def on_virtual_list_highlighted(self, event: VirtualList.Highlighted[GroupCount | StageCount]) -> None:
        item = event.virtual_list.item  # the message may be a key late
        if isinstance(item, GroupCount) and item.name != self._group:
            self._group = item.name
            self._filter()
        elif isinstance(item, StageCount) and item.stage is not self._stage:
            self._stage = item.stage
            self._filter()

    def action_enter(self) -> None:
        self.query_one("#people", VirtualList).action_choose()

    @property
    def person_in_front(self) -> PersonStatus | None:
        status: PersonStatus | None = self.query_one("#people", VirtualList).item
        return status

    def action_picture(self) -> None:
        if (status := self.person_in_front) is not None:
            self.open_pictures_of(status)

    def action_missing(self) -> None:
        """Show who is not here yet, of the group chosen; once more: everybody again."""
        self._missing = not self._missing
        self._filter()
        self.query_one("#people").focus()

    def action_search(self) -> None:
        field = self.query_one("#text", Input)
        field.display = True
        field.focus()

    def action_turn(self, by: int) -> None:
        self.query_one("#groups", VirtualList).action_step(by)

    def action_undo(self) -> None:
        """Take back what this station did last with the person under the cursor."""
        if (status := self.person_in_front) is not None:
            self.onsite.write(
                lambda: undo_last_act(self.shoot, status.person.id, self.onsite.station),
                self.status_line.show_message,
            )

    def action_clear(self) -> None:
        self._stage = self._group = None
        self._missing = False
        field = self.query_one("#text", Input)
        field.value = ""
        field.display = False
        self.query_one("#stages", VirtualList).go_to(0)
        self.query_one("#people").focus()
        self._filter()
