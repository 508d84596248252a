"""Shooting order where a camera's clock was set back and its counter began again, so that neither gives the
order.

Exposures whose counters follow each other while time goes on form a monotone chain. Two chains that overlap
in time were shot in succession, on two clocks; a chain comes right after the chain whose counter it
continues.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

from onsite.matching.evidence import CLOCK_SLACK, FrameEvidence

NEIGHBOUR = 3
"""Counters at most this far apart are neighbours, with a frame or two deleted between."""

_MOST = 300  # chains; with more, the numbers in the file names are no counters

_Exposure = list[FrameEvidence]
"""Frames of one counter and one time."""


def order_by_chains(counted: Sequence[FrameEvidence], modulus: int) -> list[FrameEvidence] | None:
    """Frames with a time and a counter, given in the order of time, in shooting order. None where no counter
    comes again, or where no chains overlap: there the counter or the time gives the order."""
    counters = [frame.counter or 0 for frame in counted]
    if sum((b - a) % modulus > modulus // 2 for a, b in pairwise(counters)) <= 1:
        return None  # at most one step back: the counter began again, or the clock was set back
    exposures = _exposures(counted)
    if len({_counter(times) for times in exposures}) == len(exposures):
        return None
    strands = _chains(exposures, modulus)
    if len(strands) > _MOST or not _overlap(strands):
        return None
    return [frame for strand in _joined(strands, modulus) for exposure in strand for frame in exposure]


def _exposures(counted: Sequence[FrameEvidence]) -> list[_Exposure]:
    found: list[_Exposure] = []
    last: dict[int, _Exposure] = {}
    for frame in counted:
        assert frame.counter is not None
        same = last.get(frame.counter)
        if same is not None and (frame.taken or 0.0) - _taken(same) <= CLOCK_SLACK:
            same.append(frame)
        else:
            found.append([frame])
            last[frame.counter] = found[-1]
    return found


def _chains(exposures: Sequence[_Exposure], modulus: int) -> list[list[_Exposure]]:
    """Monotone chains of exposures, in the order of their beginnings."""
    following = dict(_links(exposures, modulus))
    begun = set(range(len(exposures))).difference(following.values())
    return [[exposures[place] for place in _row(start, following)] for start in sorted(begun)]


def _row(start: int, following: Mapping[int, int]) -> Iterator[int]:
    place: int | None = start
    while place is not None:
        yield place
        place = following.get(place)


def _links(exposures: Sequence[_Exposure], modulus: int) -> Iterator[tuple[int, int]]:
    """Pairs of consecutive exposures, each with at most one predecessor and one successor: the nearest by
    counter first, then those in the same folder, then the nearest in time."""
    times = [_taken(exposure) for exposure in exposures]
    by_counter: dict[int, list[int]] = defaultdict(list)
    for number, exposure in enumerate(exposures):
        by_counter[_counter(exposure)].append(number)
    candidates = sorted(
        (step, exposure[0].source != exposures[after][0].source, times[after] - times[number], number, after)
        for number, exposure in enumerate(exposures)
        for step in range(1, NEIGHBOUR + 1)
        for after in _next(by_counter.get((_counter(exposure) + step) % modulus, []), times, times[number])
    )
    followed: set[int] = set()
    follows: set[int] = set()
    for *_, number, after in candidates:
        if number not in followed and after not in follows:
            followed.add(number)
            follows.add(after)
            yield number, after


def _next(numbers: Sequence[int], times: Sequence[float], since: float) -> Sequence[int]:
    """The first two of these exposures since a time, one for each of two chains."""
    first = bisect_left(numbers, since - CLOCK_SLACK, key=lambda number: times[number])
    return numbers[first : first + 2]


def _overlap(strands: Sequence[list[_Exposure]]) -> bool:
    latest = -float("inf")
    for strand in strands:
        if _taken(strand[0]) < latest - CLOCK_SLACK:
            return True
        latest = max(latest, _taken(strand[-1]))
    return False


def _joined(strands: Sequence[list[_Exposure]], modulus: int) -> list[list[_Exposure]]:
    """The chains in shooting order: each right after the chain whose counter it continues, else after the
    chain that ended last before it, else in the order of their beginnings."""
    following: dict[int, int] = {}
    begun = set(range(len(strands)))
    for _, _, before, after in sorted(_joints(strands, modulus)):
        if before not in following and after in begun and before not in _row(after, following):
            following[before] = after
            begun.remove(after)
    return [strands[place] for start in sorted(begun) for place in _row(start, following)]


def _joints(strands: Sequence[list[_Exposure]], modulus: int) -> Iterator[tuple[int, float, int, int]]:
    """Possible successions of chains, to be sorted: (counters between, seconds between,
    chain, next chain)."""
    for before, first in enumerate(strands):
        for after, other in enumerate(strands):
            step = (_counter(other[0]) - _counter(first[-1])) % modulus
            between = _taken(other[0]) - _taken(first[-1])
            if before != after and (between >= 0 or 1 <= step <= NEIGHBOUR):
                yield (step if 1 <= step <= NEIGHBOUR else NEIGHBOUR + 1), abs(between), before, after


def _counter(exposure: _Exposure) -> int:
    return exposure[0].counter or 0


def _taken(exposure: _Exposure) -> float:
    return exposure[0].taken or 0.0
