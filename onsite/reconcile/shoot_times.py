"""Shoot times: the cameras' times, corrected by the clock offsets of the last match.

Stored beside the verdicts, one row for each piece of a lane with a wrong clock, so that screens and lists
show shoot time without matching again. The camera's own times stay as they were written.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import datetime, timedelta, timezone

import sqlalchemy as sa
from sqlalchemy import delete, insert
from sqlmodel import Session, func, select

from onsite.core.text import format_day
from onsite.core.times import format_clock_time
from onsite.matching.clock_offset import DAY, ClockOffset
from onsite.matching.evidence import FrameEvidence
from onsite.matching.match_frames import MatchResult
from onsite.matching.shooting_order import ClockJump, ShootingLane, shooting_lanes
from onsite.reconcile.gather_evidence import camera_zone, seconds_of
from onsite.store import schema
from onsite.store.schema import Camera, Frame
from onsite.store.shoot import Shoot


@dataclass(frozen=True, slots=True)
class ClockCorrection:
    """The correction from `first_frame` on in its lane (`schema.ClockCorrectionRow` describes the fields)."""

    first_frame: int
    correction: float = 0.0
    drift: float = 0.0
    at: float = 0.0
    set_forward: float = 0.0

    @classmethod
    def of(cls, clock: ClockOffset, first_frame: int, set_forward: float = 0.0) -> ClockCorrection:
        """The correction that follows from a clock offset."""
        return cls(first_frame, clock.correction, clock.drift, clock.at, set_forward)

    def shoot_time(self, taken: float) -> float:
        """The time to show for a camera's time, both in seconds since 1970 UTC."""
        return taken + self.correction + self.drift * (taken - self.at) / DAY


Timings = Mapping[int, ClockCorrection]
"""Clock corrections by their first frame."""


def clock_corrections(outcome: MatchResult) -> list[ClockCorrection]:
    """The corrections of a match, in the order of their first frames. Pieces after a wrong one are included,
    right or not."""
    found = []
    for lane in outcome.lanes:
        forward = {jump.after: jump.seconds for jump in lane.jumps if jump.seconds > 0}
        wrong = False
        for piece, clock in zip(lane.pieces, lane.clocks, strict=True):
            first = lane.frames[piece.start].id
            timing = ClockCorrection.of(clock, first, forward.get(first, 0.0))
            wrong = wrong or timing != ClockCorrection(first)
            if wrong:
                found.append(timing)
    return sorted(found, key=lambda timing: timing.first_frame)


def read_clock_corrections(session: Session, camera: int | None = None) -> dict[int, ClockCorrection]:
    """The corrections of the last match, of all cameras or of one."""
    wanted = select(schema.ClockCorrectionRow).order_by(schema.ClockCorrectionRow.first_frame)
    if camera is not None:
        wanted = wanted.join(Frame, Frame.id == schema.ClockCorrectionRow.first_frame)
        wanted = wanted.where(Frame.camera_id == camera)
    rows = session.exec(wanted).all()
    return {row.first_frame: ClockCorrection(**row.model_dump()) for row in rows}


def save_clock_corrections(session: Session, timings: Sequence[ClockCorrection]) -> None:
    """Replace the stored corrections where they differ."""
    if list(read_clock_corrections(session).values()) == list(timings):
        return
    session.execute(delete(schema.ClockCorrectionRow))
    if timings:
        session.execute(insert(schema.ClockCorrectionRow), [asdict(timing) for timing in timings])


def timing_along(lane: ShootingLane, timings: Timings) -> Iterator[ClockCorrection]:
    """The correction of each frame of a lane."""
    timing = ClockCorrection(0)
    for frame in lane.frames:
        timing = timings.get(frame.id, timing)
        yield timing


def shoot_times(lane: ShootingLane, timings: Timings) -> list[float | None]:
    """The shoot time of each frame of a lane, in seconds since 1970 UTC; None where it has no time."""
    return [
        None if frame.taken is None else timing.shoot_time(frame.taken)
        for frame, timing in zip(lane.frames, timing_along(lane, timings), strict=True)
    ]


def with_forward(lane: ShootingLane, timings: Timings) -> ShootingLane:
    """The lane with the forward clock jumps that the last match found in it."""
    if not any(timing.set_forward for timing in timings.values()):
        return lane
    forward = [
        ClockJump(before.id, after.id, timing.set_forward)
        for before, after in zip(lane.frames, lane.frames[1:], strict=False)
        if (timing := timings.get(after.id)) is not None and timing.set_forward
    ]
    return replace(lane, jumps=(*lane.jumps, *forward))


def wrong_clocks(session: Session) -> set[int]:
    """The cameras whose clock the last match found wrong, all day or for a part of it."""
    wanted = select(Frame.camera_id).join(
        schema.ClockCorrectionRow, schema.ClockCorrectionRow.first_frame == Frame.id
    )
    return set(session.exec(wanted))


def corrected_times(
    session: Session, zone: timezone, cameras: Collection[int] | None = None
) -> dict[int, datetime]:
    """The shoot time, in `zone`, of each frame with a time whose camera's own time differs from it: written
    in another zone, or by a wrong clock. `cameras` limits the result."""
    timings = read_clock_corrections(session)
    wanted = sa.select(
        Frame.id, Frame.camera_id, Frame.name, Frame.taken, Frame.utc_offset, Frame.counter, Frame.source
    )
    if cameras is not None:
        wanted = wanted.where(Frame.camera_id.in_(cameras))
    rows = session.execute(wanted).all()
    sure = {camera for camera, serial in session.exec(select(Camera.id, Camera.serial)) if serial}
    own = {row[0]: row[3] for row in rows}
    frames = [
        FrameEvidence(frame, camera, name, seconds_of(taken, offset, zone), counter, source, camera in sure)
        for frame, camera, name, taken, offset, counter, source in rows
    ]
    times = {frame.id: frame.taken for frame in frames}
    if timings:
        for lane in shooting_lanes(frames)[0]:
            times.update(zip((f.id for f in lane.frames), shoot_times(lane, timings), strict=True))
    shown = {i: datetime.fromtimestamp(t, zone) for i, t in times.items() if t is not None}
    return {i: time for i, time in shown.items() if time.replace(tzinfo=None) != own[i]}


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
