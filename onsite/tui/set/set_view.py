"""What the Set screen shows: who is at a camera, who is next, frames as they land, and warnings."""

from __future__ import annotations

from pathlib import Path
from time import monotonic

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.widgets import Static

from onsite.core.text import shown
from onsite.frames.frame_quality_checks import QualityWarning
from onsite.matching.slate_status import SlateStatus
from onsite.reconcile.camera_on_set import ASIDE, CameraNow, SetFrame, SetRun
from onsite.tui.background_folder_watch import FolderWatching, WatchState
from onsite.tui.background_workers import background_worker
from onsite.tui.mode_screen import ModeScreen
from onsite.tui.set.current_person import CallList, CurrentPerson
from onsite.tui.set.set_frame_list import (
    FrameList,
    FrameListLine,
    frame_list_lines,
    frame_name,
    portrait_count,
    run_heading,
)
from onsite.tui.set.set_screen_reader import SetNow, SetReader
from onsite.tui.set.warning_bars import OpenWarnings, WarningBars
from onsite.tui.widgets.frame_picture import FramePicture
from onsite.tui.widgets.pictures_side_by_side import preview_place_of
from onsite.tui.widgets.virtual_list import VirtualList

_TICK = 5.0  # seconds between updates of what only time changes: waiting times, a slate without frames


