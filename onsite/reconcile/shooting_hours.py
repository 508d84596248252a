"""The hours in which a shoot's frames were taken."""

from __future__ import annotations

from datetime import datetime, timedelta

from sqlmodel import func, select

from onsite.core.text import format_day
from onsite.core.times import format_clock_time
from onsite.reconcile.gather_evidence import camera_zone, seconds_of
from onsite.reconcile.shoot_times import ClockCorrection, read_clock_corrections
from onsite.store.schema import Frame
from onsite.store.shoot import Shoot

_LONG = timedelta(hours=2)
"""Time before the first frame or after the last. Our own choice."""


def outside_hours_notice(shoot: Shoot, at: datetime) -> str:
    """The notice about a slate shown long before or after all frames; empty where it was not, or where there
    are no frames yet."""
    hours = _shooting_hours(shoot)
    if hours is None or hours[0] - _LONG <= at <= hours[1] + _LONG:
        return ""
    first, last = hours
    begins, ends = format_clock_time(first, shoot.zone), format_clock_time(last, shoot.zone)
    when = f"{format_day(first)}, {begins} to {ends}"
    if first.date() != last.date():
        when = f"{format_day(first)} to {format_day(last)}"
    before = "before the first" if at < first else "after the last"
    return f"Shown long {before} of the frames here ({when}): it says nothing about them."


def _shooting_hours(shoot: Shoot) -> tuple[datetime, datetime] | None:
    """From the first frame to the last, in shoot time."""
    zone = camera_zone(shoot)
    times: list[float] = []
    with shoot.reading() as session:
        wanted = select(
            Frame.camera_id, Frame.utc_offset, func.min(Frame.taken), func.max(Frame.taken)
        ).where(Frame.taken.is_not(None))
        for camera, offset, first, last in session.exec(
            wanted.group_by(Frame.camera_id, Frame.utc_offset)
        ).all():
            timings = list(read_clock_corrections(session, camera).values()) or [ClockCorrection(0)]
            taken = [seconds_of(moment, offset, zone) or 0.0 for moment in (first, last)]
            times += [timing.shoot_time(moment) for timing in timings for moment in taken]
    if not times:
        return None
    return datetime.fromtimestamp(min(times), shoot.zone), datetime.fromtimestamp(max(times), shoot.zone)
