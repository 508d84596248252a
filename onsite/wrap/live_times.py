"""The shoot time of a camera's last frames, for the screen on set and while frames land."""

from __future__ import annotations

from collections.abc import Container, Sequence
from datetime import datetime, timezone

from sqlmodel import Session

from onsite.matching.evidence import FrameEvidence
from onsite.matching.match import MatchResult
from onsite.matching.order import shooting_lanes
from onsite.wrap.gather import frame_evidence
from onsite.wrap.timing import ClockCorrection, read_clock_corrections, timing_along


def live_times(
    session: Session,
    frames: Sequence[FrameEvidence],
    matched: Container[int],
    found: MatchResult,
    zone: timezone,
) -> dict[int, datetime]:
    """The shoot time, in `zone`, of each of one camera's frames that has a time. The whole match knew those
    in `matched`; `found` is what a match of nothing but these frames found.

    What the whole match said of a clock stands, and goes on for the frames after that until the clock is set.
    These frames' own evidence tells only where the whole match knew nothing yet.
    """
    kept = _as_kept(session, frames, matched, zone) if frames else {}
    times = {frame.id: frame.taken for frame in frames}  # the camera's own, for a frame that has no place
    for lane, clocks in zip(found.lanes, found.clocks, strict=True):
        for piece, clock in zip(lane.pieces, clocks, strict=True):
            timing = ClockCorrection.of(clock, lane.frames[piece.start].id)
            for frame in lane.frames[piece.start : piece.stop]:
                timing = kept.get(frame.id, timing)
                times[frame.id] = None if frame.taken is None else timing.shoot_time(frame.taken)
    return {frame: datetime.fromtimestamp(time, zone) for frame, time in times.items() if time is not None}


def _as_kept(
    session: Session, frames: Sequence[FrameEvidence], matched: Container[int], zone: timezone
) -> dict[int, ClockCorrection]:
    """How each frame that the whole match knew is timed by it.

    A stretch with one clock may have begun long before them: where it did is put in line with them.
    """
    timings = read_clock_corrections(session, frames[0].camera)
    if not timings:
        return {frame.id: ClockCorrection(0) for frame in frames if frame.id in matched}
    began = frame_evidence(session, zone, sorted(timings.keys() - {frame.id for frame in frames}))
    return {
        frame.id: timing
        for lane in shooting_lanes([*frames, *began])[0]
        for frame, timing in zip(lane.frames, timing_along(lane, timings), strict=True)
        if frame.id in matched
    }
