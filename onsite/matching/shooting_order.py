"""The order in which each camera took its frames, by its clock and its counter.

Where a clock was set back, or a counter began again, or both, frames are divided into monotone chains, in
which the counter and time both go on. Two chains that overlap in time were shot in succession, on two clocks;
a chain comes right after the chain whose counter it continues most closely.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise, permutations

import numpy as np

from onsite.core.file_counter import last_counter, next_counter
from onsite.matching.clock_offset import ClockOffset
from onsite.matching.evidence import CLOCK_SLACK, FrameEvidence

_LARGEST_GAP = 1000
"""Missing counters; more means another memory card's numbering, not a gap. Our own choice."""
_NEIGHBOUR = 3
"""Counters at most this far apart are neighbours, with a frame or two deleted between. Our own choice."""


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
    return [lane for lane, _ in found if lane.frames], [frame for _, rest in found for frame in rest]


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


def order_frames(frames: Sequence[FrameEvidence]) -> tuple[ShootingLane, list[FrameEvidence]]:
    """One body's frames in shooting order, and the frames that neither clock nor counter places. Costs n log
    n.

    The clock orders them; where it contradicts the counter and the counter shows neighbours, the counter
    decides and the jump of the clock is reported.
    """
    modulus = last_counter(frame.counter for frame in frames) + 1
    untimed = [frame for frame in frames if frame.taken is None]
    times_seen = Counter(frame.counter for frame in untimed)
    single = [f for f in untimed if f.counter is not None and times_seen[f.counter] == 1]
    if len(untimed) < len(frames):
        ordered = _insert(_timed([f for f in frames if f.taken is not None], modulus), single, modulus)
    elif len(single) + times_seen[None] == len(untimed):
        ordered = _by_counter(single, modulus)
    else:  # counters come twice, and no time shows which came first
        ordered = []
    placed = {frame.id for frame in ordered}
    return _lane(ordered, modulus), [frame for frame in frames if frame.id not in placed]


