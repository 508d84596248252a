"""When people were photographed, by the stations' time, as far as the cameras' clocks can be told."""

from __future__ import annotations

from datetime import datetime, timedelta

from sqlmodel import Session, col, select

from onsite.matching.clocks import ClockOffset, OffsetSource
from onsite.matching.order import shooting_lanes
from onsite.matching.set_meanwhile import with_clocks
from onsite.store.shoot import Shoot
from onsite.store.tables import VerdictRow
from onsite.wrap.gather import gather_evidence

SURE = timedelta(minutes=5)
"""A clock that may be farther off than this either way tells nothing of how long somebody waited. Own choice:
waits are told in steps of that size."""


def first_frames(session: Session, shoot: Shoot) -> dict[int, datetime]:
    """Person id -> when their first frame was taken by the stations' time, aware, in the shoot's zone; nobody
    whose camera's clock cannot be told well enough. Frames as last matched."""
    whose = _named(session)
    evidence = gather_evidence(session, shoot)
    first: dict[int, float] = {}
    for whole in shooting_lanes(evidence.frames)[0]:
        lane, clocks = with_clocks(whole, evidence)
        for piece, clock in zip(lane.pieces, clocks, strict=True):
            if not _is_sure(clock):
                continue
            for place in piece:
                frame = lane.frames[place]
                person = whose.get(frame.id)
                if person is not None and frame.taken is not None:
                    moment = frame.taken + clock.offset
                    first[person] = min(first.get(person, moment), moment)
    return {person: datetime.fromtimestamp(moment, shoot.zone) for person, moment in first.items()}


def _is_sure(clock: ClockOffset) -> bool:
    if clock.source is OffsetSource.NOTHING:
        return False
    return max(clock.high - clock.offset, clock.offset - clock.low) <= SURE.total_seconds()


def _named(session: Session) -> dict[int, int]:
    wanted = select(VerdictRow.frame_id, VerdictRow.person_id).where(
        VerdictRow.kind == "named", col(VerdictRow.person_id).is_not(None)
    )
    return {frame: person for frame, person in session.exec(wanted) if person is not None}
