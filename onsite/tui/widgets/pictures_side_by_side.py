"""The picture of the frame under the cursor between its neighbours', each with its person."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.worker import get_current_worker

from onsite.core.errors import Problem
from onsite.frames.frame_previews import read_or_make_preview
from onsite.store.shoot import Shoot
from onsite.tui.background_workers import background_worker
from onsite.tui.screen_host import host_of
from onsite.tui.widgets.frame_picture import FramePicture

Side = tuple[int | None, str]
"""A frame, or None, and the line under its picture."""

_SETTLES = 0.06
"""Seconds that the cursor rests before pictures are read, so that moving quickly stays quick."""

_NONE = ("nothing before", "no frame", "nothing after")


def preview_place_of(shoot: Shoot, frame: int) -> Path | None:
    """The path of a frame's preview; None where it can be neither read nor made now."""
    try:
        return read_or_make_preview(shoot, frame)
    except (Problem, OSError):
        return None


class NeighbourPictures(Horizontal):
    """Large the frame under the cursor, between the last frame of the run before and the first after it."""

    DEFAULT_CSS = """
    NeighbourPictures { height: 1fr; }
    NeighbourPictures > FramePicture { width: 1fr; height: 100%; padding: 0 1 0 0; }
    NeighbourPictures > FramePicture.here { width: 2fr; }
    """

    def __init__(self, id: str | None = None) -> None:
        super().__init__(id=id)
        self._sides: list[Side] = []
        self._paths: dict[int, Path | None] = {}

    def compose(self) -> ComposeResult:
        for name in ("before", "here", "after"):
            yield FramePicture(classes=name)

    def show(self, *sides: Side) -> None:
        """Show three frames; a frame that was shown before is not drawn again."""
        before = self._sides or [(-1, "")] * len(sides)
        self._sides = list(sides)
        self._draw(number for number, side in enumerate(sides) if side != before[number])
        if self._missing:
            self.set_timer(_SETTLES, self._fetch)

    def _draw(self, numbers: Iterable[int]) -> None:
        pictures = list(self.query(FramePicture))
        for number in numbers:
            frame, under = self._sides[number]
            if frame is None:
                pictures[number].show(None, under, missing=_NONE[number])
            elif frame in self._paths:
                pictures[number].show(self._paths[frame], under, missing="picture missing")
            else:
                pictures[number].show(None, under, missing="…")

    @property
    def _missing(self) -> list[int]:
        """Frames whose previews have not been looked for yet."""
        return [frame for frame, _ in self._sides if frame is not None and frame not in self._paths]

    def _fetch(self) -> None:
        if self._missing:
            self._look(self._missing)

    @background_worker("Finding pictures", exclusive=True)
    def _look(self, frames: list[int]) -> None:
        onsite = host_of(self)
        for frame in frames:
            if get_current_worker().is_cancelled:
                return
            onsite.call_later_from_anywhere(self._found, frame, preview_place_of(onsite.shoot, frame))

    def _found(self, frame: int, path: Path | None) -> None:
        self._paths[frame] = path
        if self.is_mounted:
            self._draw(number for number, side in enumerate(self._sides) if side[0] == frame)
