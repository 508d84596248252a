"""The pace of the day: how many people arrive in an hour."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

WINDOW = timedelta(hours=1)


@dataclass(frozen=True, slots=True)
class Pace:
    """`arrived` people from `first` to `last`; `per_hour` in the last hour before `last`, or over the whole
    time where that is shorter. None where fewer than two have arrived."""

    arrived: int
    first: datetime | None = None
    last: datetime | None = None
    per_hour: float | None = None


def pace(arrivals: Sequence[datetime]) -> Pace:
    """The pace from the times of arrival, in any order.

    The first arrival of the window opens the count, so that two people half an hour apart are two in an hour.
    """
    times = sorted(arrivals)
    if len(times) < 2 or times[0] == times[-1]:
        return Pace(len(times), *((times[0], times[-1]) if times else ()))
    first, last = times[0], times[-1]
    counted = [time for time in times if last - time <= WINDOW]
    hours = (last - counted[0]) / timedelta(hours=1)
    rate = (len(counted) - 1) / hours if hours else float(len(counted))
    return Pace(len(times), first, last, rate)