def _timed(timed: Iterable[FrameEvidence], modulus: int) -> list[FrameEvidence]:
    """Frames with a time in order, but for those without a counter that a jump of the clock left without a
    place."""
    by_time = sorted(timed, key=lambda f: (_taken(f), f.counter or 0, f.name, f.id))
    counted = [frame for frame in by_time if frame.counter is not None]
    if not np.any(np.diff([frame.counter or 0 for frame in counted]) % modulus > modulus // 2):
        return by_time  # time and counter agree
    ordered = _by_chains(counted, modulus)
    return by_time if ordered == counted else ordered


def _by_counter(frames: Iterable[FrameEvidence], modulus: int) -> list[FrameEvidence]:
    """Frames by counter around the circle, beginning after its largest gap."""
    ordered = sorted(frames, key=lambda f: (f.counter or 0, _taken(f), f.name, f.id))
    ahead = [_step(ordered[i - 1], ordered[i], modulus) for i in range(len(ordered))]
    first = max(range(len(ordered)), key=lambda i: ahead[i], default=0)
    return ordered[first:] + ordered[:first]


def _insert(
    ordered: Sequence[FrameEvidence], untimed: Iterable[FrameEvidence], modulus: int
) -> list[FrameEvidence]:
    """Put each frame without a time after the frame with the preceding counter, where there is just one."""
    by_counter: defaultdict[int | None, list[FrameEvidence]] = defaultdict(list)
    for frame in ordered:
        by_counter[frame.counter].append(frame)
    following: dict[int, FrameEvidence] = {}
    for frame in _by_counter(untimed, modulus):
        counter = frame.counter or 0
        near = ((counter - back) % modulus for back in range(1, _NEIGHBOUR + 1))
        before = next((by_counter[place] for place in near if place in by_counter), [])
        if counter not in by_counter and len(before) == 1:
            following[before[0].id] = frame
            by_counter[counter] = [frame]  # the next frame may follow it
    placed = []
    for frame in ordered:
        after: FrameEvidence | None = frame
        while after is not None:
            placed.append(after)
            after = following.get(after.id)
    return placed


def _by_chains(counted: Sequence[FrameEvidence], modulus: int) -> list[FrameEvidence]:
    """Frames with a time and a counter, given in the order of time, in shooting order."""
    chains = _chains(_by_counter(counted, modulus))
    return [frame for chain in _joined(chains, modulus) for frame in chain] or list(counted)


def _chains(frames: Sequence[FrameEvidence]) -> list[list[FrameEvidence]]:
    """Monotone chains of frames that are given in the order of the counter. Each frame continues the chain
    with the nearest counter that ended before its time; copies of a frame follow each other.

    No chains where there would be more than the square root of their number: the numbers in the file names
    are no counters. Numbers at random make twice as many (as long as a permutation's longest decreasing
    subsequence: A. M. Vershik and S. V. Kerov, 1977, from memory).
    """
    chains: list[list[FrameEvidence]] = []  # the last one that went on is last
    for frame in frames:
        place = next((i for i in range(len(chains) - 1, -1, -1) if _goes_on(chains[i][-1], frame)), None)
        chains.append([] if place is None else chains.pop(place))
        chains[-1].append(frame)
        if len(chains) ** 2 > len(frames):
            return []
    return chains


def _goes_on(last: FrameEvidence, frame: FrameEvidence) -> bool:
    """Whether a frame may follow the last frame of a chain: it was taken later, or is its copy."""
    since = _taken(frame) - _taken(last)
    return abs(since) <= CLOCK_SLACK or (since > 0 and frame.counter != last.counter)


def _joined(chains: Sequence[list[FrameEvidence]], modulus: int) -> list[list[FrameEvidence]]:
    """The chains in shooting order: each after the one whose counter it continues most closely and that
    ended before it, or that it continues at once; else in the order of their beginnings."""
    joints = []
    for before, after in permutations(range(len(chains)), 2):
        last, first = chains[before][-1], chains[after][0]
        missing, between = _step(last, first, modulus) - 1, _taken(first) - _taken(last)
        if between >= 0 or 0 <= missing < _NEIGHBOUR:
            joints.append((missing % modulus, abs(between), before, after))
    rows = {number: [chain] for number, chain in enumerate(chains)}  # by first chain
    ends = {number: number for number in rows}  # the first chain of a row, by its last
    for *_, before, after in sorted(joints):
        if before in ends and after in rows and ends[before] != after:
            row = ends.pop(before)
            ends[next(last for last, start in ends.items() if start == after)] = row
            rows[row] += rows.pop(after)
    return [chain for row in sorted(rows.values(), key=lambda row: _taken(row[0][0])) for chain in row]


def _lane(ordered: Sequence[FrameEvidence], modulus: int) -> ShootingLane:
    ahead = np.diff(np.array([frame.taken for frame in ordered], np.float64))  # NaN where there is no time
    back = (np.flatnonzero(ahead < -CLOCK_SLACK) + 1).tolist()
    jumps = [ClockJump(ordered[place - 1].id, ordered[place].id, float(ahead[place - 1])) for place in back]
    others = [  # perhaps another body, with a clock of its own
        place
        for place, (a, b) in enumerate(pairwise(ordered), 1)
        if a.source != b.source and not (a.sure_body and b.sure_body)
    ]
    pieces = tuple(range(start, end) for start, end in pairwise([0, *sorted({*back, *others}), len(ordered)]))
    camera = ordered[0].camera if ordered else 0
    return ShootingLane(camera, tuple(ordered), tuple(jumps), tuple(_gaps(ordered, modulus)), pieces)


def _gaps(ordered: Sequence[FrameEvidence], modulus: int) -> Iterator[CounterGap]:
    counters = np.array([frame.counter for frame in ordered], np.float64)
    for place in np.flatnonzero(np.diff(counters) % modulus > 1).tolist():
        before, after = int(counters[place]), int(counters[place + 1])
        missing = (after - before) % modulus - 1 - (after < before)  # most bodies count from 9999 to 0001
        if 0 < missing <= _LARGEST_GAP:
            first, last = next_counter(before, modulus - 1), (after - 1) % modulus or modulus - 1
            yield CounterGap(ordered[place].id, first, last)


def _step(a: FrameEvidence, b: FrameEvidence, modulus: int) -> int:
    return ((b.counter or 0) - (a.counter or 0)) % modulus


def _taken(frame: FrameEvidence) -> float:
    return frame.taken or 0.0
