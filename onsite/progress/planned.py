"""The time of day by which everybody should be done: decided in the settings, else the last slot."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import time

from onsite.problems import Problem
from onsite.words import escaped

_TIME = re.compile(
    r"(?<![\d.:])(\d{1,2})(?:\s*[:.h]\s*(\d{2})(?!\d|\.\d)(?:\s*([ap])\.?m\b)?|\s*([ap])\.?m\b|\s*(?:h|uhr)\b)",
    re.IGNORECASE | re.ASCII,
)


@dataclass(frozen=True, slots=True)
class PlannedEnd:
    """`at` in the shoot's zone, None where nothing tells; `by_slots` where the last slot tells it;
    `unread` is what the settings say where that is no time."""

    at: time | None = None
    by_slots: bool = False
    unread: str = ""


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
    """The last time of day in a text such as "10:30", "10.30-10.40", "10h30" or "4:30 pm", else None."""
    found = None
    for hour_text, minute, half, whole_half in _TIME.findall(text[:100]):
        hour, half = int(hour_text), (half or whole_half).casefold()
        if half and 1 <= hour <= 12:
            hour = hour % 12 + (12 if half == "p" else 0)
        if hour < 24 and int(minute or 0) < 60:
            found = time(hour, int(minute or 0))
    return found


def checked_ends(text: str) -> str:
    """A planned end as the settings keep it, `17:00`; Problem where it is no time of day."""
    hour, colon, minute = text.strip().partition(":")
    is_clock = colon and hour.isdecimal() and minute.isdecimal() and len(hour) <= 2 == len(minute)
    if is_clock and int(hour) < 24 and int(minute) < 60:
        return f"{int(hour):02}:{int(minute):02}"
    raise Problem(f"{escaped(text)!r} is not a time of day.", "Write it like 17:00.")
