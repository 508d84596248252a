"""The plan of the day: who comes when, by the slots in the roster, and when everybody should be done."""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import time, timedelta

from onsite.core.errors import Problem
from onsite.core.text import escaped
from onsite.roster.roster_groups import group_sort_key
from onsite.status.person_status import PersonStatus

_TIME = re.compile(
    r"(?<![\d.:])(\d{1,2})(?:\s*[:.h]\s*(\d{2})(?!\d|\.\d)(?:\s*([ap])\.?m\b)?|\s*([ap])\.?m\b|\s*(?:h|uhr)\b)",
    re.IGNORECASE | re.ASCII,
)
"""A time of day as people write it: 10:30, 10.30, 10h30, 17 h, 17 Uhr, 4:30 pm; not a date, not a version."""


@dataclass(frozen=True, slots=True)
class PlannedSlot:
    """People who come at the same time."""

    day: str
    """What stands before the time, such as "Friday" or "2026-06-13"; mostly empty."""
    start: time
    people: tuple[PersonStatus, ...]
    """In the order of the roster."""
    each: timedelta | None
    """Time for each person until the next slot, or the planned end; None where neither is known."""

    @property
    def groups(self) -> Mapping[str, int]:
        """Number of people by group, in the order of groups."""
        counts = Counter(s.person.group for s in self.people)
        return {group: counts[group] for group in sorted(counts, key=group_sort_key)}


@dataclass(frozen=True, slots=True)
class DayPlan:
    """Everybody of the roster who is not withdrawn, by slot."""

    slots: tuple[PlannedSlot, ...]
    """In order of days, as the roster first names them, and of times."""
    without_slot: tuple[PersonStatus, ...]
    unread: tuple[PersonStatus, ...]
    """People whose slot is not a time of day."""
    end: PlannedEnd

    @property
    def fullest(self) -> PlannedSlot | None:
        """The slot with the least time for each person."""
        return min(
            (s for s in self.slots if s.each is not None), key=lambda s: s.each or timedelta.max, default=None
        )


def plan_day(everybody: Iterable[PersonStatus], ends: str) -> DayPlan:
    """The plan of these people's slots; `ends` is the planned end as in the settings."""
    people = [s for s in everybody if s.counts]
    end = planned_end(ends, (s.slot for s in people))
    days: dict[str, dict[time, list[PersonStatus]]] = defaultdict(lambda: defaultdict(list))
    for s in people:
        if times := times_of_day(s.slot):
            days[_before_time(s.slot)][times[0]].append(s)
    return DayPlan(
        tuple(slot for day, starts in days.items() for slot in _slots(day, starts, end)),
        tuple(s for s in people if not s.slot.strip()),
        tuple(s for s in people if s.slot.strip() and not times_of_day(s.slot)),
        end,
    )


def _slots(day: str, starts: Mapping[time, list[PersonStatus]], end: PlannedEnd) -> Iterable[PlannedSlot]:
    ordered = sorted(starts)
    for start, following in zip(ordered, [*ordered[1:], end.at], strict=True):
        people = starts[start]
        ends = times_of_day(people[0].slot)[-1]
        until = ends if ends > start else following
        room = _minutes(until) - _minutes(start) if until is not None else 0
        yield PlannedSlot(
            day, start, tuple(people), timedelta(minutes=room) / len(people) if room > 0 else None
        )


def _minutes(at: time) -> int:
    return 60 * at.hour + at.minute


def _before_time(slot: str) -> str:
    return " ".join(_TIME.split(slot, 1)[0].split()).strip(" ,;:-–")


@dataclass(frozen=True, slots=True)
class PlannedEnd:
    """The time of day by which everybody should be done."""

    at: time | None = None
    """In the shoot's zone; None where unknown."""
    by_slots: bool = False
    """Whether it is the last slot in the roster."""
    unread: str = ""
    """The settings' text, where that is not a time."""


def planned_end(ends: str, slots: Iterable[str]) -> PlannedEnd:
    """The planned end from `Settings.ends`, else from people's slots where most of them are times.

    A slot such as "10:30-10:40" ends at its second time.
    """
    if ends.strip():
        at = last_time(ends)
        return PlannedEnd(at, unread="" if at else ends)
    written = [slot for slot in slots if slot.strip()]
    times = [at for slot in written if (at := last_time(slot)) is not None]
    if not times or 2 * len(times) <= len(written):
        return PlannedEnd()
    return PlannedEnd(max(times), by_slots=True)


def last_time(text: str) -> time | None:
    """The last time of day in a text such as "10:30", "10.30-10.40", "10h30" or "4:30 pm"; else None."""
    times = times_of_day(text)
    return times[-1] if times else None


def times_of_day(text: str) -> list[time]:
    """The times of day in a text, as they stand in it."""
    found = []
    for hour_text, minute, half, whole_half in _TIME.findall(text[:100]):
        hour, half = int(hour_text), (half or whole_half).casefold()
        if half and 1 <= hour <= 12:
            hour = hour % 12 + (12 if half == "p" else 0)
        if hour < 24 and int(minute or 0) < 60:
            found.append(time(hour, int(minute or 0)))
    return found


def checked_ends(text: str) -> str:
    """The planned end in the form of the settings, `17:00`. Raises Problem where it is not a time of day."""
    hour, colon, minute = text.strip().replace(".", ":").partition(":")
    is_clock = colon and hour.isdecimal() and minute.isdecimal() and len(hour) <= 2 == len(minute)
    if is_clock and int(hour) < 24 and int(minute) < 60:
        return f"{int(hour):02}:{int(minute):02}"
    raise Problem(f"{escaped(text)!r} is not a time of day.", "Write it like 17:00.")
