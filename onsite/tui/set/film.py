"""The roll of film: the last frames of a camera, the newest first, under the people they are of."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping
from dataclasses import dataclass

from rich.cells import cell_len
from rich.text import Text

from onsite.matching.evidence import FrameKind, How
from onsite.progress.stage import Standing
from onsite.tui.widgets.cells import Cell, Ink, line
from onsite.tui.widgets.roll import Roll
from onsite.wrap.on_set import ASIDE, OnSet, SetFrame, SetRun, said_shortly

SHAPES = {FrameKind.SLATE: "▚", FrameKind.NAMED: "■", FrameKind.LOOSE: "□", FrameKind.ASIDE: "–"}
_WORDS = {
    FrameKind.SLATE: "slate",
    FrameKind.NAMED: "portrait",
    FrameKind.LOOSE: "loose",
    FrameKind.ASIDE: "set aside",
}
_ROOMY = 40  # cells from which the time has room
_NARROW = 26  # cells below which the shape stands without its word


@dataclass(frozen=True, slots=True)
class FilmLine:
    """A frame, or without one the heading of a run."""

    run: SetRun
    heading: str
    frame: SetFrame | None = None

    @property
    def key(self) -> Hashable:
        return self.frame.id if self.frame is not None else ("run", self.run.first)

    @property
    def shown(self) -> SetFrame:
        """The frame whose picture is shown beside this line."""
        return self.frame or self.run.frames[-1]


def film_lines(now: OnSet, standings: Mapping[int, Standing]) -> list[FilmLine]:
    """All runs and frames, the newest first."""
    return list(_lines(now, standings))


def _lines(now: OnSet, standings: Mapping[int, Standing]) -> Iterator[FilmLine]:
    for run in reversed(now.runs):
        heading = heading_of(run, standings)
        yield FilmLine(run, heading)
        for frame in reversed(run.frames):
            yield FilmLine(run, heading, frame)


def heading_of(run: SetRun, standings: Mapping[int, Standing]) -> str:
    """Whose a run is, or why it is nobody's."""
    if run.person is None:
        return f"no name: {said_shortly(run.doubt)}" if run.doubt != ASIDE else ASIDE
    standing = standings.get(run.person)
    return standing.person.name if standing is not None else "somebody just added"


def counted(run: SetRun) -> str:
    """How many frames a run has, without its slates."""
    if not run.portraits:
        return "no frames yet"
    return f"{run.portraits} frame{'s' if run.portraits > 1 else ''}"


def frame_name(frame: SetFrame) -> str:
    """A frame by its counter, else by its name."""
    return f"{frame.live.counter:04}" if frame.live.counter is not None else frame.live.name


def film_line(item: FilmLine, width: int, ink: Ink) -> Text:
    """One line: a run's heading, or counter, time, kind and warnings of a frame."""
    frame = item.frame
    if frame is None:
        count = counted(item.run)
        cells = [Cell(item.heading, 0, ink.strong), Cell(count, len(count), ink.quiet)]
        return line(width, cells, ink)
    kind = frame.live.kind
    word = "by hand" if frame.live.how is How.HAND and kind is FrameKind.NAMED else _WORDS[kind]
    cells = [Cell(frame_name(frame), 6, ink.plain, right=True)]
    if width >= _ROOMY:
        time = frame.live.shoot_time
        cells.append(Cell(time.strftime("%H:%M:%S") if time else "", 8, ink.quiet))
    said = Cell(f"{SHAPES[kind]} {word}", 11) if width >= _NARROW else Cell(SHAPES[kind], 1)
    cells.append(said)
    room = width - sum(cell.width + 1 for cell in cells)
    cells.append(Cell(_told(frame, room), 0, ink.alert))
    return line(width, cells, ink)


def _told(frame: SetFrame, room: int) -> str:
    """A frame's warnings in full where they fit, else what they are about."""
    if not frame.alarms:
        return ""
    full = f"! {' '.join(alarm.text for alarm in frame.alarms)}"
    return full if cell_len(full) <= room else f"! {', '.join(alarm.kind for alarm in frame.alarms)}"


class FilmRoll(Roll[FilmLine]):
    """It stays with the newest frame until somebody goes to another one in it."""

    def __init__(self, id: str | None = None) -> None:
        super().__init__(film_line, lambda item: item.key, empty="no frames yet", marked=False, id=id)

    def take(self, lines: list[FilmLine]) -> None:
        """Other lines. The cursor stays on its frame only where somebody put it there."""
        follows = not self.has_focus or self.cursor <= 1
        self.show(lines, at=min(1, len(lines) - 1) if follows else None)

    def _keep_in_view(self) -> None:
        """With the newest frame, its heading is in view as well."""
        if self.cursor <= 1:
            self.scroll_home(animate=False, force=True, immediate=True)
        else:
            super()._keep_in_view()

    def on_focus(self) -> None:
        self._marked = True
        self.refresh()

    def on_blur(self) -> None:
        self._marked = False
        self.go_to(1)
        self.refresh()
