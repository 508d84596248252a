"""Reads the facts for a report from the store, including when each person was first photographed."""

from __future__ import annotations

from collections import defaultdict
from datetime import date, datetime, timedelta

from sqlmodel import Session, func, select

from onsite.core.progress import Progress
from onsite.matching.camera_clocks import camera_clocks
from onsite.matching.clock_offset import ClockOffset, OffsetSource
from onsite.matching.evidence import FrameKind, NamedBy
from onsite.matching.shooting_order import shooting_lanes
from onsite.messages.languages import Languages
from onsite.reconcile.current_match import update_match
from onsite.reconcile.gather_evidence import gather_evidence
from onsite.report.report_numbers import DeliveryLine, FrameCounts, ReportFacts
from onsite.status.batch_status import read_batches
from onsite.status.person_status import is_over
from onsite.status.read_status import read_everybody
from onsite.store.events import Event, EventKind, read_events
from onsite.store.schema import Frame, VerdictRow
from onsite.store.shoot import Shoot

STEPS = 5
"""Number of progress steps while the facts are read."""


def gather_facts(shoot: Shoot, progress: Progress, of: int = STEPS) -> ReportFacts:
    """All facts, after updating the match. `progress` is called with the steps done and `of`, their total."""
    update_match(shoot)
    progress(1, of)
    with shoot.reading() as session:
        people = list(read_everybody(session, shoot).values())
        progress(2, of)
        firsts = first_frames(session, shoot)
        progress(3, of)
        batches = read_batches(session)
        delivered = read_events(session, (EventKind.DELIVERED,))
        progress(4, of)
        frames = _frames(session)
    progress(5, of)
    settings = shoot.settings
    return ReportFacts(
        name=settings.name,
        client=settings.client,
        day=date.fromisoformat(settings.date) if settings.date else None,
        made=shoot.now(),
        over=is_over(shoot, people),
        agreed=settings.agreed,
        people=people,
        firsts=firsts,
        frames=frames,
        batches=batches,
        deliveries=_deliveries(delivered),
        delivered=len({(event.person_id, event.frame_id) for event in delivered}),
        language=Languages.of_shoot(settings).shoot,
    )


def _frames(session: Session) -> FrameCounts:
    total = session.exec(select(func.count(Frame.id))).one()
    rows = session.exec(
        select(VerdictRow.kind, VerdictRow.how, func.count()).group_by(VerdictRow.kind, VerdictRow.how)
    )
    kinds: dict[str, int] = defaultdict(int)
    by_hand = 0
    for kind, how, number in rows:
        kinds[kind] += number
        by_hand += number if how == NamedBy.OVERRIDE else 0
    runs = select(VerdictRow.run).where(VerdictRow.kind == FrameKind.LOOSE.value).distinct()
    return FrameCounts(
        total,
        kinds[FrameKind.NAMED],
        kinds[FrameKind.SLATE],
        kinds[FrameKind.LOOSE],
        kinds[FrameKind.SET_ASIDE],
        total - sum(kinds.values()),
        len(session.exec(runs).all()),
        by_hand,
    )


def _deliveries(events: list[Event]) -> tuple[DeliveryLine, ...]:
    numbered: dict[int, list[Event]] = defaultdict(list)
    for event in events:
        numbered[int(event.details.get("delivery") or 0)].append(event)
    return tuple(
        DeliveryLine(
            number,
            max(event.at for event in group),
            tuple(sorted({str(event.details.get("set") or "") for event in group} - {""})),
            len(group),
            len({event.person_id for event in group}),
        )
        for number, group in sorted(numbered.items())
    )


SURE = timedelta(minutes=5)
"""A camera clock that may be further off than this either way is no evidence of how long people waited. Our
own choice: the steps in which waits are reported."""


def first_frames(session: Session, shoot: Shoot) -> dict[int, datetime]:
    """Person id -> the time of their first frame by the stations' clock, aware, in the shoot's zone. People
    photographed by a camera whose clock offset is not certain enough are missing. Uses the last match."""
    whose = _named(session)
    evidence = gather_evidence(session, shoot)
    first: dict[int, float] = {}
    for lane in camera_clocks(shooting_lanes(evidence.frames)[0], evidence):
        for piece, clock in zip(lane.pieces, lane.clocks, strict=True):
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
        VerdictRow.kind == "named", VerdictRow.person_id.is_not(None)
    )
    return {frame: person for frame, person in session.exec(wanted) if person is not None}
