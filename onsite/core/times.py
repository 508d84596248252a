"""Parsing and formatting of times, dates and durations."""

from __future__ import annotations

import re
from datetime import date, datetime, time
from zoneinfo import ZoneInfo

from onsite.core.errors import Problem

_CLOCK = re.compile(r"(\d{1,2}):(\d{2})(?::(\d{2}))?", re.ASCII)
_DOTTED = re.compile(r"(\d{1,2})\.\s?(\d{1,2})\.\s?(\d{4})", re.ASCII)


def parse_time(text: str, zone: ZoneInfo, day: date | None = None) -> datetime:
    """Parses an ISO 8601 time; the result is aware. Raises Problem.

    Without an offset the time is local to `zone`; without a date it is on `day`. A local time that the zone
    skips, or has twice, is refused, with the times to type instead.

    >>> parse_time("2026-06-13T09:41", ZoneInfo("Europe/Vienna")).isoformat()
    '2026-06-13T09:41:00+02:00'
    """
    try:
        if day is not None and (clock := _CLOCK.fullmatch(text.strip())):
            hour, minute, second = (int(part or 0) for part in clock.groups())
            moment = datetime.combine(day, time(hour, minute, second))
        else:
            moment = datetime.fromisoformat(text.strip())
    except ValueError as error:
        raise Problem(f"{text!r} is not a time.", "Write it like 2026-06-13T09:41 (ISO 8601).") from error
    return _local(moment, zone) if moment.tzinfo is None else moment


def _local(moment: datetime, zone: ZoneInfo) -> datetime:
    """A time without an offset in a zone. Raises Problem where the clocks there do not show it just once: the
    offsets before and after such a moment are those of `fold` 0 and 1 (PEP 495)."""
    first, second = (moment.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
    before, after = first.utcoffset(), second.utcoffset()
    if before == after or before is None or after is None:
        return first
    said = f"{moment:%H:%M} on {moment:%Y-%m-%d}"
    if before < after:
        raise Problem(
            f"There is no {said}: the clocks in {zone.key} were put forward then.",
            f"If your clock was not put forward yet, write {(moment + (after - before)).isoformat()}.",
        )
    raise Problem(
        f"{said} came twice: the clocks in {zone.key} were put back then.",
        f"Write {first.isoformat()} for the first, {second.isoformat()} for the second.",
    )


def parse_date(text: str) -> date:
    """Parses an ISO 8601 date, or one with dots. Raises Problem.

    With dots and the year last, the day comes first wherever people write so (Unicode CLDR); with strokes it
    may be the month, so that is refused.

    >>> parse_date("2026-06-13") == parse_date("13.6.2026")
    True
    """
    try:
        if dotted := _DOTTED.fullmatch(text.strip()):
            day, month, year = map(int, dotted.groups())
            return date(year, month, day)
        return date.fromisoformat(text.strip())
    except ValueError as error:
        raise Problem(f"{text!r} is not a date.", "Write it like 2026-06-13 or 13.6.2026.") from error


def require_not_past(day: date, today: date, what: str) -> date:
    """Returns `day`; raises Problem if it is before `today`. `what` names what is due by that day."""
    if day < today:
        raise Problem(
            f"{what} by {day.isoformat()}: that day is past, today is {today.isoformat()}.",
            "Name today or a later day.",
        )
    return day


def format_clock_time(time: datetime, zone: ZoneInfo, seconds: bool = False) -> str:
    """`09:41`, or `09:41:30` with `seconds`, in the zone."""
    return time.astimezone(zone).strftime("%H:%M:%S" if seconds else "%H:%M")


def format_duration(seconds: float) -> str:
    """A duration in its two largest units that are not zero.

    >>> format_duration(41), format_duration(3783), format_duration(-90061)
    ('41 s', '1 h 3 min', '-1 d 1 h')
    """
    sign = "-" if seconds < 0 else ""
    left = round(abs(seconds))
    parts = []
    for unit, size in (("d", 86400), ("h", 3600), ("min", 60), ("s", 1)):
        count, left = divmod(left, size)
        if count:
            parts.append(f"{count} {unit}")
        elif parts:
            break
    return sign + " ".join(parts[:2]) if parts else "0 s"
