"""The order in which each camera took its frames, by its clock and its counter.

Where a clock was set back, or a counter began again, or both, frames are divided into monotone chains, in
which the counter and time both go on. A chain comes after the only one whose counter it continues, or else
after the only one that ended within a turn before. Where there is none, or several, nobody knows which frame
came next: a lane begins, and no name goes on from one lane to another.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from onsite.core.file_counter import last_counter, next_counter
from onsite.matching.clock_offset import ClockOffset
from onsite.matching.evidence import CLOCK_SLACK, TURN, FrameEvidence

_NEIGHBOUR = 3
"""Counters at most this far apart are neighbours, with a frame or two deleted between. Our own choice."""

_Chain = list[FrameEvidence]
"""Frames in which the counter and time both go on."""


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
    cameras: defaultdict[int, list[FrameEvidence]] = defaultdict(list)
    for frame in frames:
        cameras[frame.camera].append(frame)
    found = [order_frames(body) for _, mine in sorted(cameras.items()) for body in _bodies(mine)]
    return [lane for lanes, _ in found for lane in lanes], [frame for _, rest in found for frame in rest]


def _bodies(frames: Sequence[FrameEvidence]) -> list[Sequence[FrameEvidence]]:
    """A camera's frames; where the body is not sure, by folder unless one folder's times end before the
    next one's: one body cannot have written into both at once."""
    if all(frame.sure_body for frame in frames):
        return [frames]
    folders: defaultdict[str, list[FrameEvidence]] = defaultdict(list)
    for frame in frames:
        folders[frame.source].append(frame)
    times = [[frame.taken for frame in folder if frame.taken is not None] for folder in folders.values()]
    spans = sorted((min(taken), max(taken)) for taken in times if taken)
    apart = len(spans) == len(folders) and all(end < begins for (_, end), (begins, _) in pairwise(spans))
    return [frames] if apart or len(folders) == 1 else [folders[name] for name in sorted(folders)]


def order_frames(frames: Sequence[FrameEvidence]) -> tuple[list[ShootingLane], list[FrameEvidence]]:
    """One body's frames in shooting order, and the frames that neither clock nor counter places. Costs n log
    n.

    The clock orders them; where it contradicts the counter, both do, and the jump of the clock is reported.
    """
    modulus = last_counter(frame.counter for frame in frames) + 1
    timed = [frame for frame in frames if frame.taken is not None]
    counted = [frame for frame in frames if frame.counter is not None]
    ordered: list[list[FrameEvidence]] = []
    if timed:
        ordered = _timed(timed, modulus)
    elif len({frame.counter for frame in counted}) == len(counted):  # else which of two came first?
        ordered = [_by_counter(counted, modulus)]
    placed = {frame.id for lane in ordered for frame in lane}
    return [_lane(lane, modulus) for lane in ordered if lane], [f for f in frames if f.id not in placed]


