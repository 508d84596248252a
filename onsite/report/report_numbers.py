"""Counts the numbers of a report from everybody's status and the pictures' stages. Pure."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from itertools import pairwise
from statistics import median

from onsite.core.text import parse_amount
from onsite.roster.publication_consent import WithholdingReason
from onsite.roster.roster_groups import group_sort_key
from onsite.status.batch_status import Batch
from onsite.status.person_status import (
    PersonStatus,
    Stage,
    WaitingFor,
    count_withheld,
    cumulative_counts,
    is_absent,
    open_work,
    people_by_group,
    stage_of_pick,
)
from onsite.store.settings import Agreement

SLOT = timedelta(minutes=15)
"""Interval of the pace over the day."""

WAITED_UP_TO = (5, 10, 20, 30, 60)
"""Limits, in minutes, of the intervals in which waits are counted. Our own choice."""

_SANE = timedelta(hours=16)
"""The longest plausible wait: more is another day, or a clock far off. Our own choice."""


@dataclass(frozen=True, slots=True)
class DeliveryLine:
    """A delivery."""

    number: int
    at: datetime  # of its last part
    sets: tuple[str, ...]
    files: int
    people: int


@dataclass(frozen=True, slots=True)
class FrameCounts:
    """`total` frames in = `named` + `slates` + `loose` + `aside` + `unmatched`."""

    total: int = 0
    named: int = 0
    slates: int = 0
    loose: int = 0
    aside: int = 0
    unmatched: int = 0
    loose_runs: int = 0  # runs with loose frames
    by_hand: int = 0  # frames with an override


@dataclass(frozen=True, slots=True)
class ReportFacts:
    """The facts that a report is made from. Times are in the shoot's zone."""

    name: str
    client: str
    day: date | None
    made: datetime
    over: bool
    agreed: Agreement
    people: Sequence[PersonStatus]
    firsts: Mapping[int, datetime]  # person id -> time of the first frame, as far as known
    frames: FrameCounts
    batches: Sequence[Batch] = ()
    deliveries: Sequence[DeliveryLine] = ()
    delivered: int = 0  # pictures
    language: str = "en"
    """Tag of the client's language."""


@dataclass(frozen=True, slots=True)
class GroupLine:
    """A group."""

    name: str
    people: int  # who count
    came: int
    photographed: int
    stages: Mapping[Stage, int]  # cumulative


@dataclass(frozen=True, slots=True)
class Slot:
    """A quarter of an hour."""

    start: datetime
    arrived: int
    photographed: int


@dataclass(frozen=True, slots=True)
class Waited:
    """Minutes that people waited on the day, from arriving to their first frame."""

    known: int = 0  # people whose wait is known
    median: float | None = None
    longest: float | None = None
    bins: tuple[tuple[int, int | None, int], ...] = ()  # (from, up to, people); the last has no end


@dataclass(frozen=True, slots=True)
class WaitLine:
    """Open work after the shoot: how many people wait for it."""

    what: WaitingFor
    people: int
    since: datetime | None  # beginning of the longest wait


@dataclass(frozen=True, slots=True)
class PickTotals:
    """The picks."""

    people: int = 0  # who have picked
    pictures: int = 0
    notes: int = 0  # for the retoucher
    over: int = 0
    """People with more picks than agreed."""


@dataclass(frozen=True, slots=True)
class Costs:
    """Costs of retouching and the client's bill."""

    retouch: tuple[tuple[str, Decimal], ...] = ()  # (currency, sum of the batches)
    unpriced: int = 0  # batches without a price
    delivered: int = 0  # pictures
    price: Decimal | None = None  # for each picture, None where none was agreed
    bill: Decimal | None = None
    currency: str = ""


@dataclass(frozen=True, slots=True)
class ReportNumbers:
    """All numbers of a report."""

    people: int
    photographed: int
    absent: int
    withheld: Mapping[WithholdingReason, int]
    """People who may not be published, by reason."""
    stages: Mapping[Stage, int]
    """Cumulative."""
    groups: tuple[GroupLine, ...]
    pace: tuple[Slot, ...]
    waited: Waited
    frames: FrameCounts
    frames_each: tuple[tuple[int, int], ...]
    """(frames, people with so many), for people who have any."""
    never_came: tuple[PersonStatus, ...]
    waits: tuple[WaitLine, ...]
    picks: PickTotals
    pictures: Mapping[Stage, int]
    """Picked pictures by stage."""
    batches: tuple[Batch, ...]
    costs: Costs
    deliveries: tuple[DeliveryLine, ...]

    @property
    def to_publish(self) -> int:
        """People who may be published."""
        return self.people - sum(self.withheld.values())


