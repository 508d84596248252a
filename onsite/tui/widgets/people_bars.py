"""Bars of people, drawn one way: the funnel of the stages, and how far each group is."""

from __future__ import annotations

from dataclasses import dataclass

from rich.text import Text

from onsite.status.person_status import Stage
from onsite.tui.widgets.person_lines import SHAPES
from onsite.tui.widgets.virtual_list import Cell, Ink, cells_line

FULL, REST = "█", "░"
_STAGE_WORD = 12  # cells of the longest word of a stage
_COUNT = 5


def bar(part: int, whole: int, width: int) -> str:
    """`part` of `whole` in `width` cells. One of many is still seen, and one missing is seen too."""
    if width < 1:
        return ""
    cells = part * width // whole if whole > 0 else 0
    if part > 0:
        cells = max(cells, 1)
    if part < whole:
        cells = min(cells, width - 1)
    return FULL * cells + REST * (width - cells)


@dataclass(frozen=True, slots=True)
class StageCount:
    """How many people have reached a stage, of all; `stage` is None for everybody on the list."""

    stage: Stage | None
    people: int
    total: int


def stage_line(count: StageCount, width: int, ink: Ink) -> Text:
    """A stage in one line: shape, number, word, and bar."""
    shape = " " if count.stage is None else SHAPES[count.stage]
    word = "on the list" if count.stage is None else count.stage.word
    return cells_line(
        width,
        [
            Cell(shape, 1, ink.plain),
            Cell(f"{count.people:,}", _COUNT, ink.strong, right=True),
            Cell(word, _STAGE_WORD, ink.plain),
            Cell(bar(count.people, count.total, width - _STAGE_WORD - _COUNT - 4)),
        ],
        ink,
    )


@dataclass(frozen=True, slots=True)
class GroupCount:
    """How many of a group are photographed or further; `name` is None for everybody together.

    `chosen` says that its people are listed.
    """

    name: str | None
    photographed: int
    total: int
    chosen: bool = False


def group_line(group: GroupCount, width: int, ink: Ink) -> Text:
    """A group in one line: how many are photographed, its name, and the bar."""
    name = "everybody" if group.name is None else group.name or "no group"
    done = f"{group.photographed:,}/{group.total:,}"
    room = max(len(done), 7)
    for_name = max(min((width - room) * 3 // 5, 24), 6)
    return cells_line(
        width,
        [
            Cell("▶" if group.chosen else "", 1, ink.strong),
            Cell(done, room, ink.strong, right=True),
            Cell(name, for_name, ink.plain),
            Cell(bar(group.photographed, group.total, max(width - room - for_name - 4, 0))),
        ],
        ink,
    )
