"""The frame list: a camera's frames, newest first, each run under the name of its person."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping
from dataclasses import dataclass

from rich.cells import cell_len
from rich.text import Text

from onsite.core.file_counter import counter_text
from onsite.core.text import plural
from onsite.matching.evidence import FrameKind, NamedBy
from onsite.matching.slate_status import SlateStatus
from onsite.reconcile.camera_on_set import ASIDE, CameraNow, SetFrame, SetRun, short_doubt
from onsite.status.person_status import PersonStatus
from onsite.tui.widgets.virtual_list import Cell, Ink, VirtualList, cells_line

SHAPES = {FrameKind.SLATE: "▚", FrameKind.NAMED: "■", FrameKind.LOOSE: "□", FrameKind.SET_ASIDE: "–"}
_WORDS = {
    FrameKind.SLATE: "slate",
    FrameKind.NAMED: "portrait",
    FrameKind.LOOSE: "loose",
    FrameKind.SET_ASIDE: "set aside",
}
_ROOMY = 40  # width in cells from which the time has room
_NARROW = 26  # width in cells below which the shape has no word beside it


@dataclass(frozen=True, slots=True)
class FrameListLine:
    """A frame; without a frame, the heading of a run."""

    run: SetRun
    heading: str
    frame: SetFrame | None = None

    @property
    def key(self) -> Hashable:
        return self.frame.id if self.frame is not None else ("run", self.run.first)

    @property
    def shown(self) -> SetFrame:
        """The frame whose picture is shown for this line."""
        return self.frame or self.run.frames[-1]


def frame_list_lines(now: CameraNow, statuses: Mapping[int, PersonStatus]) -> list[FrameListLine]:
    """The lines of all runs and their frames, newest first."""
    return list(_lines(now, statuses))


def _lines(now: CameraNow, statuses: Mapping[int, PersonStatus]) -> Iterator[FrameListLine]:
    for run in reversed(now.runs):
        heading = run_heading(run, statuses)
        yield FrameListLine(run, heading)
        for frame in reversed(run.frames):
            yield FrameListLine(run, heading, frame)


def run_heading(run: SetRun, statuses: Mapping[int, PersonStatus]) -> str:
    """The name of a run's person, or why it has none."""
    if run.doubt == SlateStatus.CLOCK:
        return run.doubt
    if run.person is None:
        return f"no name: {short_doubt(run.doubt)}" if run.doubt != ASIDE else ASIDE
    status = statuses.get(run.person)
    return status.person.name if status is not None else "somebody just added"


def portrait_count(run: SetRun) -> str:
    """The number of frames in a run, without its slates."""
    if not run.portraits:
        return "no frames yet"
    return plural(run.portraits, "frame")


def frame_name(frame: SetFrame) -> str:
    """A frame's counter, else its file name."""
    return counter_text(frame.live.counter) if frame.live.counter is not None else frame.live.name


def frame_list_line(item: FrameListLine, width: int, ink: Ink) -> Text:
    """A run's heading, or a frame's counter, time, kind and warnings."""
    frame = item.frame
    if frame is None:
        count = portrait_count(item.run)
        cells = [Cell(item.heading, 0, ink.strong), Cell(count, len(count), ink.quiet)]
        return cells_line(width, cells, ink)
    kind = frame.live.kind
    word = "by hand" if frame.live.how is NamedBy.OVERRIDE and kind is FrameKind.NAMED else _WORDS[kind]
    cells = [Cell(frame_name(frame), 6, ink.plain, right=True)]
    if width >= _ROOMY:
        time = frame.live.shoot_time
        cells.append(Cell(time.strftime("%H:%M:%S") if time else "", 8, ink.quiet))
    said = Cell(f"{SHAPES[kind]} {word}", 11) if width >= _NARROW else Cell(SHAPES[kind], 1)
    cells.append(said)
    room = width - sum(cell.width + 1 for cell in cells)
    warning = _frame_text(frame, room)
    if warning:
        cells.append(Cell(warning, min(cell_len(warning), max(room, 1)), ink.alert))
    return cells_line(width, cells, ink)


def _frame_text(frame: SetFrame, room: int) -> str:
    """A frame's warnings in full where they fit, else their kinds."""
    if not frame.warnings:
        return ""
    full = f"! {' '.join(alarm.text for alarm in frame.warnings)}"
    return full if cell_len(full) <= room else f"! {', '.join(alarm.kind for alarm in frame.warnings)}"


class FrameList(VirtualList[FrameListLine]):
    """A frame list that follows the newest frame until the user moves the cursor."""

    def __init__(self, id: str | None = None) -> None:
        super().__init__(
            frame_list_line, lambda item: item.key, empty="reading the frames …", marked=False, id=id
        )

    def take(self, lines: list[FrameListLine]) -> None:
        """Replace the lines. The cursor stays on its frame only where the user moved it there."""
        follows = not self.has_focus or self.cursor <= 1
        self.show(lines, at=min(1, len(lines) - 1) if follows else None, empty="no frames yet")

    def _keep_in_view(self) -> None:
        """Keep the heading in view together with the newest frame."""
        if self.cursor <= 1:
            self.scroll_home(animate=False, force=True, immediate=True)
        else:
            super()._keep_in_view()

    def on_focus(self) -> None:
        self.mark(True)

    def on_blur(self) -> None:
        self.mark(False)
        self.go_to(1)
