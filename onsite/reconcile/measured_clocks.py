"""Each camera's clock as its last clock slate measured it, told as soon as that frame is in."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

import sqlalchemy as sa
from sqlmodel import Session, func, select

from onsite.core.codes import CLOCK_MARK, parse_clock_code
from onsite.core.times import format_duration
from onsite.reconcile.gather_evidence import camera_zone, seconds_of
from onsite.store.schema import Camera, ClockCorrectionRow, Frame, SymbolReading
from onsite.store.shoot import Shoot

_RIGHT = 2.0
"""Seconds below which a clock is said to be right: a clock slate and a camera's clock each show whole
seconds."""


@dataclass(frozen=True, slots=True)
class MeasuredClock:
    """A camera's clock by its last clock slate."""

    camera: int
    label: str
    frame: int
    """The frame of the clock slate."""
    offset: float
    """Seconds to add to the camera's times."""
    measured: datetime
    """The door's time on the clock slate, in the shoot's zone."""
    set_since: bool = False
    """Whether the last match found that the clock was set after it."""

    @property
    def text(self) -> str:
        """`3 min 12 s slow, measured 09:41`."""
        since = ", and set since" if self.set_since else ""
        return f"{error_text(self.offset, _RIGHT)}, measured {self.measured:%H:%M}{since}"

    def data(self) -> dict[str, Any]:
        """The clock as a JSON object."""
        return {
            "camera": self.label,
            "offset": round(self.offset, 1),
            "measured": self.measured.isoformat(),
            "text": self.text,
        }


def error_text(offset: float, right: float = 1.0) -> str:
    """A clock's error in words: a camera is slow when its times must be put forward."""
    if abs(offset) < right:
        return "right"
    return f"{format_duration(abs(offset))} {'slow' if offset > 0 else 'fast'}"


def measured_clocks(session: Session, shoot: Shoot) -> dict[int, MeasuredClock]:
    """The clock of each camera that photographed a clock slate of this shoot, by camera id."""
    zone = camera_zone(shoot)
    rows = session.execute(
        sa.select(SymbolReading.text, Frame.id, Frame.taken, Frame.utc_offset, Camera.id, Camera.label)
        .where(SymbolReading.frame_id == Frame.id, Frame.camera_id == Camera.id)
        .where(SymbolReading.text.startswith(CLOCK_MARK))
    ).all()
    changed = _last_changes(session) if rows else {}
    found: dict[int, MeasuredClock] = {}
    for text, frame, taken, offset, camera, label in rows:
        code, seconds = parse_clock_code(text), seconds_of(taken, offset, zone)
        if code is None or code.shoot != shoot.mark or seconds is None:
            continue
        measured = datetime.fromtimestamp(code.seconds, UTC).astimezone(shoot.zone)
        before = found.get(camera)
        if before is None or before.measured <= measured:
            since = changed.get(camera, 0) > frame
            found[camera] = MeasuredClock(camera, label, frame, code.seconds - seconds, measured, since)
    return found


def _last_changes(session: Session) -> dict[int, int]:
    """The first frame of each camera's last clock, by the last match, where its clock was set or is wrong."""
    latest = select(Frame.camera_id, func.max(ClockCorrectionRow.first_frame))
    rows = latest.where(Frame.id == ClockCorrectionRow.first_frame).group_by(Frame.camera_id)
    return dict(session.exec(rows).all())


def measured_in(shoot: Shoot, frames: Iterable[int]) -> list[MeasuredClock]:
    """The clocks whose last clock slate is among these frames, in the order of the cameras' labels."""
    new = set(frames)
    with shoot.reading() as session:
        clocks = list(measured_clocks(session, shoot).values()) if new else []
    return sorted((clock for clock in clocks if clock.frame in new), key=lambda clock: clock.label)
