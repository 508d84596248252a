"""The camera's file counter: in file names, as text, and where it rolls over."""

from __future__ import annotations

import re
from collections.abc import Iterable

LAST_COUNTER = 9_999
"""After it comes 0001: file names count from 0001 to 9999 (DCF: JEITA CP-3461, CIPA DC-009)."""

LAST_LONG_COUNTER = 99_999
"""The last counter of bodies that count in five digits (common practice, no source)."""

_DIGITS = re.compile(r"\d{3,}", re.ASCII)
_LONGEST_COUNTER = 5  # digits, as in LAST_LONG_COUNTER


def counter_from_name(stem: str) -> int | None:
    """The counter in a file name without its extension: its last group of three or more digits.

    Cameras count in four digits, some in five; of a longer group (some makes put the date right before the
    counter) the last four digits count. The scheme, letters and then a counter, is DCF's (JEITA CP-3461).

    >>> counter_from_name("IMG_1043"), counter_from_name("DSC09999"), counter_from_name("P6130012")
    (1043, 9999, 12)
    >>> counter_from_name("portrait") is None
    True
    """
    groups = _DIGITS.findall(stem)
    if not groups:
        return None
    digits = groups[-1]
    return int(digits[-4:] if len(digits) > _LONGEST_COUNTER else digits)


def counter_text(counter: int) -> str:
    """A counter as file names write it.

    >>> counter_text(43), counter_text(10043)
    ('0043', '10043')
    """
    return f"{counter:04}"


def last_counter(counters: Iterable[int | None]) -> int:
    """The counter after which a body with these counters begins again."""
    return LAST_LONG_COUNTER if any((counter or 0) > LAST_COUNTER for counter in counters) else LAST_COUNTER


def counter_distance(first: int, last: int, end: int = LAST_COUNTER) -> int:
    """How far the counter goes on from `first` to `last`, over the roll-over after `end` if need be.

    >>> counter_distance(9998, 2), counter_distance(5, 5)
    (4, 0)
    """
    return (last - first) % (end + 1)


def next_counter(counter: int, end: int = LAST_COUNTER) -> int:
    """The counter after `counter`.

    >>> next_counter(41), next_counter(9999)
    (42, 1)
    """
    return counter % end + 1


def previous_counter(counter: int, end: int = LAST_COUNTER) -> int:
    """The counter before `counter`.

    >>> previous_counter(42), previous_counter(1)
    (41, 9999)
    """
    return (counter - 2) % end + 1