def count_report(facts: ReportFacts) -> ReportNumbers:
    """Counts all numbers of a report."""
    people = [s for s in facts.people if s.counts]
    stages = cumulative_counts(people)
    never = tuple(s for s in people if s.stage is Stage.EXPECTED)
    picked = [pick for s in people for pick in s.pictures.picks]
    return ReportNumbers(
        people=len(people),
        photographed=stages[Stage.PHOTOGRAPHED],
        absent=sum(is_absent(s, facts.over) for s in people),
        withheld=count_withheld(people),
        stages=stages,
        groups=_groups(people),
        pace=_pace(people, facts.firsts, facts.made),
        waited=_waited(people, facts.firsts),
        frames=facts.frames,
        frames_each=tuple(sorted(Counter(s.frames for s in people if s.frames).items())),
        never_came=tuple(sorted(never, key=lambda s: (group_sort_key(s.person.group), s.person.id))),
        waits=_waits(people, facts.made),
        picks=PickTotals(
            sum(bool(s.pictures.picks) for s in people),
            len(picked),
            sum(bool(pick.note) for pick in picked) + sum(bool(s.pictures.note) for s in people),
            sum(len(s.pictures.picks) > facts.agreed.picks for s in people),
        ),
        pictures=Counter(stage_of_pick(pick) for pick in picked),
        batches=tuple(facts.batches),
        costs=_costs(facts),
        deliveries=tuple(facts.deliveries),
    )


def _groups(people: Iterable[PersonStatus]) -> tuple[GroupLine, ...]:
    return tuple(
        GroupLine(name, len(group), stages[Stage.ARRIVED], stages[Stage.PHOTOGRAPHED], stages)
        for name, group in people_by_group(people).items()
        for stages in [cumulative_counts(group)]
    )


def _pace(people: Iterable[PersonStatus], firsts: Mapping[int, datetime], made: datetime) -> tuple[Slot, ...]:
    """The quarters of an hour between the first and the last event of each day."""
    arrived = Counter(_slot(s.arrived.astimezone(made.tzinfo)) for s in people if s.arrived is not None)
    shot = Counter(_slot(firsts[s.person.id]) for s in people if s.person.id in firsts)
    days: dict[date, list[datetime]] = defaultdict(list)
    for start in (*arrived, *shot):
        days[start.date()].append(start)
    slots: list[Slot] = []
    for day in sorted(days):
        start, last = min(days[day]), max(days[day])
        while start <= last:
            slots.append(Slot(start, arrived[start], shot[start]))
            start += SLOT
    return tuple(slots)


def _slot(moment: datetime) -> datetime:
    return moment.replace(minute=moment.minute // 15 * 15, second=0, microsecond=0)


def _waited(people: Iterable[PersonStatus], firsts: Mapping[int, datetime]) -> Waited:
    waits = [
        firsts[s.person.id] - s.arrived for s in people if s.arrived is not None and s.person.id in firsts
    ]
    minutes = [max(wait, timedelta()) / timedelta(minutes=1) for wait in waits if wait <= _SANE]
    if not minutes:
        return Waited()
    edges = (0, *WAITED_UP_TO, None)
    bins = tuple(
        (low, high, sum(low <= wait and (high is None or wait < high) for wait in minutes))
        for low, high in pairwise(edges)
        if low is not None
    )
    return Waited(len(minutes), median(minutes), max(minutes), bins)


def _waits(people: Iterable[PersonStatus], now: datetime) -> tuple[WaitLine, ...]:
    groups = open_work(people, now)
    return tuple(
        WaitLine(what, len(waiting), waiting[0].since if waiting else None)
        for what, waiting in groups.items()
    )


def _costs(facts: ReportFacts) -> Costs:
    spent: dict[str, Decimal] = defaultdict(Decimal)
    for batch in facts.batches:
        if batch.price is not None:
            spent[batch.currency] += batch.price
    price = parse_amount(facts.agreed.price)
    return Costs(
        tuple(sorted(spent.items())),
        sum(batch.price is None for batch in facts.batches),
        facts.delivered,
        price,
        None if price is None else price * facts.delivered,
        facts.agreed.currency,
    )
