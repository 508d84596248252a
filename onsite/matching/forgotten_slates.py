"""Where slates were probably forgotten: who arrived, has no slate, and between whom they are likely to have stood.

People are photographed roughly in the order in which they arrived. Everybody who arrived and of whom no slate was
read is in one of the runs, or went home; they are shared out over all runs, the more to each the nearer it is to
their place in the order of arrival. How near people keep to that order, the day shows. So on a day on which
everybody has a slate a pause is no reason to doubt a name, and beside a gap in the order it is.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from statistics import median

import numpy as np
from numpy.typing import NDArray

from onsite.matching.evidence import Evidence
from onsite.matching.shooting_order import ShootingLane
from onsite.matching.slate_status import SlateObservation

_BESIDE = 4
"""People before and after a run whose places in the order of arrival count: enough for a median. Our own choice."""
_FEWEST = 10
"""People from whom the day's order is known at all. Our own choice."""
_UNKNOWN = 0.03
"""Share of runs in which somebody comes without a slate, where the order of arrival is not known. Our own guess."""
_STRANGERS = 0.002
"""The same where it is: people who come for a second time, and whom the door did not see. Our own guess."""
_OPEN = 20.0
"""Times that a run without a person's slate is likelier to hold one of those people than a run with a slate."""
_MOST = 0.9
"""Largest share. Our own choice."""


@dataclass(frozen=True, slots=True)
class _Gap:
    """The frames between two slates of a lane."""

    lane: int
    places: slice
    expected: float | None
    """Expected place in the order of arrival of whoever comes here."""
    is_open: bool
    """Whether no person's slate opens it."""


def forgotten_slates(
    lanes: Sequence[ShootingLane], slates: Sequence[Mapping[int, SlateObservation]], evidence: Evidence
) -> list[NDArray[np.float64]]:
    """The prior probability that somebody without a slate came in the run of each frame, lane by lane."""
    order = sorted(evidence.arrived, key=lambda person: (evidence.arrived[person], person))
    place_of = {person: place for place, person in enumerate(order)}
    photographed = {slate.person for lane in slates for slate in lane.values()}
    photographed |= {decision.person for decision in evidence.overrides.values()}
    photographed.discard(None)
    missing = [place for person, place in place_of.items() if person not in photographed]
    off = [each for lane in slates for each in _off_the_order(lane, place_of)]
    shares = [np.full(len(lane.frames), _UNKNOWN) for lane in lanes]
    if len(off) < _FEWEST:
        return shares
    known = sum(person in place_of for person in photographed) / len(photographed)
    gaps = [gap for number, lane in enumerate(lanes) for gap in _gaps(number, lane, slates[number], place_of)]
    found = _shared_out(gaps, missing, max(median(off) / math.log(2), 0.5))
    for gap, share in zip(gaps, found.tolist(), strict=True):
        shares[gap.lane][gap.places] = min(share + _STRANGERS + _UNKNOWN * (1 - known), _MOST)
    return shares


def _shared_out(gaps: Sequence[_Gap], missing: Sequence[int], scale: float) -> NDArray[np.float64]:
    """How many of the missing people are expected in each gap, by Laplace's distribution of places off the order."""
    expected = np.array([math.inf if gap.expected is None else gap.expected for gap in gaps])
    weight = np.array([_OPEN if gap.is_open else 1.0 for gap in gaps])
    shares = np.zeros(len(gaps))
    for place in missing:
        likely = weight * np.exp(-np.abs(expected - place) / scale)
        shares += likely / max(likely.sum(), 1e-300)
    return shares


def _gaps(
    number: int, lane: ShootingLane, slates: Mapping[int, SlateObservation], place_of: Mapping[int, int]
) -> Iterator[_Gap]:
    at = sorted(slates)
    known = [place for place in at if slates[place].person in place_of]
    arrived = [place_of[slates[place].person or 0] for place in known]
    for before, after in zip([-1, *at], [*at, len(lane.frames)], strict=True):
        beside = bisect_left(known, after)
        is_open = before < 0 or slates[before].person is None
        yield _Gap(number, slice(before + 1, after), _expected(arrived, beside, beside), is_open)


def _off_the_order(slates: Mapping[int, SlateObservation], place_of: Mapping[int, int]) -> Iterator[float]:
    """How far people with a slate are off the place that those before and after them have in the order of arrival."""
    people = (slates[place].person for place in sorted(slates))
    arrived = [place_of[person] for person in people if person is not None and person in place_of]
    for at, place in enumerate(arrived):
        expected = _expected(arrived, at, at + 1)
        if expected is not None:
            yield abs(place - expected)


def _expected(arrived: Sequence[int], before: int, after: int) -> float | None:
    sides = arrived[max(before - _BESIDE, 0) : before], arrived[after : after + _BESIDE]
    medians = [median(side) for side in sides if side]
    return sum(medians) / len(medians) if medians else None
