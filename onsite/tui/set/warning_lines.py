"""Warnings of a camera: which are new, which were seen, and the lines that show them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from rich.text import Text
from textual.widgets import Static

from onsite.core.text import shown
from onsite.frames.quality_checks import QualityWarning, WarningKind
from onsite.reconcile.camera_on_set import CameraNow, SetFrame
from onsite.tui.set.frame_list import frame_name

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


class OpenWarnings:
    """The open warnings of one camera. Warnings from before the current run count as seen at the start."""

    def __init__(self) -> None:
        self._seen: set[tuple[int, WarningKind]] = set()
        self._announced: set[tuple[int, WarningKind]] = set()
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
        """Mark all warnings as seen and return how many there were."""
        count = len(self.unseen)
        self._seen |= {notice.key for notice in self.unseen}
        self.unseen = ()
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


class WarningLines(Static):
    """Warnings in loud lines above the set."""

    DEFAULT_CSS = """
    WarningLines {
        height: auto; padding: 0 1; display: none;
        background: $alert; color: $on-alert; text-style: bold;
        &.-loud { display: block; }
    }
    """

    def __init__(self, id: str | None = None) -> None:
        super().__init__("", id=id, markup=False)

    def show(self, notices: tuple[ShownWarning, ...], above: str = "") -> None:
        """Show these warnings and, `above` them, trouble with more than a frame."""
        lines = [f"! {shown(above)}"] if above else []
        visible = notices if len(notices) <= _LINES else notices[: _LINES - 1]
        lines += [f"! {shown(notice.text)}" for notice in visible]
        if len(notices) > len(visible):
            lines.append(f"! and {len(notices) - len(visible)} more, in the roll of film")
        self.set_class(bool(lines), "-loud")
        self.update(Text("\n".join(lines)))

    @property
    def text(self) -> str:
        """The text shown now."""
        return str(self.content)