class SetView(ModeScreen):
    """Reads the set in a worker thread and shows it."""

    def __init__(self) -> None:
        super().__init__()
        self._now = SetNow()
        self._is_read = False
        """Whether what is shown was read, or nothing is known yet."""
        self._camera: int | None = None
        """The camera chosen by the user."""
        self._notices: dict[int, OpenWarnings] = {}
        self._landed: dict[int, tuple[int, float]] = {}
        """For each camera its newest frame, and when it was seen first."""
        self._picture: tuple[int | None, str] = (None, "")
        """The frame whose picture is shown, and the line under it."""
        self._reading = self._again = self._fresh = False

    def body(self) -> ComposeResult:
        yield WarningBars(id="notices")
        with Horizontal(id="set"):
            with Vertical(id="people"):
                with Vertical(id="on-panel", classes="panel"):
                    yield CurrentPerson(id="on")
                with Vertical(id="film-side", classes="panel"):
                    yield Static("", id="cameras", markup=False)
                    yield Static("", id="clock", classes="heading", markup=False)
                    yield Static("", id="watched", classes="heading", markup=False)
                    yield FrameList(id="film")
            with Vertical(id="picture-panel", classes="panel"):
                yield FramePicture(id="picture")
        with Vertical(id="call-side", classes="panel"):
            yield CallList(id="call")

    def on_mount(self) -> None:
        self._reader = SetReader(self.shoot)
        self._show_watched()
        self.name_panel("#film-side", "Frames, newest first")
        self.name_panel("#picture-panel", "Last frame")
        self.query_one("#call").focus()
        self.set_interval(_TICK, self._read)

    @property
    def watching(self) -> FolderWatching:
        return self.onsite.watching

    @property
    def _call(self) -> CallList:
        return self.query_one(CallList)

    @property
    def _frame_list(self) -> FrameList:
        return self.query_one(FrameList)

    # Reading

    def renew(self, people: frozenset[int] | None, matched: bool) -> None:  # noqa: ARG002
        self._fresh = True
        self._read()

    def _read(self) -> None:
        """Read in a worker thread, and once more where a change came meanwhile.

        It also runs below a slate that is being photographed, so that its reading is signalled at once.
        """
        if not self.onsite.ready or self not in self.app.screen_stack:
            return
        if self._reading:
            self._again = True
        else:
            self._reading, fresh, self._fresh = True, self._fresh, False
            self._read_now(fresh)

    @background_worker("Reading the set", group="read")
    def _read_now(self, fresh: bool) -> None:
        self.watching.look_over()
        statuses = self.status_cache.statuses
        for now in self._reader.read(self._camera, self.watching.state.frame, statuses, fresh):
            self.onsite.call_later_from_anywhere(self._show, now)
        self.onsite.call_later_from_anywhere(self._has_read)

    def _has_read(self) -> None:
        self._reading = False
        if self._again:
            self._again = False
            self._read()

    # Showing

    def _show(self, now: SetNow) -> None:
        if not self.is_attached:  # the screens are closing
            return
        self._now, self._is_read = now, True
        on = now.shown or CameraNow(0)
        self._show_on(on)
        self._call.show(now.waiting, empty="nobody waits")
        self.name_panel("#call-side", f"Next of {len(now.waiting):,} who wait")
        self._frame_list.take(frame_list_lines(on, self.status_cache.statuses))
        heard = {camera for camera, on in now.on.items() if self._notice(on)}
        if now.camera in heard:
            self.app.bell()
        self._show_notices()
        self._show_cameras()
        self._show_clock()
        self._show_watched()
        self._show_picture()
        self.say_next(self._next())

    def _next(self) -> str:
        if self._now.cameras or not self._is_read:
            return ""
        if self.watching.state.folder is None:
            return "choose the folder that your camera writes to. Press W"
        return "photograph the clock slate with each camera. Press C"

    def _show_on(self, on: CameraNow) -> None:
        label = next((c.label for c in self._now.cameras if c.id == on.camera), "")
        heading = f"On now, camera {shown(label)}" if len(self._now.cameras) > 1 else "On now"
        self.name_panel("#on-panel", heading)
        status = self.status_cache.statuses.get(on.person or 0)
        if not on.runs:
            self.query_one(CurrentPerson).show(None, "nobody yet")
        else:
            last = on.runs[-1]
            loud = last.person is None and last.doubt not in (ASIDE, SlateStatus.CLOCK)
            self.query_one(CurrentPerson).show(status, run_heading(last, {}), portrait_count(last), loud)

    def _notice(self, on: CameraNow) -> bool:
        """Update a camera's warnings; return True where there is a new one."""
        return self._notices.setdefault(on.camera, OpenWarnings()).take(on, self._lone(on))

    def _lone(self, on: CameraNow) -> QualityWarning | None:
        newest = on.newest
        if newest is None:
            return None
        frame, since = self._landed.get(on.camera, (None, 0.0))
        if frame != newest.id:
            since = monotonic()
            self._landed[on.camera] = newest.id, since
        return on.lone_slate(monotonic() - since)

    def _show_notices(self) -> None:
        state = self.watching.state
        gone = f"folder gone: {state.folder}, waiting for it" if state.gone else ""
        notices = self._notices.get(self._now.camera or 0)
        self.query_one(WarningBars).show(notices.unseen if notices is not None else (), gone)

    def _show_cameras(self) -> None:
        """Show the cameras, where there are several, with the number of warnings of each."""
        field = self.query_one("#cameras", Static)
        field.display = len(self._now.cameras) > 1
        parts: list[tuple[str, str]] = []
        for camera in self._now.cameras:
            unseen = len(self._notices.setdefault(camera.id, OpenWarnings()).unseen)
            style = "bold $mark-text on $mark-fill" if camera.id == self._now.camera else "$ink"
            parts.append((f" {shown(camera.label)}{f' ! {unseen}' if unseen else ''} ", style))
        field.update(Content.assemble(("cameras ", "$quiet"), *parts))

    def _show_clock(self) -> None:
        """Show how far the clock of the camera shown is off, or the reminder to photograph a clock slate."""
        field = self.query_one("#clock", Static)
        field.display = bool(self._now.clock)
        field.update(self._now.clock)

    def _show_watched(self) -> None:
        field, state = self.query_one("#watched", Static), self.watching.state
        field.set_class(state.ready and not state.coming and not state.gone, "-calm")
        field.update(shown(_watched(state)))

    def on_watch_changed(self) -> None:
        """Show the state of the watched folder."""
        self._show_watched()
        self._show_notices()
        self.say_next(self._next())

    def on_virtual_list_highlighted(self, event: VirtualList.Highlighted[FrameListLine]) -> None:
        if event.virtual_list is self._frame_list:
            self._show_picture()

    def _selected_frame(self) -> SetFrame | None:
        """The frame whose picture is shown: the frame under the cursor, else the newest."""
        if self._frame_list.has_focus and self._frame_list.item is not None:
            return self._frame_list.item.shown
        on = self._now.shown
        return on.newest if on is not None else None

    def _show_picture(self) -> None:
        frame = self._selected_frame()
        self.set_class(frame is None, "-bare")
        wanted = (frame.id, self._under(frame)) if frame is not None else (None, "")
        if wanted != self._picture:
            self._picture = wanted
            self._load(*wanted)

    @background_worker("Finding the picture", exclusive=True, group="picture")
    def _load(self, frame: int | None, under: str) -> None:
        path = preview_place_of(self.shoot, frame) if frame is not None else None
        self.onsite.call_later_from_anywhere(self._loaded, path, (frame, under))

    def _loaded(self, path: Path | None, wanted: tuple[int | None, str]) -> None:
        if wanted == self._picture and self.is_attached:  # else another picture was asked for meanwhile
            self.query_one(FramePicture).show(path, wanted[1])

    def _run_of(self, frame: SetFrame) -> SetRun:
        runs = self._now.shown.runs if self._now.shown is not None else ()
        return next((run for run in runs if frame in run.frames), SetRun((frame,)))

    def _under(self, frame: SetFrame) -> str:
        run = self._run_of(frame)
        whose = run_heading(run, self.status_cache.statuses) if run.person is not None else "no name"
        own = frame.live.camera_time
        clock = f" · {own:%H:%M:%S} by its clock" if own is not None else ""
        return f"{frame_name(frame)} {whose if run.doubt != ASIDE else ASIDE}{clock}"


def _watched(state: WatchState) -> str:
    """The state of watching, in one line."""
    if state.folder is None:
        return "No folder is watched. Press W."
    if state.coming:
        more = f" and {len(state.coming) - 1} more" if len(state.coming) > 1 else ""
        return f"coming in: {state.coming[-1].name}{more} …"
    if state.gone:
        return f"! waiting for {state.folder}"
    return f"watching {state.folder}" if state.ready else f"reading what lies in {state.folder} …"
