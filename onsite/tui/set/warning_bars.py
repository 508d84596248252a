"""Warnings of a camera: which are new, which were seen, and the bars that show them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from rich.text import Text
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widgets import Static

from onsite.core.text import shown
from onsite.frames.frame_quality_checks import QualityWarning, WarningKind
from onsite.reconcile.camera_on_set import CameraNow, SetFrame
from onsite.tui.set.set_frame_list import frame_name
from onsite.tui.widgets.block_text import BlockText

_LINES = 3  # warnings shown at once


@dataclass(frozen=True, slots=True)
class ShownWarning:
    """A warning about a frame."""

    frame: SetFrame
    warning: QualityWarning

    @property
    def key(self) -> tuple[int, WarningKind]:
        return self.frame.id, self.warning.kind

    @property
    def text(self) -> str:
        return f"{frame_name(self.frame)}: {self.warning.text}"


def visible(warnings: tuple[ShownWarning, ...]) -> tuple[ShownWarning, ...]:
    """The warnings that are shown at once: all, or some and a line for the others."""
    return warnings if len(warnings) <= _LINES else warnings[: _LINES - 1]


class OpenWarnings:
    """The open warnings of one camera. Warnings from before the current run count as seen at the start."""

    def __init__(self) -> None:
        self._seen: set[tuple[int, WarningKind]] = set()
        self._announced: set[tuple[int, WarningKind]] = set()
        self._put_away: set[tuple[int, WarningKind]] = set()
        self._begun = False
        self.unseen: tuple[ShownWarning, ...] = ()
        """Warnings not seen yet, newest first."""

    def take(self, now: CameraNow, lone: QualityWarning | None) -> bool:
        """Update from a camera's frames. Returns True where there is a new warning."""
        found = list(_notices(now, lone))
        if not self._begun:
            last = {frame.id for frame in now.runs[-1].frames} if now.runs else set()
            self._seen = {notice.key for notice in found if notice.frame.id not in last}
        self.unseen = tuple(notice for notice in reversed(found) if notice.key not in self._seen)
        new = {notice.key for notice in self.unseen} - self._announced
        self._announced |= new
        rings = bool(new) and self._begun
        self._begun = True
        return rings

    def mark_seen(self) -> int:
        """Mark the warnings that are shown as seen and return how many they are."""
        shown_now = visible(self.unseen)
        if shown_now:
            self._put_away = {notice.key for notice in shown_now}
        self._seen |= self._put_away
        self.unseen = self.unseen[len(shown_now) :]
        return len(shown_now)

    def bring_back(self) -> int:
        """Undo `mark_seen`: at the next update the warnings are there again. Returns how many."""
        count = len(self._put_away)
        self._seen -= self._put_away
        self._put_away = set()
        return count


def _notices(now: CameraNow, lone: QualityWarning | None) -> Iterator[ShownWarning]:
    """All warnings in the order of the frames; a drifted backdrop is reported once until it is right."""
    drifted = False
    frame = None
    for run in now.runs:
        for frame in run.frames:
            kinds = {alarm.kind for alarm in frame.warnings}
            for alarm in frame.warnings:
                if not (drifted and alarm.kind is WarningKind.BACKDROP):
                    yield ShownWarning(frame, alarm)
            if not frame.live.is_slate and frame.measures.backdrop is not None:
                drifted = WarningKind.BACKDROP in kinds
    if lone is not None and frame is not None:
        yield ShownWarning(frame, lone)


WORDS = {
    WarningKind.NO_SLATE: "No slate?",
    WarningKind.UNREAD: "Slate not readable",
    WarningKind.OTHER_SHOOT: "Slate of another shoot",
    WarningKind.NOBODY: "Nobody's deck card",
    WarningKind.NOT_ARRIVED: "Not checked in",
    WarningKind.SHOT_BEFORE: "Photographed before",
    WarningKind.NO_FRAMES: "No frames?",
    WarningKind.DARK: "No flash?",
    WarningKind.SOFT: "Out of focus?",
    WarningKind.BACKDROP: "Backdrop moved?",
    WarningKind.COUNTER: "Frames missing?",
    WarningKind.DAMAGED: "File damaged",
}
"""What a photographer reads from across the set."""


class WarningBars(Vertical):
    """The newest warning as a tall bar in a few words, with its sentence; older ones in a line each."""

    DEFAULT_CSS = """
    WarningBars {
        height: auto; padding: 0 1; display: none;
        background: $alert; color: $on-alert; text-style: bold;
        &.-loud { display: block; }
        & > BlockText { background: $alert; color: $on-alert; }
        & > Static { height: auto; width: 100%; background: $alert; color: $on-alert; }
    }
    """

    def __init__(self, id: str | None = None) -> None:
        super().__init__(id=id)
        self.text = ""
        """The sentences shown now."""

    def compose(self) -> ComposeResult:
        yield BlockText(7)
        yield Static("", markup=False)

    def show(self, notices: tuple[ShownWarning, ...], above: str = "") -> None:
        """Show these warnings, newest first, and, `above` them, trouble with more than a frame."""
        lines = [f"! {shown(above)}"] if above else []
        lines += [f"! {shown(notice.text)}" for notice in visible(notices)]
        if more := len(notices) - len(visible(notices)):
            lines.append(f"! and {more} more: X shows them")
        self.set_class(bool(lines), "-loud")
        word = "Folder gone" if above else WORDS[notices[0].warning.kind] if notices else ""
        self.query_one(BlockText).show(f"! {word}" if word else "")
        self.text = "\n".join(lines)
        self.query_one(Static).update(Text(self.text))
