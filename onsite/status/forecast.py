"""Forecast for the day: pace, expected end, and whether the planned end leaves enough time.

The planned end comes from the settings, else from the last slot in the roster.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, time, timedelta
from enum import StrEnum
from itertools import pairwise
from statistics import median_low
from typing import Any

from onsite.core.text import escaped
from onsite.core.times import format_duration
from onsite.status.day_plan import last_time, planned_end
from onsite.status.person_status import PersonStatus, Stage

LEAST = 3
"""People from whom a pace is computed. Our own choice: two turns, of which one may be unusual."""

_FRESH = timedelta(hours=12)
"""Times farther from now belong to another day, or to a camera whose clock is far off: they give no pace. Our
own choice."""

_FARTHEST = timedelta(days=30)
"""An end farther away than this is no forecast."""

_STEP = 300
"""Seconds to which times in the sentence are rounded."""


class PaceOf(StrEnum):
    """What the pace was computed from."""

    PHOTOGRAPHED = "photographed"
    ARRIVED = "arrived"
    """No frames are known yet, as when memory cards are read in the evening: the end is when everybody is
    here."""
    NOBODY = "nobody"


@dataclass(frozen=True, slots=True)
class DayForecast:
    """What the pace predicts. Times are in the zone of `now`; None where too little is known."""

    now: datetime
    waiting: int
    """People who are here and not photographed."""
    expected: int
    """People who are not here."""
    left: int
    """People still to be done."""
    pace_of: PaceOf
    known_from: int
    """Number of people whose times give the pace."""
    per_hour: float | None = None
    """People an hour."""
    end: datetime | None = None
    """When all of them are done."""
    planned: datetime | None = None
    """When they should be done."""
    by_slots: bool = False
    """Whether the planned end is the last slot in the roster."""
    spare: timedelta | None = None
    """Time from `end` to `planned`; negative where the day is too short."""
    fitting: int | None = None
    """How many of the `expected` still fit in."""
    unread: str = ""
    """The planned end as written in the settings, where that is not a time."""


def make_forecast(
    arrivals: Sequence[datetime],
    photographed: Sequence[datetime],
    waiting: int,
    expected: int,
    now: datetime,
    ends: time | None = None,
    by_slots: bool = False,
) -> DayForecast:
    """Forecast from the times of arrival and of people's first frames, in any order.

    `waiting` people have arrived and have no frames, `expected` people have not arrived. The pace is that of
    the set, or of the door where fewer than `LEAST` people have frames. `now` is aware, in the shoot's zone;
    `ends` is the planned end in that zone.
    """
    arrivals, photographed = _fresh(arrivals, now), _fresh(photographed, now)
    if len(photographed) >= LEAST or len(photographed) >= len(arrivals):
        pace_of, times, left = PaceOf.PHOTOGRAPHED, photographed, waiting + expected
    else:
        pace_of, times, left = PaceOf.ARRIVED, arrivals, expected
    if not times:
        pace_of = PaceOf.NOBODY
    rate = pace(times).per_hour if len(times) >= LEAST else None
    planned = _planned(now, ends, [*arrivals, *photographed])
    end = _after(now, left / rate) if rate else (now if not left else None)
    spare = planned.astimezone(UTC) - end.astimezone(UTC) if planned and end else None
    fitting = None
    if planned and rate:
        hours = max(0.0, (planned.astimezone(UTC) - now.astimezone(UTC)) / timedelta(hours=1))
        fitting = max(0, min(expected, int(hours * rate + 1e-9) - (left - expected)))
    told_by_slots = by_slots and planned is not None
    return DayForecast(
        now, waiting, expected, left, pace_of, len(times), rate, end, planned, told_by_slots, spare, fitting
    )


def day_forecast(everybody: Iterable[PersonStatus], ends: str, now: datetime) -> DayForecast:
    """Forecast for these people; `ends` as in the settings. Withdrawn people are not expected."""
    listed = list(everybody)
    plan = planned_end(ends, (s.slot for s in listed if not s.person.withdrawn))
    computed = make_forecast(
        [s.arrived for s in listed if s.arrived is not None],
        [s.first_frame for s in listed if s.first_frame is not None],
        sum(s.stage is Stage.ARRIVED for s in listed),
        sum(s.stage is Stage.EXPECTED and not s.person.withdrawn for s in listed),
        now,
        plan.at,
        plan.by_slots,
    )
    return replace(computed, unread=plan.unread)


def forecast_data(forecast: DayForecast) -> dict[str, Any]:
    """The forecast for JSON: times as ISO 8601, null where too little is known."""
    by_set = forecast.pace_of is PaceOf.PHOTOGRAPHED
    return {
        "forecast": forecast_text(forecast),
        "pace_of": forecast.pace_of.value,
        "pace_known_from": forecast.known_from,
        "photographed_per_hour": round(forecast.per_hour, 1) if forecast.per_hour and by_set else None,
        "still_to_do": forecast.left,
        "expected_end": forecast.end.isoformat(timespec="seconds") if forecast.end else None,
        "planned_end": forecast.planned.isoformat(timespec="seconds") if forecast.planned else None,
        "planned_end_is_last_slot": forecast.by_slots,
        "spare_minutes": round(forecast.spare.total_seconds() / 60) if forecast.spare is not None else None,
        "expected_that_fit": forecast.fitting,
    }


def forecast_text(forecast: DayForecast) -> str:
    """The forecast in one line: "52 an hour · done about 16:40 · 20 min spare"."""
    parts = [*_pace_text(forecast), *_end_text(forecast)]
    if forecast.unread:
        parts.append(f"the end {escaped(forecast.unread)} in shoot.toml is not a time")
    return " · ".join(parts)


def _pace_text(forecast: DayForecast) -> list[str]:
    if forecast.per_hour is None:
        if not forecast.left:
            return []
        return [f"pace after {LEAST} people"]
    rate = f"{forecast.per_hour:.0f}" if forecast.per_hour >= 1 else f"{forecast.per_hour:.1f}"
    return [f"{rate} an hour" if forecast.pace_of is PaceOf.PHOTOGRAPHED else f"{rate} an hour arrive"]


def _end_text(forecast: DayForecast) -> list[str]:
    if not forecast.left:
        return ["everybody is done" if forecast.pace_of is PaceOf.PHOTOGRAPHED else "nobody is expected"]
    planned = _plan_text(forecast)
    if forecast.end is None:
        return [planned] if planned else []
    end = _rounded(forecast.end)
    day = "" if end.date() == forecast.now.date() else f"{end:%Y-%m-%d} "
    done = "done" if forecast.pace_of is PaceOf.PHOTOGRAPHED else "all here"
    parts = [f"{done} about {day}{end:%H:%M}"]
    if forecast.planned is not None:
        parts += _spare_text(
            forecast, (forecast.planned.astimezone(UTC) - end.astimezone(UTC)).total_seconds()
        )
    return parts


def _spare_text(forecast: DayForecast, spare: float) -> list[str]:
    slot = f" the last slot, {forecast.planned:%H:%M}" if forecast.by_slots else ""
    if spare >= 0:
        return [
            f"{format_duration(spare)} spare{slot and ' before' + slot}"
            if spare
            else f"just in time{slot and ' for' + slot}"
        ]
    parts = [f"{format_duration(-spare)} after{slot}" if slot else f"{format_duration(-spare)} too long"]
    if forecast.fitting is not None and forecast.fitting < forecast.expected:
        parts.append(f"{forecast.fitting} of {forecast.expected} expected still fit")
    return parts


def _plan_text(forecast: DayForecast) -> str:
    if forecast.planned is None:
        return ""
    return f"{'last slot' if forecast.by_slots else 'planned end'} {forecast.planned:%H:%M}"


def _rounded(moment: datetime) -> datetime:
    seconds = round(moment.timestamp() / _STEP) * _STEP
    return datetime.fromtimestamp(seconds, moment.tzinfo)


def _fresh(times: Sequence[datetime], now: datetime) -> list[datetime]:
    return [moment for moment in times if abs(moment.astimezone(UTC) - now.astimezone(UTC)) <= _FRESH]


def _after(now: datetime, hours: float) -> datetime | None:
    """`now` plus `hours`, added in UTC: on the day when clocks change, local time has an hour
    more or less."""
    if hours > _FARTHEST / timedelta(hours=1):
        return None
    return (now.astimezone(UTC) + timedelta(hours=hours)).astimezone(now.tzinfo)


def _planned(now: datetime, ends: time | None, times: Sequence[datetime]) -> datetime | None:
    """The planned end today; tomorrow for a day that goes on past midnight."""
    if ends is None:
        return None
    planned = datetime.combine(now.date(), ends, now.tzinfo)
    today = [moment for moment in times if moment.astimezone(now.tzinfo).date() == now.date()]
    if today and planned < min(today):
        planned = datetime.combine(now.date() + timedelta(days=1), ends, now.tzinfo)
    return planned


WINDOW = timedelta(hours=1)
"""Over which the present pace is taken: long enough for a class, short enough to follow the day."""

_BREAK = timedelta(minutes=10)
_BREAK_GAPS = 6
"""A break: nobody for so long, and for so many times as long as between most people. It is no work: the first
person after it must not make the hour look slow. Our own choice, five turns of two minutes."""


@dataclass(frozen=True, slots=True)
class Pace:
    """How many people an hour."""

    arrived: int
    """Number of people."""
    first: datetime | None = None
    """Time of the first."""
    last: datetime | None = None
    """Time of the last."""
    per_hour: float | None = None
    """In the last hour before `last`, or over the whole time where that is shorter, without breaks; None for
    fewer than two people."""


def pace(arrivals: Sequence[datetime]) -> Pace:
    """The pace from times of arrival, in any order.

    The first arrival of the window opens the count, so that two people half an hour apart are two an hour.
    """
    times = sorted(arrivals)
    if len(times) < 2 or times[0] == times[-1]:
        return Pace(len(times), *((times[0], times[-1]) if times else ()))
    first, last = times[0], times[-1]
    counted = [time for time in times if last - time <= WINDOW]
    gaps = [after - before for before, after in pairwise(counted)]
    longest = max(_BREAK, _BREAK_GAPS * median_low(gaps)) if gaps else _BREAK
    worked = [gap for gap in gaps if gap <= longest]
    hours = sum(worked, timedelta()) / timedelta(hours=1)
    rate = len(worked) / hours if hours else float(len(counted))
    return Pace(len(times), first, last, rate)


def late_people(everybody: Iterable[PersonStatus], now: datetime, begins: str = "") -> list[PersonStatus]:
    """Who is not here though their slot is over, the longest first; nobody on a day when nobody came yet, and
    before the shoot `begins`, an ISO 8601 date, as when it is tried out."""
    if now.date().isoformat() < begins:
        return []
    listed = list(everybody)
    if not any(s.arrived and s.arrived.astimezone(now.tzinfo).date() == now.date() for s in listed):
        return []
    slots = [
        (at, number, s)
        for number, s in enumerate(listed)
        if s.counts and s.stage is Stage.EXPECTED and (at := last_time(s.slot)) and at < now.time()
    ]
    return [status for _, _, status in sorted(slots)]
