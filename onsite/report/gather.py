"""What a report is made from, out of the store."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from datetime import date

from sqlmodel import Session, col, func, select

from onsite.matching.evidence import FrameKind, NamedBy
from onsite.messages.languages import Languages
from onsite.progress.absent import is_over
from onsite.progress.batches import read_batches
from onsite.progress.read import read_everybody
from onsite.report.numbers import DeliveryLine, FrameCounts, ReportFacts
from onsite.report.timing import first_frames
from onsite.store.record import Event, EventKind, read_events
from onsite.store.shoot import Shoot
from onsite.store.tables import Frame, VerdictRow
from onsite.wrap.current import update_match

STEPS = 5
"""Parts in which a report's facts are read."""

Step = Callable[[int, int], None]


def gather_facts(shoot: Shoot, step: Step, of: int = STEPS) -> ReportFacts:
    """Everything, with names up to date. `step` is told how many of `of` parts are done."""
    update_match(shoot)
    step(1, of)
    with shoot.reading() as session:
        people = list(read_everybody(session, shoot).values())
        step(2, of)
        firsts = first_frames(session, shoot)
        step(3, of)
        batches = read_batches(session)
        delivered = read_events(session, (EventKind.DELIVERED,))
        step(4, of)
        frames = _frames(session)
    step(5, of)
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
    total = session.exec(select(func.count(col(Frame.id)))).one()
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
            max(event.at for event in delivery_number),
            tuple(sorted({str(event.details.get("set") or "") for event in delivery_number} - {""})),
            len(delivery_number),
            len({event.person_id for event in delivery_number}),
        )
        for number, delivery_number in sorted(numbered.items())
    )
