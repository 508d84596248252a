"""The queue: who has arrived and was not photographed yet, and who was checked in last."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from statistics import median
from typing import Generic, Protocol, TypeVar

from onsite.roster.find import Someone


class InQueue(Protocol):
    """What the queue needs to know of a person."""

    @property
    def person(self) -> Someone: ...
    @property
    def arrived(self) -> datetime | None: ...
    @property
    def arrival(self) -> int | None: ...
    @property
    def frames(self) -> int: ...


T = TypeVar("T", bound=InQueue)


@dataclass(frozen=True, slots=True)
class Waiting(Generic[T]):
    """Somebody in the queue, and for how many seconds they have waited."""

    standing: T
    seconds: float


def waiting(standings: Iterable[T], now: datetime, without: Collection[int] = ()) -> list[Waiting[T]]:
    """Who has arrived and has no frames, in order of arrival; the first is next on set.

    `without` are the ids of people who are on set now, such as those whose slate was shown last.
    """
    here = [
        (s.arrived, s.person.sequence or 0, s)
        for s in standings
        if s.arrived is not None and not s.frames and s.person.id not in without
    ]
    here.sort(key=lambda one: one[:2])
    return [Waiting(s, max(0.0, (now - arrived).total_seconds())) for arrived, _, s in here]


def longest(queue: Sequence[Waiting[T]]) -> Waiting[T] | None:
    """Who has waited longest."""
    return max(queue, key=lambda one: one.seconds, default=None)


def median_wait(queue: Sequence[Waiting[T]]) -> float | None:
    """The waiting time, in seconds, that half of them are above; None when nobody waits."""
    return median(one.seconds for one in queue) if queue else None


def recent_arrivals(standings: Iterable[T], limit: int) -> list[T]:
    """Who was checked in last, the last one first, whatever time of arrival was given."""
    here = [s for s in standings if s.arrived is not None]
    here.sort(key=lambda s: (s.arrival or 0, s.arrived), reverse=True)
    return here[:limit]
