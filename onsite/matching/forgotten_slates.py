"""Where slates were probably forgotten: who arrived, has no slate, and between whom they are likely to have
stood.

People are photographed roughly in the order in which they arrived (`suggestions.Arrivals`). Everybody who
arrived and of whom no slate was read is in one of the runs, or went home; they are shared out over all runs,
the more to each the nearer it is to their place in the order of arrival. So on a day on which everybody has a
slate a pause is no reason to doubt a name, and beside a gap in the order it is.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

import numpy as np

from onsite.matching.day_statistics import Floats
from onsite.matching.evidence import Evidence
from onsite.matching.shooting_order import ShootingLane
from onsite.matching.slate_status import SlateObservation
from onsite.matching.suggestions import NEAR, Arrivals

_FEWEST = 5
"""People from whom the day's order is known at all. Our own choice."""
_UNKNOWN = 0.03
"""Share of runs in which somebody comes without a slate, where the order of arrival is not known. Our own
guess."""
_STRANGERS = 0.002
"""The same where it is: people who come for a second time, and whom the door did not see. Our own guess."""
_OPEN = 20.0
"""Times that a run without a person's slate is likelier to hold one of those people than a run with a
slate."""
_MOST = 0.9
"""Largest share. Our own choice."""


def forgotten_slates(
    lanes: Sequence[ShootingLane], slates: Sequence[Mapping[int, SlateObservation]], evidence: Evidence
) -> list[Floats]:
    """The prior probability that somebody without a slate came in the run of each frame, lane by lane."""
    owners = [[lane[place].person for place in sorted(lane)] for lane in slates]
    names = [[person for person in lane if person is not None] for lane in owners]
    photographed = {*(decided.person for decided in evidence.overrides.values())}.union(*names) - {None}
    shares = [np.full(len(lane.frames), _UNKNOWN) for lane in lanes]
    known = len(photographed & evidence.arrived.keys())
    if known < _FEWEST:
        return shares
    arrivals = Arrivals(evidence.arrived, photographed, names)
    gaps = [gap for lane, found in zip(shares, slates, strict=True) for gap in _gaps(lane, found, arrivals)]
    last = max(arrivals.place.get(person or -1, -1) for person in photographed)
    weights = np.array([_OPEN if is_open else 1.0 for _, _, is_open in gaps])
    expected = np.array([place for _, place, _ in gaps])
    came = np.zeros(len(gaps))
    for person in arrivals.waiting:
        if arrivals.place[person] > last:
            continue  # nobody who came later was photographed: they still wait
        likely = weights * arrivals.nearness(arrivals.place[person] - expected)
        came += likely / likely.sum()
    unknown = _STRANGERS + _UNKNOWN * (1 - known / len(photographed))
    for (share, _, _), each in zip(gaps, came.tolist(), strict=True):
        share[:] = min(each + unknown, _MOST)
    return shares


def _gaps(
    shares: Floats, slates: Mapping[int, SlateObservation], arrivals: Arrivals
) -> Iterator[tuple[Floats, float, bool]]:
    """Of each gap between two slates of a lane the shares of its frames, the place in the order of arrival
    that is expected there, and whether no person's slate opens it."""
    known = [place for place in sorted(slates) if slates[place].person is not None]
    people = [slates[place].person or 0 for place in known]
    for before, after in pairwise((-1, *sorted(slates), len(shares))):
        beside = bisect_left(known, after)
        expected = arrivals.expected(people[max(beside - NEAR, 0) : beside], people[beside : beside + NEAR])
        is_open = before < 0 or slates[before].person is None
        yield shares[before + 1 : after], np.inf if expected is None else expected, is_open
