"""All accidents by name, and how often they happen."""

from __future__ import annotations

from collections.abc import Mapping

from onsite.simulator.accident_days.camera_faults import FAULTS
from onsite.simulator.accident_days.simulated_door import AT_THE_DOOR, CARDS_AGAIN, TIED_LATE
from onsite.simulator.accident_days.slate_accidents import AT_THE_SET

MIDNIGHT = "over_midnight"
"""The day begins in the evening."""
EVERY = (*AT_THE_SET, *AT_THE_DOOR, *FAULTS, MIDNIGHT)

BY_BODY = frozenset(FAULTS)
"""Their rates are by body: 1 strikes each."""
BY_DAY = frozenset((CARDS_AGAIN, MIDNIGHT))
"""Their rates are by day. Those of all others are by person."""

ALONE = {name: 1.0 if name in BY_BODY | BY_DAY else 0.05 for name in EVERY}
"""The rate of an accident looked at by itself: 5 in 100 people; what can happen to a camera happens."""
TOGETHER = {
    name: 0.15 if name in BY_BODY else 0.4 if name in BY_DAY else 0.01 for name in EVERY if name != TIED_LATE
}
"""Rates of all at once: each strikes 1 in 100 people, 15 in 100 bodies, or 4 in 10 days. So about one person
in four has an accident, and few have two. Cards tied late are left out: then the records themselves err."""

REAL_SET: Mapping[str, float] = {
    "forgotten": 0.04,
    "unreadable": 0.02,
    "second_look": 0.03,
    "tail": 0.02,
    "upside_down": 0.02,
    "twice": 0.02,
    "quick_change": 0.02,
    "two_people": 0.02,
    "long_pause": 0.03,
    "light_test": 0.03,
    "helper": 0.02,
    "flash_failed": 0.02,
    "deleted": 0.02,
}
"""Rates of accidents on a set that is not still, by person: about one in four has one."""
