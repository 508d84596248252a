"""The order in which each camera took its frames, by its clock and its counter.

Where a clock was set back, or a counter began again, or both, exposures whose counters follow each other
while time goes on form a monotone chain. Two chains that overlap in time were shot in succession, on two
clocks; a chain comes right after the chain whose counter it continues most closely.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from onsite.core.file_counter import last_counter
from onsite.matching.clock_offset import ClockOffset
from onsite.matching.evidence import CLOCK_SLACK, FrameEvidence

_LARGEST_GAP = 1000
"""Missing counters; more means another memory card's numbering, not a gap. Our own choice."""
_NEIGHBOUR = 3
"""Counters at most this far apart are neighbours, with a frame or two deleted between. Our own choice."""
_MOST_CHAINS = 300
"""With more, the numbers in the file names are no counters. Our own choice: each pair is looked at."""


@dataclass(frozen=True, slots=True)
class ClockJump:
    """The clock went back by `seconds` between two frames that are neighbours by the counter."""

    before: int
    after: int
    seconds: float


@dataclass(frozen=True, slots=True)
class CounterGap:
    """Counters `first` to `last` are missing after a frame: deleted, or still on a memory card."""

    after: int
    first: int
    last: int


@dataclass(frozen=True, slots=True)
class ShootingLane:
    """One camera's frames in shooting order."""

    camera: int
    frames: tuple[FrameEvidence, ...]
    jumps: tuple[ClockJump, ...] = ()
    gaps: tuple[CounterGap, ...] = ()
    pieces: tuple[range, ...] = ()
    """Ranges of frames with one steady clock."""
    clocks: tuple[ClockOffset, ...] = ()
    """The clock of each piece, once it is known (`camera_clocks`)."""

    def clock_at(self, place: int) -> ClockOffset:
        """The clock of the piece that contains a frame."""
        return next(clock for piece, clock in zip(self.pieces, self.clocks, strict=True) if place in piece)

    def true_time(self, place: int) -> float | None:
        """The likeliest true time of a frame; None where it has no time."""
        taken = self.frames[place].taken
        return None if taken is None else self.clock_at(place).true(taken)


def shooting_lanes(frames: Iterable[FrameEvidence]) -> tuple[list[ShootingLane], list[FrameEvidence]]:
    """The lanes of all cameras, and the frames that have no place in the day."""
    placed: list[ShootingLane] = []
    unplaced: list[FrameEvidence] = []
    for group in _bodies(frames):
        lane, rest = order_frames(group)
        unplaced += rest
        if lane.frames:
            placed.append(lane)
    return placed, unplaced


def _bodies(frames: Iterable[FrameEvidence]) -> list[list[FrameEvidence]]:
    """Frames by camera; where the body is not sure, by folder too if two folders' times overlap: one body
    cannot have written into both at once."""
    cameras: dict[int, list[FrameEvidence]] = {}
    for frame in frames:
        cameras.setdefault(frame.camera, []).append(frame)
    groups: list[list[FrameEvidence]] = []
    for _, mine in sorted(cameras.items()):
        folders: dict[str, list[FrameEvidence]] = {}
        if not all(frame.sure_body for frame in mine):
            for frame in mine:
                folders.setdefault(frame.source, []).append(frame)
        groups += [folders[name] for name in sorted(folders)] if _overlap(folders.values()) else [mine]
    return groups


def _overlap(folders: Iterable[Sequence[FrameEvidence]]) -> bool:
    times = [[frame.taken for frame in folder if frame.taken is not None] for folder in folders]
    if any(not folder for folder in times):
        return len(times) > 1
    spans = sorted((min(folder), max(folder)) for folder in times)
    return any(following[0] <= span[1] for span, following in pairwise(spans))


def order_frames(frames: Sequence[FrameEvidence]) -> tuple[ShootingLane, list[FrameEvidence]]:
    """One body's frames in shooting order, and the frames that neither clock nor counter places. Costs n log
    n.

    The clock orders them; where it contradicts the counter and the counter shows neighbours, the counter
    decides and the jump of the clock is reported.
    """
    untimed = [f for f in frames if f.taken is None]
    times_seen = Counter(f.counter for f in untimed)
    single = [f for f in untimed if f.counter is not None and times_seen[f.counter] == 1]
    rest = [f for f in untimed if f.counter is None or times_seen[f.counter] > 1]
    wrap = last_counter(f.counter for f in frames) + 1
    if timed := [f for f in frames if f.taken is not None]:
        placed, astray = _timed(timed, wrap)
        ordered, left = _insert(placed, single, wrap)
        rest += left + astray
    elif len(single) + times_seen[None] == len(untimed):
        ordered = _by_counter(single, wrap)
    else:  # counters come twice, and no time shows which came first
        ordered, rest = [], untimed
    return _lane(ordered, wrap), rest


