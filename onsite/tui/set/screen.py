"""The set: who is on at a camera and who is next, the frames as they land, and what to look up for."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from time import monotonic
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.widgets import Static

from onsite.checkin.queue import Waiting
from onsite.frames.alarms import Alarm
from onsite.frames.previews import preview
from onsite.frames.remembered import WatchedFolder
from onsite.problems import Problem
from onsite.progress.stage import Standing
from onsite.roster.find import Someone
from onsite.tui.around.pick import PickScreen
from onsite.tui.around.slate import SlateScreen, note_slate
from onsite.tui.mode import ModeScreen
from onsite.tui.set.call import CallList
from onsite.tui.set.film import FilmLine, FilmRoll, counted, film_lines, frame_name, heading_of
from onsite.tui.set.folder import FolderScreen
from onsite.tui.set.large import LargePicture
from onsite.tui.set.notices import NoticeLines, Notices
from onsite.tui.set.on_now import OnNow
from onsite.tui.set.reading import SetNow, SetReader
from onsite.tui.set.watching import Watching, WatchState
from onsite.tui.widgets.picture import Picture
from onsite.tui.widgets.roll import Roll
from onsite.tui.workers import worker
from onsite.words import shown
from onsite.wrap.on_set import ASIDE, OnSet, SetFrame, SetRun

_TICK = 5.0  # seconds between looks at what only time changes: waiting times, a slate without frames


class SetScreen(ModeScreen):
    """The set: slates, and frames as they land"""

    CSS_PATH = "screen.tcss"
    HORIZONTAL_BREAKPOINTS = [(0, "-tiny"), (60, "-narrow"), (100, "-medium"), (160, "-wide")]  # noqa: RUF012
    VERTICAL_BREAKPOINTS = [(0, "-flat"), (14, "-short"), (30, "-tall")]  # noqa: RUF012
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("space", "slate", "Slate"),
        Binding("p", "pick", "Another's slate"),
        Binding("m", "seen", "Seen"),
        Binding("f", "large", "Picture"),
        Binding("w", "watch", "Watch"),
        Binding("left", "camera(-1)", "Camera before", show=False, priority=True),
        Binding("right", "camera(1)", "Camera after", show=False, priority=True),
        Binding("tab", "app.focus_next", "Call list, roll", show=False),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._now = SetNow()
        self._camera: int | None = None
        """The camera that somebody chose."""
        self._notices: dict[int, Notices] = {}
        self._landed: dict[int, tuple[int, float]] = {}
        """By camera: its newest frame, and when it came in here."""
        self._picture: tuple[int | None, str] = (None, "")
        """The frame whose picture is shown, and what is said of it."""
        self._reading = self._again = self._fresh = False

    def body(self) -> ComposeResult:
        yield NoticeLines(id="notices")
        with Horizontal(id="set"):
            with Vertical(id="people"):
                yield Static("", id="on-heading", classes="heading", markup=False)
                yield OnNow(id="on")
                with Vertical(id="call-side"):
                    yield Static("", id="call-heading", classes="heading", markup=False)
                    yield CallList(id="call")
            with Vertical(id="film-side"):
                yield Static("", id="cameras", markup=False)
                yield Static("", id="watched", classes="heading", markup=False)
                yield FilmRoll(id="film")
            yield Picture(id="picture")

    def on_mount(self) -> None:
        self._reader = SetReader(self.shoot)
        self._show_watched()
        self.query_one("#call").focus()
        self.set_interval(_TICK, self._read)

    @property
    def watching(self) -> Watching:
        return self.onsite.watching

    @property
    def _call(self) -> CallList:
        return self.query_one(CallList)

    @property
    def _film(self) -> FilmRoll:
        return self.query_one(FilmRoll)

    # Reading

    def renew(self, people: frozenset[int] | None, matched: bool) -> None:  # noqa: ARG002
        self._fresh = True
        self._read()

    def _read(self) -> None:
        """Reads in a worker thread, once more where something happens meanwhile. Also below a slate that is
        being photographed: whether it read is heard at once."""
        if not self.onsite.ready or self not in self.app.screen_stack:
            return
        if self._reading:
            self._again = True
        else:
            self._reading, fresh, self._fresh = True, self._fresh, False
            self._read_now(fresh)

    @worker("Reading the set", group="read")
    def _read_now(self, fresh: bool) -> None:
        self.watching.look_over()
        standings = self.everybody.standings
        for now in self._reader.read(self._camera, self.watching.state.frame, standings, fresh):
            self.onsite.call_later_from_anywhere(self._show, now)
        self.onsite.call_later_from_anywhere(self._has_read)

    def _has_read(self) -> None:
        self._reading = False
        if self._again:
            self._again = False
            self._read()

    # What is shown

    def _show(self, now: SetNow) -> None:
        if not self.is_attached:  # the screens are being closed
            return
        self._now = now
        on = now.shown or OnSet(0)
        self._show_on(on)
        self._call.show(now.waiting)
        waiting = f"next: {len(now.waiting):,} waiting" if now.waiting else "next"
        self.query_one("#call-heading", Static).update(waiting)
        self._film.take(film_lines(on, self.everybody.standings))
        heard = {camera for camera, on in now.on.items() if self._notice(on)}
        if now.camera in heard:
            self.app.bell()
        self._show_notices()
        self._show_cameras()
        self._show_watched()
        self._show_picture()

    def _show_on(self, on: OnSet) -> None:
        label = next((c.label for c in self._now.cameras if c.id == on.camera), "")
        heading = f"on now, camera {shown(label)}" if len(self._now.cameras) > 1 else "on now"
        self.query_one("#on-heading", Static).update(heading)
        standing = self.everybody.standings.get(on.person or 0)
        if not on.runs:
            self.query_one(OnNow).show(None, "nobody yet")
        else:
            last = on.runs[-1]
            loud = last.person is None and last.doubt != ASIDE
            self.query_one(OnNow).show(standing, heading_of(last, {}), counted(last), loud)

    def _notice(self, on: OnSet) -> bool:
        """Looks through a camera's warnings; True when there is a new one."""
        return self._notices.setdefault(on.camera, Notices()).take(on, self._lone(on))

    def _lone(self, on: OnSet) -> Alarm | None:
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
        self.query_one(NoticeLines).show(notices.unseen if notices is not None else (), gone)

    def _show_cameras(self) -> None:
        """The cameras, where there are several; with how many warnings each has."""
        field = self.query_one("#cameras", Static)
        field.display = len(self._now.cameras) > 1
        parts: list[tuple[str, str]] = []
        for camera in self._now.cameras:
            unseen = len(self._notices.setdefault(camera.id, Notices()).unseen)
            style = "bold $on-mark on $mark" if camera.id == self._now.camera else "$ink"
            parts.append((f" {shown(camera.label)}{f' ! {unseen}' if unseen else ''} ", style))
        field.update(Content.assemble(("cameras ", "$quiet"), *parts))

    def _show_watched(self) -> None:
        self.query_one("#watched", Static).update(shown(_watched(self.watching.state)))

    def on_watch_changed(self) -> None:
        """The folder that is watched stands differently."""
        self._show_watched()
        self._show_notices()

    def on_roll_moved(self, event: Roll.Moved[FilmLine]) -> None:
        if event.roll is self._film:
            self._show_picture()

    def _meant(self) -> SetFrame | None:
        """The frame whose picture is shown: under the cursor, else the newest."""
        if self._film.has_focus and self._film.item is not None:
            return self._film.item.shown
        on = self._now.shown
        return on.newest if on is not None else None

    def _show_picture(self) -> None:
        frame = self._meant()
        self.set_class(frame is None, "-bare")
        wanted = (frame.id, self._under(frame)) if frame is not None else (None, "")
        if wanted != self._picture:
            self._picture = wanted
            self._load(*wanted)

    @worker("Finding the picture", exclusive=True, group="picture")
    def _load(self, frame: int | None, under: str) -> None:
        path = self._path(frame)
        self.onsite.call_later_from_anywhere(self._loaded, path, (frame, under))

    def _loaded(self, path: Path | None, wanted: tuple[int | None, str]) -> None:
        if wanted == self._picture and self.is_attached:  # else another was asked for meanwhile
            self.query_one(Picture).show(path, wanted[1])

    def _path(self, frame: int | None) -> Path | None:
        """Where a frame's preview lies; for a worker thread."""
        try:
            return preview(self.shoot, frame) if frame is not None else None
        except (Problem, OSError):
            return None

    def _under(self, frame: SetFrame) -> str:
        on = self._now.shown or OnSet(0)
        run = next((run for run in on.runs if frame in run.frames), SetRun((frame,)))
        whose = heading_of(run, self.everybody.standings) if run.person is not None else "no name"
        own = frame.live.camera_time
        clock = f" · {own:%H:%M:%S} by its clock" if own is not None else ""
        return f"{frame_name(frame)} {whose if run.doubt != ASIDE else ASIDE}{clock}"

    # What is pressed

    def on_roll_chosen(self, event: Roll.Chosen[Waiting[Standing]] | Roll.Chosen[FilmLine]) -> None:
        if event.roll is self._call:
            self.action_slate()
        else:
            self.action_large()

    def action_slate(self) -> None:
        """The slate of whoever is marked in the call list; after it, the next one is."""
        if self._call.item is None:
            self.told.problem(Problem("Nobody waits.", "P: somebody else's slate."))
        else:
            someone = self._call.item.standing.person
            self._show_slate(someone, lambda: self._call.after(someone.id))

    def action_pick(self) -> None:
        def picked(person: int | None) -> None:
            standing = self.everybody.standings.get(person or 0)
            if standing is not None:
                self._show_slate(standing.person)

        self.app.push_screen(PickScreen("Whose slate?"), picked)

    def _show_slate(self, someone: Someone, then: Callable[[], None] = lambda: None) -> None:
        self.app.push_screen(SlateScreen(someone, self._slate_stands), lambda _: then())

    def _slate_stands(self, someone: Someone) -> None:
        self.onsite.write(lambda: note_slate(self.shoot, someone, self.onsite.station), self.told.say)

    def action_camera(self, by: int) -> None:
        cameras = [camera.id for camera in self._now.cameras]
        if self._now.camera in cameras:
            place = (cameras.index(self._now.camera) + by) % len(cameras)
            self._camera = cameras[place]
            self._read()

    def action_seen(self) -> None:
        notices = self._notices.get(self._now.camera or 0)
        count = notices.mark_seen() if notices is not None else 0
        self._show_notices()
        self._show_cameras()
        self.told.say(f"{count} warning{'s' if count > 1 else ''} seen" if count else "no warnings")

    def action_large(self) -> None:
        frame = self._meant()
        if frame is not None:
            self._load_large(frame.id, self._under(frame))

    @worker("Finding the picture", exclusive=True, group="large")
    def _load_large(self, frame: int, under: str) -> None:
        path = self._path(frame)
        self.onsite.call_later_from_anywhere(self._open_large, path, under)

    def _open_large(self, path: Path | None, under: str) -> None:
        self.app.push_screen(LargePicture(path, under))

    def action_watch(self) -> None:
        """Asks which folder, with the last one of this station offered."""
        self.onsite.write(self.watching.remembered, self._ask_folder)

    def _ask_folder(self, last: WatchedFolder | None) -> None:
        watching = self.watching.state.folder is not None

        def answered(values: dict[str, str] | None) -> None:
            if values is None:
                return
            if values["folder"]:
                folder, label = Path(values["folder"]), values["label"]
                self.told.say(f"{folder} …")
                self.onsite.write(
                    lambda: self.watching.start(folder, label), lambda _: self.told.say(f"watching {folder}")
                )
            elif watching:
                self.onsite.write(self.watching.stop, lambda _: self.told.say("no folder is watched now"))

        folder, label = (last.folder, last.label) if last is not None else ("", "")
        self.app.push_screen(FolderScreen(folder, label, watching), answered)


def _watched(state: WatchState) -> str:
    """What is watched, in one line."""
    if state.folder is None:
        return "no folder is watched. W: watch one"
    if state.coming:
        more = f" and {len(state.coming) - 1} more" if len(state.coming) > 1 else ""
        return f"coming in: {state.coming[-1].name}{more} …"
    if state.gone:
        return f"! waiting for {state.folder}"
    return f"watching {state.folder}" if state.ready else f"reading what lies in {state.folder} …"
