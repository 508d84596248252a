"""The day on the Reconcile screen: the runs of a camera, and the frame under the cursor."""

from __future__ import annotations

from time import monotonic

from rich.text import Text
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.widgets import Static

from onsite.matching.slate_status import SlateStatus
from onsite.reconcile.camera_lanes import DayLanes, read_day_lanes
from onsite.reconcile.runs import LaneRun, RunKind
from onsite.tui.background_workers import background_worker
from onsite.tui.mode_screen import ModeScreen
from onsite.tui.reconcile.camera_strips import (
    READING,
    LaneStrips,
    frame_counts_line,
    lane_heading,
    next_text,
    nothing_text,
    progress_line,
)
from onsite.tui.reconcile.day_with_overrides import DayWithOverrides
from onsite.tui.reconcile.reconcile_run_list import (
    RunList,
    RunRow,
    numbered,
    row_of,
    rows_of,
    run_line,
    run_text_short,
)
from onsite.tui.reconcile.run_description import RunDescription, SelectedRun, selected_run
from onsite.tui.reconcile.suggestion_lines import SuggestionLines
from onsite.tui.widgets.pictures_side_by_side import NeighbourPictures, Side
from onsite.tui.widgets.virtual_list import Ink


class DayView(ModeScreen):
    """Shows the day as last matched, with pending overrides, and keeps the cursor on its frame."""

    def __init__(self) -> None:
        super().__init__()
        self._day = DayWithOverrides()
        self._lane = 0
        self._frame: int | None = None
        self._rows: dict[int, tuple[tuple[LaneRun, ...], list[RunRow]]] = {}
        self._reading = False
        self._read_again = False
        self._changed_at = 0.0
        """When the run under the cursor was last changed by a match."""
        self._drawn: tuple[int, int] | None = None

    def body(self) -> ComposeResult:
        yield Static(READING, id="equation", markup=False)
        yield Static("", id="progress", markup=False)
        yield LaneStrips(id="strips")
        with Horizontal(id="day"):
            with Vertical(id="runs-side", classes="panel"):
                yield RunList(self._line, lambda row: (row.place, row.note), id="runs", empty=READING)
            with Vertical(id="run-side", classes="panel"):
                yield RunDescription(self._who, self._label, id="told-run")
                yield NeighbourPictures(id="beside")
                yield SuggestionLines(self._who, id="offers")

    def on_mount(self) -> None:
        self.query_one(RunList).focus()
        self.add_class("-empty")

    # Reading the day

    def renew(self, people: frozenset[int] | None, matched: bool) -> None:
        known = self._day.matched
        if known is None or (matched and known.matched_until != self.status_cache.matched):
            self._read()
        elif people is None or people:
            self.query_one(RunList).refresh()
            self._draw()
        else:
            self._draw_state()

    def _read(self) -> None:
        """Read the day; once more afterwards where it has changed meanwhile."""
        if self._reading:
            self._read_again = True
        else:
            self._reading = True
            self._read_lanes()

    @background_worker("Reading the day")
    def _read_lanes(self) -> None:
        self.onsite.call_later_from_anywhere(self._have_read, read_day_lanes(self.shoot))

    def _have_read(self, lanes: DayLanes) -> None:
        self._reading = False
        # negative while a match is being saved and the verdicts are incomplete: keep what was shown
        if lanes.matched_until >= 0 or self._day.matched is None:
            before = self._chosen()
            self._day.show(lanes)
            self._redraw()
            self._note_change(before)
        if self._read_again:
            self._read_again = False
            self._read()

    def _note_change(self, before: SelectedRun | None) -> None:
        now = self._chosen()
        if before is not None and now is not None and before.identity != now.identity:
            self._changed_at = monotonic()

    def _label(self, frame: int) -> str:
        """The label of a frame, such as A:9940."""
        return self._day.matched.labels.get(frame, "") if self._day.matched is not None else ""

    # Where the cursor is

    def _chosen(self) -> SelectedRun | None:
        """The run under the cursor."""
        row = self.query_one(RunList).item
        runs = self._day.lanes[self._lane].runs if self._lane < len(self._day.lanes) else ()
        if row is None or row.run is None or not 0 <= row.place < len(runs):
            return None
        return selected_run(runs, row.place, self._frame)

    def _go_to(self, lane: int, place: int, frame: int | None = None) -> None:
        """Move the cursor to a run, and in it to a frame: its first where none is given."""
        runs = self._day.lanes[lane].runs
        self._lane = lane
        run = runs[place] if place < len(runs) else None
        frames = (run.frames or run.everything) if run is not None else ()
        self._frame = frame if frame in frames else next(iter(frames), None)
        rows = self._rows_of(lane)
        self.query_one(RunList).show(rows, at=row_of(rows, place))

    def _find_cursor(self) -> None:
        """Keep the cursor on its frame, wherever that is now."""
        lanes = self._day.lanes
        found = self._day.place_of(self._frame) if self._frame is not None else None
        if found is not None:
            self._go_to(*found, self._frame)
        elif lanes:
            lane = min(self._lane, len(lanes) - 1)
            first = self._day.next_loose(lane, -1, 1, here=self._frame is not None)
            self._go_to(*(first or (lane, 0)))
        else:
            self.query_one(RunList).show([])

    def _rows_of(self, lane: int) -> list[RunRow]:
        runs = self._day.lanes[lane].runs
        made = self._rows.get(lane)
        if made is None or made[0] is not runs:
            made = runs, rows_of(runs)
            self._rows[lane] = made
        return made[1]

    # Showing

    def _draw(self) -> None:
        self._draw_state()
        lanes = self._day.lanes
        self.set_class(not lanes, "-empty")
        run_list = self.query_one(RunList)
        chosen = self._chosen()
        self.query_one(RunDescription).show(chosen)
        self.query_one(SuggestionLines).show(chosen)
        self.name_panel("#run-side", _title(chosen.run) if chosen is not None else "")
        self._drawn = (chosen.run.first, chosen.frame) if chosen is not None else None
        place = run_list.item.place if run_list.item is not None else 0
        self.query_one(LaneStrips).show(lanes, self._lane, place, chosen.frame if chosen else None)
        if chosen is not None and self.query_one("#beside").display:
            here = f"{chosen.inside + 1} of {len(chosen.frames)}, {run_text_short(chosen.run, self._who)}"
            self.query_one(NeighbourPictures).show(
                self._beside(chosen.before, -1), (chosen.frame, here), self._beside(chosen.after, 0)
            )

    def _beside(self, run: LaneRun | None, which: int) -> Side:
        if run is None:
            return None, ""
        return (run.frames or run.everything)[which], run_text_short(run, self._who)

    def _draw_state(self) -> None:
        """Draw the frame counts, what is left, and the lane's heading."""
        width = self.size.width - 2
        self._say("#equation", frame_counts_line(self._day, width))
        self._say("#progress", progress_line(self._day, width))
        lanes, title = self._day.lanes, ""
        if lanes:
            room = self.query_one("#runs-side").size.width - _BESIDE_TITLE
            title = lane_heading(lanes, self._lane, self._outstanding, self.onsite.cannot_match, room)
        else:
            self.query_one(RunList).show([], empty=nothing_text(self._day, self.onsite.cannot_match))
        self.name_panel("#runs-side", title)
        self.say_next(next_text(self._day))

    def _say(self, where: str, text: str) -> None:
        """Set a line of text; an unchanged line is left alone, as it would be laid out again."""
        line = self.query_one(where, Static)
        if str(line.content) != text:
            line.update(Text(text))

    @property
    def _outstanding(self) -> bool:
        """Whether something has happened that the match shown does not know."""
        return bool(self._day.pending) or self._reading or not self.status_cache.is_settled

    def _line(self, row: RunRow, width: int, ink: Ink) -> Text:
        return run_line(row, self._known, width, ink)

    def _known(self, person: int) -> tuple[int | None, str]:
        status = self.status_cache.statuses.get(person)
        if status is None:
            return None, f"person {person}"
        return status.person.sequence, status.person.name

    def _who(self, person: int) -> str:
        return numbered(*self._known(person))

    def on_resize(self) -> None:
        self.call_after_refresh(self._draw)

    def on_virtual_list_highlighted(self) -> None:
        chosen = self._chosen()
        if chosen is not None and (chosen.run.first, self._frame) != self._drawn:
            self._frame = chosen.frame
            self._draw()

    def _redraw(self) -> None:
        """Draw the runs again, with the cursor on its frame."""
        self._find_cursor()
        self._draw()


_BESIDE_TITLE = 4
"""Cells of a panel's upper edge that its title cannot take."""

_MAIN = {
    RunKind.LOOSE: "Who is it?",
    RunKind.NAMED: "Named",
    RunKind.SET_ASIDE: "Set aside",
    RunKind.SLATE: "A slate",
}


def _title(run: LaneRun) -> str:
    """The title over the run under the cursor."""
    return "The camera's clock" if run.doubt == SlateStatus.CLOCK else _MAIN[run.kind]
