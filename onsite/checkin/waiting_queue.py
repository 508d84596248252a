"""The queue: people who have arrived and were not photographed yet, and the most recent arrivals."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Generic, Protocol, TypeVar

from onsite.roster.find_people import RosterPerson


class InQueue(Protocol):
    """What the queue needs to know about a person."""

    @property
    def person(self) -> RosterPerson: ...
    @property
    def arrived(self) -> datetime | None: ...
    @property
    def arrival(self) -> int | None: ...
    @property
    def frames(self) -> int: ...


T = TypeVar("T", bound=InQueue)


@dataclass(frozen=True, slots=True)
class WaitingPerson(Generic[T]):
    """A person in the queue, and how many seconds they have waited."""

    status: T
    seconds: float


def waiting_people(
    statuses: Iterable[T], now: datetime, without: Collection[int] = ()
) -> list[WaitingPerson[T]]:
    """The people who have arrived and have no frames, in order of arrival; the first is next on set.

    `without` are the ids of people who are on set now, such as the person whose slate was shown last.
    """
    here = [
        (s.arrived, s.person.sequence or 0, s)
        for s in statuses
        if s.arrived is not None and not s.frames and s.person.id not in without
    ]
    here.sort(key=lambda row: row[:2])
    return [WaitingPerson(s, max(0.0, (now - arrived).total_seconds())) for arrived, _, s in here]


def recent_arrivals(statuses: Iterable[T], limit: int) -> list[T]:
    """The most recent check-ins, the last first, whatever time of arrival was entered."""
    here = [s for s in statuses if s.arrived is not None]
    here.sort(key=lambda s: (s.arrival or 0, s.arrived), reverse=True)
    return here[:limit]
