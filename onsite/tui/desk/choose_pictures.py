"""The screen on which a person's picks are chosen from their frames, side by side."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import ClassVar

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Container
from textual.screen import ModalScreen
from textual.widgets import Footer, Static

from onsite.core.errors import Problem
from onsite.core.text import plural, shown
from onsite.frames.find_frames import frame_labels
from onsite.picks.record_picks import choose_picks, too_many
from onsite.reconcile.frame_ownership import OwnedFrame, frames_of_person
from onsite.status.person_status import PersonStatus
from onsite.tui.background_workers import background_worker
from onsite.tui.screen_host import ScreenHost, host_of
from onsite.tui.widgets.frame_picture import FramePicture
from onsite.tui.widgets.pictures_side_by_side import preview_place_of
from onsite.tui.widgets.status_line import StatusLine

_WIDE, _HIGH = 34, 15
"""The smallest size of a picture in cells; below it, two faces are hard to tell apart. Own choice."""

_MOST = 12
_AROUND = 5
"""Lines of the screen that hold no pictures."""


class ChoosePicturesScreen(ModalScreen[None]):
    """Picks, chosen with the pictures side by side"""

    CSS = """
    ChoosePicturesScreen { background: $ground; color: $ink; layout: vertical; }
    ChoosePicturesScreen #whose { height: auto; max-height: 2; padding: 0 1; text-style: bold; }
    ChoosePicturesScreen #frames { height: 1fr; layout: grid; grid-gutter: 0; }
    ChoosePicturesScreen FramePicture { width: 100%; height: 100%; padding: 0 1; border-top: heavy $ground; }
    ChoosePicturesScreen FramePicture.-here { border-top: heavy $mark; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "step(-1)", "Frame before", show=False),
        Binding("right", "step(1)", "Frame", key_display="← →"),
        Binding("up", "row(-1)", "Row before", show=False),
        Binding("down", "row(1)", "Row after", show=False),
        Binding("space", "turn", "Choose", key_display="Space"),
        Binding("enter", "keep", "Keep", key_display="Enter"),
        Binding("escape", "dismiss", "Back", key_display="Esc"),
    ]

    def __init__(self, status: PersonStatus) -> None:
        super().__init__()
        self._standing = status
        self._frames: list[OwnedFrame] = []
        self._chosen = tuple(pick.frame for pick in status.pictures.picks)
        self._paths: dict[int, Path | None] = {}
        self._drawn: dict[int, tuple[int | None, Path | None, str, str]] = {}
        self._nothing = "…"
        self._at = self._first = 0

    def compose(self) -> ComposeResult:
        yield Static("", id="whose", markup=False)
        with Container(id="frames"):
            for _ in range(_MOST):
                yield FramePicture()
        yield StatusLine()
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        self._draw()
        self._read()

    @property
    def onsite(self) -> ScreenHost:
        return host_of(self)

    @property
    def _agreed(self) -> int:
        return self.onsite.shoot.settings.agreed.picks

    @background_worker("Reading the frames")
    def _read(self) -> None:
        shoot = self.onsite.shoot
        with shoot.reading() as session:
            frames = frames_of_person(session, self._standing.person.id)
            labels = frame_labels(session) if self._chosen else {}
        self.onsite.call_later_from_anywhere(self._have, frames, labels)
        for owned_frame in frames:
            self.onsite.call_later_from_anywhere(
                self._found, owned_frame.frame, preview_place_of(shoot, owned_frame.frame)
            )

    def _have(self, frames: list[OwnedFrame], labels: dict[int, str]) -> None:
        self._frames, self._nothing = frames, "no frame is theirs"
        owned = {owned_frame.frame for owned_frame in frames}
        gone = [labels[frame] for frame in self._chosen if frame not in owned]
        self._chosen = tuple(frame for frame in self._chosen if frame in owned)
        self._at = next(
            (place for place, owned_frame in enumerate(frames) if owned_frame.frame in self._chosen), 0
        )
        if self.is_mounted:
            self._draw()
            if gone:
                self.query_one(StatusLine).show_message(
                    f"picked before, and no longer theirs: {', '.join(gone)}"
                )

    def _found(self, frame: int, path: Path | None) -> None:
        self._paths[frame] = path
        if self.is_mounted:
            self._draw()

    def on_resize(self, _: events.Resize) -> None:
        self._draw()

    @property
    def _shape(self) -> tuple[int, int]:
        """Columns and rows of pictures that fit, at most as many as there are frames."""
        frames = max(len(self._frames), 1)
        columns = max(1, min(self.size.width // _WIDE, frames, _MOST))
        rows = max(1, min((self.size.height - _AROUND) // _HIGH, -(-frames // columns), _MOST // columns))
        return columns, rows

    @property
    def _room(self) -> int:
        columns, rows = self._shape
        return columns * rows

    def _draw(self) -> None:
        """Draw what has changed since it was drawn last."""
        room = self._room
        columns, rows = self._shape
        styles = self.query_one("#frames").styles
        styles.grid_size_columns, styles.grid_size_rows = columns, rows
        if not self._first <= self._at < self._first + room:  # scroll by a whole row at either end
            row = self._at // columns
            self._first = max(row if self._at < self._first else row - rows + 1, 0) * columns
        if rows == 1:  # a single row scrolls frame by frame and stays full at the end
            self._first = max(min(self._first, len(self._frames) - columns), 0)
        for place, picture in enumerate(self.query(FramePicture)):
            number = self._first + place
            picture.display = place < room
            picture.set_class(number == self._at and number < len(self._frames), "-here")
            if place < room:
                self._draw_picture(picture, place, number)
        self._tell()

    def _frame_at(self, number: int) -> int | None:
        return self._frames[number].frame if number < len(self._frames) else None

    def _draw_picture(self, picture: FramePicture, place: int, number: int) -> None:
        frame = self._frame_at(number)
        if frame is None:
            missing = self._nothing if number == 0 else ""
        else:
            missing = "picture missing" if frame in self._paths else "…"
        path = self._paths.get(frame) if frame is not None else None
        under = self._under(number) if frame is not None else ""
        before, self._drawn[place] = self._drawn.get(place), (frame, path, missing, under)
        if before is None or before[:3] != (frame, path, missing):
            picture.show(path, under, missing=missing)
        elif before[3] != under:
            picture.relabel(under)

    def _under(self, number: int) -> str:
        owned_frame = self._frames[number]
        mark = "[x] chosen:" if owned_frame.frame in self._chosen else "[ ]"
        return f"{mark} {owned_frame.name}, {number + 1} of {len(self._frames)}"

    def _tell(self) -> None:
        person = self._standing.person
        agreed = plural(self._agreed, "picture")
        note = self._standing.pictures.note
        text = f"{len(self._chosen)} chosen, {agreed} agreed: {shown(person.name)}"
        text += f"   note: {shown(note)}" if note else ""
        self.query_one("#whose", Static).update(Text(text))

    def action_step(self, by: int) -> None:
        self._at = max(0, min(self._at + by, len(self._frames) - 1))
        self._draw()

    def action_row(self, by: int) -> None:
        columns, _ = self._shape
        if 0 <= self._at + by * columns < len(self._frames):
            self.action_step(by * columns)

    def action_turn(self) -> None:
        frame = self._frame_at(self._at)
        if frame is None:
            return
        try:
            self._chosen = toggled(self._chosen, frame, self._agreed)
        except Problem as problem:
            self.query_one(StatusLine).show_problem(problem)
        else:
            self.query_one(StatusLine).show_message("")
            self._draw()

    def action_keep(self) -> None:
        onsite, after, person, chosen = (
            self.onsite,
            self._standing.pictures,
            self._standing.person,
            self._chosen,
        )
        self.dismiss()
        if chosen == tuple(pick.frame for pick in after.picks):
            onsite.show_message(f"{person.name}: nothing was changed.")
            return
        what = plural(len(chosen), "pick") if chosen else "picks taken back"
        onsite.write(
            lambda: choose_picks(onsite.shoot, person.id, chosen, after, source=FROM, station=onsite.station),
            lambda _: onsite.show_message(f"{person.name}: {what}."),
        )


FROM = "the desk"
"""The source of such picks, in the record."""


def toggled(chosen: Sequence[int], frame: int, most: int) -> tuple[int, ...]:
    """The choice with this frame appended, or removed where it was chosen.

    Raises Problem where it would exceed `most`, the number agreed.
    """
    if frame in chosen:
        return tuple(other for other in chosen if other != frame)
    if len(chosen) >= most:
        raise too_many(len(chosen) + 1, most, "Take one out first.")
    return (*chosen, frame)
