"""The day of every camera as a strip across the width, and the lines above the runs.

Frames stand side by side in shooting order, whatever their camera's clock says; a break is a gap.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from rich.cells import cell_len
from rich.segment import Segment
from rich.style import Style
from textual.strip import Strip
from textual.widget import Widget

from onsite.core.text import plural, shown
from onsite.reconcile.camera_lanes import DayLane
from onsite.reconcile.runs import LaneRun, RunKind
from onsite.tui.reconcile.day_with_overrides import DayWithOverrides
from onsite.tui.reconcile.reconcile_run_list import COUNT_SHAPES, SHAPES, clock_text
from onsite.tui.widgets.people_bars import bar
from onsite.tui.widgets.virtual_list import fit_cells

MOST = 4
"""Lanes shown at once; the chosen lane is always among them."""

_TICKED = 4  # up to so many frames in a cell, each slate gets a tick
_LABEL = 10
_COUNT_WIDTH = 11


@dataclass(frozen=True, slots=True)
class LaneCells:
    """The layout of a strip.

    `starts` are the first frames of the runs, counted along the lane. `gaps` are the cells, counted without
    gaps, that have a gap before them.
    """

    cells: str
    starts: tuple[int, ...]
    gaps: tuple[int, ...]
    frames: int

    def cell_of(self, place: int) -> int:
        """The cell of a frame, by its place among all frames of the lane."""
        cell = place * (len(self.cells) - len(self.gaps)) // max(self.frames, 1)
        return min(cell + bisect_right(self.gaps, cell), max(len(self.cells) - 1, 0))


def lane_cells(runs: Sequence[LaneRun], width: int) -> LaneCells:
    """Lay out a lane's frames in `width` cells.

    Where several frames share a cell, a loose frame is shown before all others, so that none is hidden by its
    neighbours.
    """
    starts, pauses, frames = [], [], 0
    for run in runs:
        starts.append(frames)
        if frames and run.pause is not None and run.after_break:
            pauses.append((run.pause, frames))
        frames += len(run.everything)
    longest = sorted(pauses, reverse=True)[: width // 8]
    room = width - len(longest)
    gaps = tuple(sorted(at * room // frames for _, at in longest))
    cells = _cells(runs, starts, frames, room)
    for number, cell in enumerate(gaps):
        cells.insert(cell + number, " ")
    return LaneCells("".join(cells), tuple(starts), gaps, frames)


def _cells(runs: Sequence[LaneRun], starts: Sequence[int], frames: int, width: int) -> list[str]:
    """The cells, each with the frame in its middle; loose frames always show, slates where there is room."""
    if not frames or not width:
        return [" "] * width
    middles = ((2 * cell + 1) * frames // (2 * width) for cell in range(width))
    cells = [SHAPES[_settled(runs[bisect_right(starts, place) - 1].kind)] for place in middles]
    for run, start in zip(runs, starts, strict=True):
        portraits = start + len(run.slates)
        end = portraits + len(run.frames)
        if frames <= width * _TICKED:
            for at in (start,) * bool(run.slates) + (end,) * bool(run.tail_slates):
                cells[at * width // frames] = SHAPES[RunKind.SLATE]
        if run.kind is RunKind.LOOSE:
            for cell in _span(portraits, end, frames, width):
                cells[cell] = SHAPES[RunKind.LOOSE]
    return cells


def _settled(kind: RunKind) -> RunKind:
    return RunKind.SET_ASIDE if kind is RunKind.SET_ASIDE else RunKind.NAMED


def _span(first: int, end: int, frames: int, width: int) -> range:
    """The cells that the frames from `first` up to `end` touch, at least one."""
    start = first * width // frames
    return range(start, max(-(-end * width // frames), start + 1))


class LaneStrips(Widget):
    """A line for each camera, and under the chosen one a marker for the cursor."""

    DEFAULT_CSS = """
    LaneStrips {
        width: 100%;
        height: 0;
        color: $ink;
        background: $ground;
        & > .strip--plain { color: $ink; background: $ground; }
        & > .strip--quiet { color: $quiet; background: $ground; }
        & > .strip--loose { color: $alert; background: $ground; text-style: bold; }
        & > .strip--here { color: $mark-text; background: $mark-fill; text-style: $mark-style; }
    }
    """
    COMPONENT_CLASSES: ClassVar[set[str]] = {"strip--plain", "strip--quiet", "strip--loose", "strip--here"}

    def __init__(self, id: str | None = None) -> None:
        super().__init__(id=id)
        self._lanes: Sequence[DayLane] = ()
        self._laid: dict[int, tuple[tuple[LaneRun, ...], int, LaneCells]] = {}
        self._chosen = 0
        self._run = 0
        self._frame: int | None = None

    def show(self, lanes: Sequence[DayLane], chosen: int, run: int, frame: int | None) -> None:
        """Show the lanes; `run` is a place in the chosen lane, `frame` the frame under the cursor."""
        self._lanes, self._chosen, self._run, self._frame = lanes, chosen, run, frame
        self.styles.height = min(len(lanes), MOST) + 1 if lanes else 0
        self.refresh()

    def render_line(self, y: int) -> Strip:
        width = self.size.width
        plain = self.get_component_rich_style("strip--plain")
        first = max(0, min(self._chosen - MOST + 1, len(self._lanes) - MOST))
        row = y + first
        if not self._lanes:
            return Strip.blank(width, plain)
        if row == self._chosen + 1:
            segments = self._marker(width)
        else:
            number = row if row <= self._chosen else row - 1
            segments = self._strip(number, width) if number < len(self._lanes) else []
        return Strip(segments).adjust_cell_length(width, plain)

    def _lane_cells(self, number: int, width: int) -> LaneCells:
        """The layout of a lane, recomputed only where its runs or the width have changed."""
        runs = self._lanes[number].runs
        laid = self._laid.get(number)
        if laid is None or laid[0] is not runs or laid[1] != width:
            laid = runs, width, lane_cells(runs, width)
            self._laid[number] = laid
        return laid[2]

    def _room(self, width: int) -> tuple[int, int]:
        """The widths of the label and of the strip in cells."""
        label = min(max((cell_len(lane_name(lane)) for lane in self._lanes), default=0) + 2, _LABEL)
        return label, max(width - label - _COUNT_WIDTH, 0)

    def _strip(self, number: int, width: int) -> list[Segment]:
        lane = self._lanes[number]
        label, room = self._room(width)
        plain, quiet, loud, here = (
            self.get_component_rich_style(f"strip--{name}") for name in ("plain", "quiet", "loose", "here")
        )
        chosen = number == self._chosen
        loose = sum(len(run.frames) for run in lane.runs if run.kind is RunKind.LOOSE)
        name = Segment(f" {fit_cells(lane_name(lane), label - 2)}", here if chosen else plain)
        count = f" {loose} loose" if loose else ""
        return [
            name,
            Segment(" ", plain),
            *_drawn(self._lane_cells(number, room).cells, plain if chosen else quiet, loud),
            Segment(fit_cells(count, _COUNT_WIDTH, right=True), loud),
        ]

    def _marker(self, width: int) -> list[Segment]:
        """The marker under the cell of the frame under the cursor, with the time of its run."""
        plain = self.get_component_rich_style("strip--plain")
        label, room = self._room(width)
        laid = self._lane_cells(self._chosen, room)
        runs = self._lanes[self._chosen].runs
        if not 0 <= self._run < len(runs):
            return []
        run = runs[self._run]
        inside = run.everything.index(self._frame) if self._frame in run.everything else 0
        cell = laid.cell_of(laid.starts[self._run] + inside)
        time = clock_text(run.begins)
        text = f"▲ {time}" if cell + len(time) + 2 <= room else f"{time} ▲"
        at = cell if text.startswith("▲") else max(cell - len(time) - 1, 0)
        return [Segment(" " * (label + at) + text, plain)]


def lane_name(lane: DayLane) -> str:
    return lane.label if lane.placed else f"{lane.label} ?"


def _drawn(cells: str, style: Style, loud: Style) -> list[Segment]:
    """The cells as segments, one for each change of style."""
    segments: list[Segment] = []
    for shape in cells:
        wanted = loud if shape == SHAPES[RunKind.LOOSE] else style
        if segments and segments[-1].style == wanted:
            segments[-1] = Segment(segments[-1].text + shape, wanted)
        else:
            segments.append(Segment(shape, wanted))
    return segments


READING = "reading the day …"


def frame_counts_line(day: DayWithOverrides, width: int) -> str:
    """All frames accounted for: each part with its shape on the strips where there is room."""
    if day.matched is None:
        return READING
    counts = day.frame_counts
    plain = [f"{count:,} {'slate' if (word, count) == ('slates', 1) else word}" for word, count in counts]
    shapes = (COUNT_SHAPES.get(word, "") for word, _ in counts)
    shaped = [f"{shape} {text}".strip() for shape, text in zip(shapes, plain, strict=True)]
    longer, shorter = (f"{plural(day.frames, 'frame')} in = {' + '.join(parts)}" for parts in (shaped, plain))
    return longer if cell_len(longer) <= width else shorter


def progress_line(day: DayWithOverrides, width: int) -> str:
    """How many of the frames are settled, as a bar and in words; empty without frames."""
    if day.matched is None or not day.frames:
        return ""
    left = day.frames_left
    said = f" {day.frames - left:,} of {day.frames:,} settled, {left:,} to go"
    return bar(day.frames - left, day.frames, max(width - cell_len(said), 0)) + said


def next_text(day: DayWithOverrides) -> str:
    """What to do next where there are no frames, or nothing is loose any more."""
    if day.matched is None or day.frames_left:
        return ""
    if not day.frames:
        return "watch the camera's folder. Press F2, then W"
    return "nothing is loose. Press L to see who is missing"


def lane_heading(
    lanes: Sequence[DayLane], chosen: int, outstanding: bool, cannot_match: bool = False, width: int = 80
) -> str:
    """What the chosen camera holds, which of many it is, the keys that change it, and whether it is being
    matched again.

    Where `width` cells have no room for all of it, what stands elsewhere on the screen goes first.
    """
    lane = lanes[chosen]
    several = len(lanes) > 1
    name = f"{'[ ] ' if several else ''}Camera {shown(lane.label)}"
    which = f" ({chosen + 1} of {len(lanes)})" if several else ""
    loose = sum(len(run.frames) for run in lane.runs if run.kind is RunKind.LOOSE)
    rest = "" if lane.placed else ", time not known"
    rest += f", {_matching(cannot_match)}" if outstanding else ""
    headings = (f"{name}{which}: {loose} loose{rest}", f"{name}: {loose} loose{rest}", f"{name}{rest}")
    return next((heading for heading in headings if cell_len(heading) <= width), headings[-1])


def _matching(cannot: bool) -> str:
    return "not matched yet" if cannot else "matching …"


def nothing_text(day: DayWithOverrides, cannot_match: bool = False) -> str:
    """Why there are no runs to show."""
    if day.matched is None:
        return READING
    return _matching(cannot_match) if day.frames else "no frames yet"
