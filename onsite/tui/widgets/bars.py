"""Counts as bars, drawn with the stages' own shapes: told by form, not by colour."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from rich.text import Text

from onsite.progress.stage import Stage, count_reached
from onsite.tui.widgets.cells import Cell, Ink, cells_line
from onsite.tui.widgets.stages import SHAPES


@dataclass(frozen=True, slots=True)
class GroupCount:
    """A group and how many of it are at each stage; `name` is None for everybody together."""

    name: str | None
    stages: Mapping[Stage, int]

    @property
    def total(self) -> int:
        return sum(self.stages.values())


def shares(counts: Mapping[Stage, int], width: int) -> list[tuple[Stage, int]]:
    """How many of `width` cells each stage gets, the furthest first; nobody who is there gets none, where
    there is room. The cells add up to `width` unless nobody is there."""
    there = [stage for stage in reversed(Stage) if counts.get(stage)]
    total = sum(counts[stage] for stage in there)
    if not total or width < 1:
        return []
    cells = {stage: max(counts[stage] * width // total, 1) for stage in there}
    while (over := sum(cells.values()) - width) != 0:
        # what rounding left over goes to, or comes from, whoever is farthest from the true share
        off = {stage: counts[stage] * width / total - cells[stage] for stage in there}
        stage = min(off, key=lambda s: (off[s], s)) if over > 0 else max(off, key=lambda s: (off[s], s))
        if over > 0 and len(there) > width:
            return [(stage, 1) for stage in there[:width]]
        cells[stage] += 1 if over < 0 else -1
    return list(cells.items())


def stage_bar(counts: Mapping[Stage, int], width: int) -> str:
    """One bar: every stage's part in its shape."""
    return "".join(SHAPES[stage] * cells for stage, cells in shares(counts, width))


def group_line(group: GroupCount, width: int, ink: Ink) -> Text:
    """A group in one line: its name, its bar, and how many of how many are photographed or further."""
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
