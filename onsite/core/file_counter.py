"""The camera's counter, as its file names carry it."""

from __future__ import annotations

import re

_DIGITS = re.compile(r"\d{3,}", re.ASCII)
_LONGEST_COUNTER = 5


def counter_from_name(stem: str) -> int | None:
    """The counter in a file name without its ending: its last group of three digits or more.

    Cameras count in four digits, some in five; of a longer group (a date runs into the counter in some
    makes' names) the last four count. The scheme, letters and then a counter, is DCF's (JEITA CP-3461).

    >>> counter_of("IMG_1043"), counter_of("DSC09999"), counter_of("P6130012"), counter_of("portrait")
    (1043, 9999, 12, None)
    """
    groups = _DIGITS.findall(stem)
    if not groups:
        return None
    digits = groups[-1]
    return int(digits[-4:] if len(digits) > _LONGEST_COUNTER else digits)
