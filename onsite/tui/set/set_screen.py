"""The Set screen: slates, cameras, warnings and pictures by key."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import ClassVar

from textual.binding import BindingType

from onsite.checkin.waiting_people import WaitingPerson
from onsite.core.errors import Problem
from onsite.core.text import plural
from onsite.frames.folder_watch_events import WatchedFolder
from onsite.roster.find_people import RosterPerson
from onsite.status.person_status import PersonStatus
from onsite.tui import key_grammar as keys
from onsite.tui.dialogs.choose_person import ChoosePersonScreen
from onsite.tui.dialogs.full_screen import ClockScreen, FrameScreen, SlateScreen, record_slate
from onsite.tui.set.set_frame_list import FrameListLine, frame_name, run_heading
from onsite.tui.set.set_view import SetView
from onsite.tui.widgets.input_form import FormEntry, FormScreen
from onsite.tui.widgets.virtual_list import VirtualList


class SetScreen(SetView):
    """The set: slates, and frames as they land"""

    CSS_PATH = "screen.tcss"
    HORIZONTAL_BREAKPOINTS = [(0, "-tiny"), (60, "-narrow"), (100, "-medium"), (160, "-wide")]  # noqa: RUF012
    VERTICAL_BREAKPOINTS = [(0, "-flat"), (14, "-short"), (30, "-tall")]  # noqa: RUF012
    BINDINGS: ClassVar[list[BindingType]] = [
        keys.ENTER.says("Slate"),
        keys.PERSON.says("Person"),
        keys.PUT_AWAY.says("Seen"),
        keys.UNDO.says("Undo"),
        keys.PICTURE.says("Picture"),
        keys.TURN.says("Camera"),
        keys.TURN_BACK.says(),
        keys.CLOCK.says("Clock"),
        keys.WATCH.says("Watch"),
        keys.SLATE.says(),
    ]
    SIGNS = (
        ("▚ ■ □ –", "slate, named, loose (no name yet), set aside"),
        ("!", "a warning, such as no slate, no flash, out of focus: look now. X: you have seen it."),
        ("wrong person", "photograph the right person's slate upside down: it names what went before; or F3"),
        ("slate", "the code of the next person full screen: the first frame of everybody"),
        ("▶ slate shown", "who is next; their slate was shown, and no frames came"),
        ("clock slate", "the door's time full screen: photograph it once with each camera"),
        ("42 s fast", "how far the camera's clock is from the door's, once its clock slate was photographed"),
    )

    def on_virtual_list_selected(
        self, event: VirtualList.Selected[WaitingPerson[PersonStatus]] | VirtualList.Selected[FrameListLine]
    ) -> None:
        if event.virtual_list is self._call:
            self.action_slate()
        else:
            self.action_picture()

    def action_enter(self) -> None:
        self.action_slate()

    def action_slate(self) -> None:
        """Show the slate of the person under the cursor of the call list, then move to the next."""
        if self._call.item is None:
            self.status_line.show_problem(Problem("Nobody waits.", "P: choose somebody else."))
        else:
            person = self._call.item.status.person
            self._show_slate(person, lambda: self._call.after(person.id))

    def action_clock(self) -> None:
        self.app.push_screen(ClockScreen(self.shoot))

    def action_person(self) -> None:
        def picked(person: int | None) -> None:
            status = self.status_cache.statuses.get(person or 0)
            if status is not None:
                self._show_slate(status.person)

        self.app.push_screen(ChoosePersonScreen("Whose slate?"), picked)

    def _show_slate(self, person: RosterPerson, then: Callable[[], None] = lambda: None) -> None:
        self.app.push_screen(SlateScreen(person, self._slate_is_shown), lambda _: then())

    def _slate_is_shown(self, person: RosterPerson) -> None:
        self.onsite.write(
            lambda: record_slate(self.onsite.door, person, self.onsite.station), self.status_line.show_message
        )

    def action_turn(self, by: int) -> None:
        cameras = [camera.id for camera in self._now.cameras]
        if self._now.camera in cameras:
            place = (cameras.index(self._now.camera) + by) % len(cameras)
            self._camera = cameras[place]
            self._read()

    def action_put_away(self) -> None:
        notices = self._notices.get(self._now.camera or 0)
        count = notices.mark_seen() if notices is not None else 0
        self._show_notices()
        self._show_cameras()
        self.status_line.show_message(f"{plural(count, 'warning')} seen. U: undo" if count else "no warnings")

    def action_undo(self) -> None:
        """Bring back the warnings that were put away last."""
        notices = self._notices.get(self._now.camera or 0)
        count = notices.bring_back() if notices is not None else 0
        self.status_line.show_message(
            f"{plural(count, 'warning')} back" if count else "nothing is left to undo here"
        )
        self.renew(None, True)

    def action_picture(self) -> None:
        frame = self._selected_frame()
        if frame is not None:
            run = self._run_of(frame)
            names = {other.id: frame_name(other) for other in run.frames}
            whose = run_heading(run, self.status_cache.statuses)
            self.app.push_screen(FrameScreen(list(names), frame.id, whose, names.__getitem__))

    def action_watch(self) -> None:
        """Ask which folder to watch, and offer the last one of this station."""
        self.onsite.write(self.watching.remembered, self._ask_folder)

    def _ask_folder(self, last: WatchedFolder | None, problem: Problem | None = None) -> None:
        watching = self.watching.state.folder is not None

        def answered(values: dict[str, str] | None) -> None:
            if values is None:
                return
            if values["folder"]:
                folder, label = Path(values["folder"]), values["label"]
                if not folder.expanduser().is_dir():
                    wrong = Problem(
                        f"There is no folder {folder}.", "Check the path, and whether its disk is there."
                    )
                    self._ask_folder(WatchedFolder(values["folder"], label), wrong)
                    return
                self.status_line.show_message(f"{folder} …")
                self.onsite.write(
                    lambda: self.watching.start(folder, label),
                    lambda _: self.status_line.show_message(f"watching {folder}"),
                )
            elif watching:
                self.onsite.write(
                    self.watching.stop, lambda _: self.status_line.show_message("no folder is watched now")
                )

        folder, label = (last.folder, last.label) if last is not None else ("", "")
        self.app.push_screen(FolderScreen(folder, label, watching, problem), answered)


class FolderScreen(FormScreen):
    """A folder to watch and a label for its camera; no folder: watching stops."""

    def __init__(self, folder: str, label: str, watching: bool, problem: Problem | None = None) -> None:
        super().__init__(
            "Watch another folder, or none" if watching else "Watch a folder",
            (FormEntry("folder", "folder", folder), FormEntry("label", "camera label", label)),
            problem,
        )
        self._watching = watching

    def on_mount(self) -> None:
        super().on_mount()
        stop = " Without a folder, watching stops." if self._watching else ""
        self.beside(f"The label may stay empty: cameras then go by letters.{stop}")