def _timed(timed: Sequence[FrameEvidence], modulus: int) -> tuple[list[FrameEvidence], list[FrameEvidence]]:
    """Frames with a time in order, and those without a counter that a jump of the clock left without a
    place."""
    by_time = sorted(timed, key=lambda f: (f.taken or 0.0, f.counter or 0, f.name, f.id))
    counted = [f for f in by_time if f.counter is not None]
    if not np.any(np.diff([f.counter or 0 for f in counted]) % modulus > modulus // 2):
        return by_time, []  # time and counter agree
    ordered = _by_chains(counted, modulus)
    return (by_time, []) if ordered == counted else (ordered, [f for f in by_time if f.counter is None])


def _by_counter(frames: Sequence[FrameEvidence], modulus: int) -> list[FrameEvidence]:
    """Frames by counter around the circle, beginning after its largest gap."""
    ordered = sorted(frames, key=lambda f: (f.counter or 0, f.taken or 0.0, f.name, f.id))
    if len(ordered) < 2:
        return ordered
    ahead = [_step(ordered[i - 1], ordered[i], modulus) for i in range(len(ordered))]
    first = max(range(len(ordered)), key=lambda i: (ahead[i], -i))
    return ordered[first:] + ordered[:first]


def _insert(
    ordered: Sequence[FrameEvidence], untimed: Sequence[FrameEvidence], modulus: int
) -> tuple[list[FrameEvidence], list[FrameEvidence]]:
    """Put each frame without a time after the frame with the preceding counter, where there is just one."""
    if not untimed:
        return list(ordered), []
    places: dict[int, list[int]] = {}
    for index, frame in enumerate(ordered):
        if frame.counter is not None:
            places.setdefault(frame.counter, []).append(index)
    behind: dict[int, list[FrameEvidence]] = {}
    rest = []
    for frame in _by_counter(untimed, modulus):
        counter = frame.counter or 0
        near = ((counter - back) % modulus for back in range(1, _NEIGHBOUR + 1))
        place = next((places[c] for c in near if c in places), [])
        if counter not in places and len(place) == 1:
            behind.setdefault(place[0], []).append(frame)
            places[counter] = place  # the next frame may follow it
        else:
            rest.append(frame)
    result: list[FrameEvidence] = []
    for index, frame in enumerate(ordered):
        result.append(frame)
        result += behind.get(index, ())
    return result, rest


def _lane(ordered: Sequence[FrameEvidence], modulus: int) -> ShootingLane:
    ahead = np.diff(np.array([frame.taken for frame in ordered], np.float64))  # NaN where there is no time
    back = (np.flatnonzero(ahead < -CLOCK_SLACK) + 1).tolist()
    jumps = [ClockJump(ordered[place - 1].id, ordered[place].id, float(ahead[place - 1])) for place in back]
    sources = [frame.source for frame in ordered]
    others = [  # perhaps another body, with a clock of its own
        place
        for place, (a, b) in enumerate(pairwise(sources), 1)
        if a != b and not (ordered[place - 1].sure_body and ordered[place].sure_body)
    ]
    cuts = [0, *sorted({*back, *others}), len(ordered)]
    pieces = tuple(range(start, end) for start, end in pairwise(cuts))
    camera = ordered[0].camera if ordered else 0
    return ShootingLane(camera, tuple(ordered), tuple(jumps), tuple(_gaps(ordered, modulus)), pieces)


def _gaps(ordered: Sequence[FrameEvidence], modulus: int) -> Iterator[CounterGap]:
    counters = np.array([frame.counter for frame in ordered], np.float64)
    for place in np.flatnonzero(np.diff(counters) % modulus > 1).tolist():
        before, after = int(counters[place]), int(counters[place + 1])
        missing = (after - before) % modulus - 1
        first, last = (before + 1) % modulus, (after - 1) % modulus
        if after < before:  # most bodies count from 9999 to 0001
            missing -= 1
            first, last = first or 1, last or modulus - 1
        if 0 < missing <= _LARGEST_GAP:
            yield CounterGap(ordered[place].id, first, last)


def _step(a: FrameEvidence, b: FrameEvidence, modulus: int) -> int:
    return ((b.counter or 0) - (a.counter or 0)) % modulus


_Exposure = list[FrameEvidence]
"""Frames of one counter and one time."""


def _by_chains(counted: Sequence[FrameEvidence], modulus: int) -> list[FrameEvidence]:
    """Frames with a time and a counter, given in the order of time, in shooting order."""
    chains = _chains(_exposures(counted), modulus)
    if len(chains) > _MOST_CHAINS:
        return list(counted)
    return [frame for chain in _joined(chains, modulus) for exposure in chain for frame in exposure]


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
        for step in range(1, _NEIGHBOUR + 1)
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


def _joined(chains: Sequence[list[_Exposure]], modulus: int) -> list[list[_Exposure]]:
    """The chains in shooting order: each after the one whose counter it continues most closely and that
    ended before it, or that it continues at once; else in the order of their beginnings."""
    following: dict[int, int] = {}
    begun = set(range(len(chains)))
    for _, _, before, after in sorted(_joints(chains, modulus)):
        if before not in following and after in begun and before not in _row(after, following):
            following[before] = after
            begun.remove(after)
    return [chains[place] for start in sorted(begun) for place in _row(start, following)]


def _joints(chains: Sequence[list[_Exposure]], modulus: int) -> Iterator[tuple[int, float, int, int]]:
    """Possible successions of chains, to be sorted: (counters missing between, seconds between, chain, next
    chain)."""
    for before, first in enumerate(chains):
        for after, other in enumerate(chains):
            missing = (_counter(other[0]) - _counter(first[-1]) - 1) % modulus
            between = _taken(other[0]) - _taken(first[-1])
            if before != after and (between >= 0 or missing < _NEIGHBOUR):
                yield missing, abs(between), before, after


def _counter(exposure: _Exposure) -> int:
    return exposure[0].counter or 0


def _taken(exposure: _Exposure) -> float:
    return exposure[0].taken or 0.0
