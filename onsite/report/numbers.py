"""The numbers of a report: counted from how everybody stands and from what became of the pictures. Pure."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from itertools import pairwise
from statistics import median

from onsite.progress.absent import is_absent
from onsite.progress.batches import Batch
from onsite.progress.stage import (
    Stage,
    Standing,
    come_so_far,
    count_groups,
    count_stages,
    count_withheld,
    reached,
    stage_of_pick,
)
from onsite.progress.waits import Wait, who_waits
from onsite.roster.groups import place_of
from onsite.roster.publication import Reason
from onsite.store.agreed import Agreed
from onsite.words import amount

SLOT = timedelta(minutes=15)
"""Of the pace over the day."""

WAITED_UP_TO = (5, 10, 20, 30, 60)
"""Minutes at which the waits are told apart. Own choice."""

_SANE = timedelta(hours=16)
"""Somebody waits no longer than this on one day: more is another day, or a clock far off. Own choice."""


@dataclass(frozen=True, slots=True)
class Delivery:
    """What was handed over under one number: when last, which sets, how many files, for how many people."""

    number: int
    at: datetime
    sets: tuple[str, ...]
    files: int
    people: int


@dataclass(frozen=True, slots=True)
class Frames:
    """`total` frames in = `named` + `slates` + `loose` + `aside` + `unmatched`. `loose` ones lie in
    `loose_runs`; of the others `by_hand` were settled by hand."""

    total: int = 0
    named: int = 0
    slates: int = 0
    loose: int = 0
    aside: int = 0
    unmatched: int = 0
    loose_runs: int = 0
    by_hand: int = 0


@dataclass(frozen=True, slots=True)
class Facts:
    """What a report is made from, out of the store. `firsts` are the times of people's first frames as far as
    they are known; `delivered` how many pictures were handed over. Times are in the shoot's zone."""

    name: str
    client: str
    day: date | None
    made: datetime
    over: bool
    agreed: Agreed
    people: Sequence[Standing]
    firsts: Mapping[int, datetime]
    frames: Frames
    batches: Sequence[Batch] = ()
    deliveries: Sequence[Delivery] = ()
    delivered: int = 0
    language: str = "en"
    """The tag of the language in which the client reads it."""


@dataclass(frozen=True, slots=True)
class GroupLine:
    """A group: how many count, how many of them came and are photographed, and `stages` as `come_so_far`."""

    name: str
    people: int
    came: int
    photographed: int
    stages: Mapping[Stage, int]


@dataclass(frozen=True, slots=True)
class Slot:
    """A quarter of an hour of a day."""

    start: datetime
    arrived: int
    photographed: int


@dataclass(frozen=True, slots=True)
class Waited:
    """How long people waited on the day, from arriving to their first frame, in minutes: of `known` of them.
    `bins` are (from, up to, people); the last goes on without end (None)."""

    known: int = 0
    median: float | None = None
    longest: float | None = None
    bins: tuple[tuple[int, int | None, int], ...] = ()


@dataclass(frozen=True, slots=True)
class WaitLine:
    """How many wait for something after the shoot, and since when the first of them."""

    what: Wait
    people: int
    since: datetime | None


@dataclass(frozen=True, slots=True)
class Picks:
    """`people` have picked `pictures`, with `notes` on them for the retoucher."""

    people: int = 0
    pictures: int = 0
    notes: int = 0
    over: int = 0
    """People with more than was agreed."""


@dataclass(frozen=True, slots=True)
class Costs:
    """`retouch` is what the batches cost, by currency; `unpriced` have no price. `bill` is what the client
    pays for the `delivered` pictures, None where no price was agreed."""

    retouch: tuple[tuple[str, Decimal], ...] = ()
    unpriced: int = 0
    delivered: int = 0
    price: Decimal | None = None
    bill: Decimal | None = None
    currency: str = ""


@dataclass(frozen=True, slots=True)
class Numbers:
    """All that a report tells."""

    people: int
    photographed: int
    absent: int
    withheld: Mapping[Reason, int]
    """How many may not be published, by reason."""
    stages: Mapping[Stage, int]
    """As `come_so_far`."""
    groups: tuple[GroupLine, ...]
    pace: tuple[Slot, ...]
    waited: Waited
    frames: Frames
    frames_each: tuple[tuple[int, int], ...]
    """(frames, people with so many), of those who have any."""
    never_came: tuple[Standing, ...]
    waits: tuple[WaitLine, ...]
    picks: Picks
    pictures: Mapping[Stage, int]
    """How far the picked pictures are."""
    batches: tuple[Batch, ...]
    costs: Costs
    deliveries: tuple[Delivery, ...]

    @property
    def to_publish(self) -> int:
        """How many may be published."""
        return self.people - sum(self.withheld.values())


def count(facts: Facts) -> Numbers:
    people = [s for s in facts.people if s.counts]
    stages = come_so_far(count_stages(people))
    never = tuple(s for s in people if s.stage is Stage.EXPECTED)
    picked = [pick for s in people for pick in s.after.picks]
    return Numbers(
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
        never_came=tuple(sorted(never, key=lambda s: (place_of(s.person.group), s.person.id))),
        waits=_waits(people, facts.made),
        picks=Picks(
            sum(bool(s.after.picks) for s in people),
            len(picked),
            sum(bool(pick.note) for pick in picked) + sum(bool(s.after.note) for s in people),
            sum(len(s.after.picks) > facts.agreed.picks for s in people),
        ),
        pictures=Counter(stage_of_pick(pick) for pick in picked),
        batches=tuple(facts.batches),
        costs=_costs(facts),
        deliveries=tuple(facts.deliveries),
    )


def _groups(people: Iterable[Standing]) -> tuple[GroupLine, ...]:
    return tuple(
        GroupLine(
            name,
            sum(stages.values()),
            reached(stages, Stage.ARRIVED),
            reached(stages, Stage.PHOTOGRAPHED),
            come_so_far(stages),
        )
        for name, stages in count_groups(people).items()
    )


def _pace(people: Iterable[Standing], firsts: Mapping[int, datetime], made: datetime) -> tuple[Slot, ...]:
    """Only the quarters of an hour in which something happened, and those between them on the same day."""
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


def _waited(people: Iterable[Standing], firsts: Mapping[int, datetime]) -> Waited:
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


def _waits(people: Iterable[Standing], now: datetime) -> tuple[WaitLine, ...]:
    groups = who_waits(people, now)
    return tuple(
        WaitLine(what, len(those), those[0].since if those else None) for what, those in groups.items()
    )


def _costs(facts: Facts) -> Costs:
    spent: dict[str, Decimal] = defaultdict(Decimal)
    for batch in facts.batches:
        if batch.price is not None:
            spent[batch.currency] += batch.price
    price = amount(facts.agreed.price)
    return Costs(
        tuple(sorted(spent.items())),
        sum(batch.price is None for batch in facts.batches),
        facts.delivered,
        price,
        None if price is None else price * facts.delivered,
        facts.agreed.currency,
    )
