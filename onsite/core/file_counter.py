"""The camera's frame counter in file names."""

from __future__ import annotations

import re

_DIGITS = re.compile(r"\d{3,}", re.ASCII)
_LONGEST_COUNTER = 5


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
