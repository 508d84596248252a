"""The lines above the runs: the equation, what a lane holds, and why there is nothing."""

from __future__ import annotations

from collections.abc import Sequence

from rich.cells import cell_len

from onsite.tui.wrap.day import DayWithOverrides
from onsite.tui.wrap.shapes import COUNT_SHAPES
from onsite.tui.wrap.strip import MOST, lane_name
from onsite.words import shown
from onsite.wrap.lanes import DayLane
from onsite.wrap.runs import RunKind

READING = "reading the day …"


def frame_counts_line(day: DayWithOverrides, width: int) -> str:
    """What the frames in are made of; each part with its shape on the strips where there is room."""
    if day.matched is None:
        return READING
    plain = [f"{count} {word}" for word, count in day.frame_counts]
    shaped = [f"{COUNT_SHAPES.get(word, '')} {count} {word}".strip() for word, count in day.frame_counts]
    longer, shorter = (f"{day.frames} frames in = {' + '.join(parts)}" for parts in (shaped, plain))
    return longer if cell_len(longer) <= width else shorter


def lane_heading(lanes: Sequence[DayLane], chosen: int, outstanding: bool, cannot_match: bool = False) -> str:
    """What the chosen lane holds, which of many it is, and whether it is matched again."""
    lane = lanes[chosen]
    name = shown(lane_name(lane)) + (f", camera {chosen + 1} of {len(lanes)}" if len(lanes) > MOST else "")
    loose = sum(run.kind is RunKind.LOOSE for run in lane.runs)
    unknown = "" if lane.placed else ", when is not known"
    waiting = f"   {_matching(cannot_match)}" if outstanding else ""
    return (
        f"{name}: {len(lane.runs)} run{'' if len(lane.runs) == 1 else 's'}{unknown}, {loose} loose{waiting}"
    )


def _matching(cannot: bool) -> str:
    return "not matched yet" if cannot else "matching …"


def nothing_text(day: DayWithOverrides, cannot_match: bool = False) -> str:
    """Why there are no runs."""
    if day.matched is None:
        return READING
    return _matching(cannot_match) if day.frames else "no frames yet"