def _timed(timed: Iterable[FrameEvidence], modulus: int) -> list[list[FrameEvidence]]:
    """Lanes of the frames with a time, but for those without a counter that a jump of the clock left without
    a place."""
    by_time = sorted(timed, key=lambda f: (_taken(f), f.counter or 0, f.name, f.id))
    counted = [frame for frame in by_time if frame.counter is not None]
    if not np.any(np.diff([frame.counter or 0 for frame in counted]) % modulus > modulus // 2):
        return [by_time]  # time and counter agree
    lanes = _joined(_chains(_by_counter(counted, modulus), modulus), modulus)
    return [by_time] if lanes in ([], [counted]) else lanes


def _by_counter(frames: Iterable[FrameEvidence], modulus: int) -> list[FrameEvidence]:
    """Frames by counter around the circle, beginning after its largest gap."""
    ordered = sorted(frames, key=lambda f: (f.counter or 0, _taken(f), f.name, f.id))
    ahead = [_step(ordered[i - 1], ordered[i], modulus) for i in range(len(ordered))]
    first = max(range(len(ordered)), key=lambda i: ahead[i], default=0)
    return ordered[first:] + ordered[:first]


def _chains(frames: Sequence[FrameEvidence], modulus: int) -> list[_Chain]:
    """Monotone chains of frames that are given in the order of the counter. Each frame goes on from the chain
    that it may come right after; where there are none or several, it begins one.

    No chains where most frames begin one: the numbers in the file names are no counters.
    """
    chains: list[_Chain] = []
    ends: defaultdict[int, list[_Chain]] = defaultdict(list)  # by their last counter, in the order of time
    for frame in frames:
        before = _before(ends, frame, modulus)
        if len(before) == 1:
            (chain,) = before
            end = chain[-1].counter or 0
            ends[end] = [other for other in ends[end] if other is not chain]
        else:
            chains.append(chain := [])
        chain.append(frame)
        ends[frame.counter or 0].append(chain)
    return chains if 2 * len(chains) <= len(frames) else []


def _before(ends: Mapping[int, list[_Chain]], frame: FrameEvidence, modulus: int) -> list[_Chain]:
    """The chains that a frame may come right after: the one that ends with a copy of it, or else those with
    the nearest counter that ended within a turn before."""
    for step in range(_NEIGHBOUR + 1):
        near = ends[((frame.counter or 0) - step) % modulus]
        first, last = (
            bisect_left(near, _taken(frame) + by, key=_ended)
            for by in (-TURN if step else -CLOCK_SLACK, CLOCK_SLACK)
        )
        if first < last:
            return near[first:last] if step else near[last - 1 : last]
    return []


def _joined(chains: Sequence[_Chain], modulus: int) -> list[list[FrameEvidence]]:
    """The chains joined into lanes: by the counter, or else after the only one that ended within a turn
    before and that none follows."""
    rows = {number: [number] for number in range(len(chains))}  # by first chain
    first = {number: number for number in rows}  # chain of a row, by its last

    def join(before: int, after: int) -> None:
        if first[before] != after:  # no circle
            row = first.pop(before)
            rows[row] += rows.pop(after)
            first[rows[row][-1]] = row

    for before, after in _continued(chains, modulus):
        join(before, after)
    starts = [(_taken(chains[number][0]), True, number) for number in rows]
    ended: list[int] = []
    for at, begins, number in sorted([*starts, *((_ended(chains[n]), False, n) for n in first)]):
        if not begins:
            ended.append(number)
            continue
        ended = [n for n in ended if n in first and at - _ended(chains[n]) <= TURN]
        found = [n for n in ended if first[n] != number]
        if len(found) == 1:
            join(found[0], number)
    lanes = [[frame for number in row for frame in chains[number]] for row in rows.values()]
    return sorted(lanes, key=lambda lane: _taken(lane[0]))


def _continued(chains: Sequence[_Chain], modulus: int) -> Iterator[tuple[int, int]]:
    """Pairs of chains: only the second continues the counter of the first, and of no other one."""
    starts: defaultdict[int | None, list[int]] = defaultdict(list)
    for number, (frame, *_) in enumerate(chains):
        starts[frame.counter].append(number)
    after = [
        next(filter(None, (starts.get(at % modulus) for at in range(end + 1, end + 1 + _NEIGHBOUR))), [])
        for end in (last.counter or 0 for *_, last in chains)
    ]
    times = Counter(number for found in after for number in found)
    return ((before, found[0]) for before, found in enumerate(after) if len(found) == 1 == times[found[0]])


def _lane(ordered: Sequence[FrameEvidence], modulus: int) -> ShootingLane:
    ahead = np.diff(np.array([frame.taken for frame in ordered], np.float64))  # NaN where there is no time
    back = (np.flatnonzero(ahead < -CLOCK_SLACK) + 1).tolist()
    jumps = [ClockJump(ordered[place - 1].id, ordered[place].id, float(ahead[place - 1])) for place in back]
    pieces = tuple(range(start, end) for start, end in pairwise([0, *back, len(ordered)]))
    camera = ordered[0].camera if ordered else 0
    return ShootingLane(camera, tuple(ordered), tuple(jumps), tuple(_gaps(ordered, modulus)), pieces)


def _gaps(ordered: Sequence[FrameEvidence], modulus: int) -> Iterator[CounterGap]:
    counters = np.array([frame.counter for frame in ordered], np.float64)
    for place in np.flatnonzero(np.diff(counters) % modulus > 1).tolist():
        before, after = int(counters[place]), int(counters[place + 1])
        missing = (after - before) % modulus - 1 - (after < before)  # most bodies count from 9999 to 0001
        if 0 < missing <= len(ordered):  # more: another memory card's numbering
            first, last = next_counter(before, modulus - 1), (after - 1) % modulus or modulus - 1
            yield CounterGap(ordered[place].id, first, last)


def _step(a: FrameEvidence, b: FrameEvidence, modulus: int) -> int:
    return ((b.counter or 0) - (a.counter or 0)) % modulus


def _taken(frame: FrameEvidence) -> float:
    return frame.taken or 0.0


def _ended(chain: _Chain) -> float:
    return _taken(chain[-1])
