"""Returned files that were held: each beside the picture as it went out, to be accepted or sent back."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal
from textual.screen import ModalScreen
from textual.widgets import Footer, Static

from onsite.core.errors import Problem
from onsite.core.frame_ref import frame_id_text
from onsite.core.text import shown
from onsite.frames.find_frames import frame_labels
from onsite.retouch.accept_or_reject import accept, again
from onsite.retouch.check_returned import AS_SENT
from onsite.retouch.retouch_folder import HeldFile, read_held_files, sent_picture_path
from onsite.retouch.undo_after_shoot import undo_after_shoot
from onsite.tui import key_grammar as keys
from onsite.tui.background_workers import background_worker
from onsite.tui.dialogs.question_dialogs import AskScreen, ConfirmScreen
from onsite.tui.screen_host import ScreenHost, host_of
from onsite.tui.widgets.frame_picture import FramePicture
from onsite.tui.widgets.status_line import StatusLine


class HeldReturnsScreen(ModalScreen[None]):
    """Files that came back and are not sure to be right: is it the same picture?"""

    CSS = """
    HeldReturnsScreen { background: $ground; color: $ink; layout: vertical; }
    HeldReturnsScreen #which { height: auto; max-height: 4; padding: 0 1; text-style: bold; }
    HeldReturnsScreen Horizontal { height: 1fr; }
    HeldReturnsScreen FramePicture { width: 1fr; height: 100%; padding: 0 1; border-top: heavy $line; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        keys.ENTER.says("Accept"),
        keys.PUT_AWAY.says("Send back"),
        keys.RIGHT.says("Next file"),
        keys.LEFT.says(),
        keys.UNDO.says("Undo"),
        keys.BACK.says("Back"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._files: tuple[HeldFile, ...] = ()
        self._labels: dict[int, str] = {}
        self._at = 0

    def compose(self) -> ComposeResult:
        yield Static("reading …", id="which", markup=False)
        with Horizontal():
            yield FramePicture(id="went")
            yield FramePicture(id="came")
        yield StatusLine()
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        self._read()

    @property
    def onsite(self) -> ScreenHost:
        return host_of(self)

    @background_worker("Reading what is held", exclusive=True)
    def _read(self) -> None:
        shoot = self.onsite.shoot
        files = read_held_files(shoot)
        with shoot.reading() as session:
            labels = frame_labels(session) if files else {}
        self.onsite.call_later_from_anywhere(self._have, files, labels)

    def _have(self, files: tuple[HeldFile, ...], labels: dict[int, str]) -> None:
        if not self.is_mounted:
            return
        self._files, self._labels = files, labels
        self._at = min(self._at, max(len(files) - 1, 0))
        if files:
            self._draw()
        else:
            said, onsite = self.query_one(StatusLine).text, self.onsite
            self.dismiss()
            if said:  # the answer about the last one
                self.app.call_later(onsite.show_message, said)

    @property
    def _file(self) -> HeldFile | None:
        return self._files[self._at] if self._files else None

    def _draw(self) -> None:
        file = self._files[self._at]
        label = self._labels.get(file.frame, frame_id_text(file.frame))
        why = file.why[:1].upper() + file.why[1:]
        which = f"{self._at + 1} of {len(self._files)}: {label}, {file.batch}. {why}"
        self.query_one("#which", Static).update(Text(shown(which)))
        went = sent_picture_path(self.onsite.shoot, file.batch, file.frame)
        self.query_one("#went", FramePicture).show(went, f"went out: {label}", missing="no picture kept")
        came = Path(file.path)
        here = came if came.is_file() else None
        self.query_one("#came", FramePicture).show(here, f"came back: {came.name}", missing="file is gone")

    def action_frame(self, by: int) -> None:
        if self._files:
            self._at = (self._at + by) % len(self._files)
            self._draw()

    def action_enter(self) -> None:
        """Accept the file for the frame that it is held for."""
        file = self._file
        if file is not None:
            several = sum(other.frame == file.frame for other in self._files) > 1
            chosen = Path(file.path) if several else None
            frames, shoot, station = [frame_id_text(file.frame)], self.onsite.shoot, self.onsite.station

            def answered(sure: bool | None) -> None:
                if sure:
                    self._decide(lambda: accept(shoot, frames, file=chosen, station=station), "accepted")

            if AS_SENT in file.why:
                self.app.push_screen(ConfirmScreen("Nobody has worked on this file. Accept it?"), answered)
            else:
                answered(True)

    def action_put_away(self) -> None:
        """Ask why, and have the frame retouched again."""
        file = self._file
        if file is None:
            return
        frames, shoot, station = [frame_id_text(file.frame)], self.onsite.shoot, self.onsite.station

        def answered(reason: str | None) -> None:
            if reason:
                self._decide(
                    lambda: again(shoot, frames, reason, station),
                    "to be retouched again: it goes out with the next batch",
                )

        self.app.push_screen(AskScreen("Why is it to be done again? The retoucher reads it."), answered)

    def action_undo(self) -> None:
        """Take back what this station did last after the shoot."""
        shoot, station = self.onsite.shoot, self.onsite.station
        self.onsite.write(lambda: undo_after_shoot(shoot, station), self._undone)

    def _undone(self, said: str) -> None:
        self.onsite.show_message(f"undone: {said}")
        if self.is_mounted:
            self._read()

    def _decide(self, work: Callable[[], object], done: str) -> None:
        file = self._file
        label = self._labels.get(file.frame, "") if file is not None else ""

        def write() -> Problem | None:
            try:
                work()
            except Problem as problem:
                return problem
            return None

        def written(problem: Problem | None) -> None:
            self.onsite.show_message(problem or f"{label}: {done}. U: undo")
            if self.is_mounted:
                self._read()

        self.onsite.write(write, written)

    def action_clear(self) -> None:
        self.dismiss()
