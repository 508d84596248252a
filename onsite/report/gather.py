"""What a report is made from, out of the store."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from datetime import date

from sqlmodel import Session, col, func, select

from onsite.matching.evidence import FrameKind, How
from onsite.messages.languages import Languages
from onsite.progress.absent import is_over
from onsite.progress.batches import read_batches
from onsite.progress.read import read_everybody
from onsite.report.numbers import Delivery, Facts, Frames
from onsite.report.timing import first_frames
from onsite.store.record import Happening, Kind, happened
from onsite.store.shoot import Shoot
from onsite.store.tables import Frame, Verdict
from onsite.wrap.current import bring_up_to_date

STEPS = 5
"""Parts in which a report's facts are read."""

Step = Callable[[int, int], None]


def gather(shoot: Shoot, step: Step, of: int = STEPS) -> Facts:
    """Everything, with names up to date. `step` is told how many of `of` parts are done."""
    bring_up_to_date(shoot)
    step(1, of)
    with shoot.reading() as session:
        people = list(read_everybody(session, shoot).values())
        step(2, of)
        firsts = first_frames(session, shoot)
        step(3, of)
        batches = read_batches(session)
        delivered = happened(session, (Kind.DELIVERED,))
        step(4, of)
        frames = _frames(session)
    step(5, of)
    settings = shoot.settings
    return Facts(
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


def _frames(session: Session) -> Frames:
    total = session.exec(select(func.count(col(Frame.id)))).one()
    rows = session.exec(select(Verdict.kind, Verdict.how, func.count()).group_by(Verdict.kind, Verdict.how))
    kinds: dict[str, int] = defaultdict(int)
    by_hand = 0
    for kind, how, number in rows:
        kinds[kind] += number
        by_hand += number if how == How.HAND else 0
    runs = select(Verdict.run).where(Verdict.kind == FrameKind.LOOSE.value).distinct()
    return Frames(
        total,
        kinds[FrameKind.NAMED],
        kinds[FrameKind.SLATE],
        kinds[FrameKind.LOOSE],
        kinds[FrameKind.ASIDE],
        total - sum(kinds.values()),
        len(session.exec(runs).all()),
        by_hand,
    )


def _deliveries(events: list[Happening]) -> tuple[Delivery, ...]:
    numbered: dict[int, list[Happening]] = defaultdict(list)
    for event in events:
        numbered[int(event.details.get("delivery") or 0)].append(event)
    return tuple(
        Delivery(
            number,
            max(event.at for event in some),
            tuple(sorted({str(event.details.get("set") or "") for event in some} - {""})),
            len(some),
            len({event.person_id for event in some}),
        )
        for number, some in sorted(numbered.items())
    )
