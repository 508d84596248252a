"""The order in which each camera took its frames, by its clock and its counter."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from operator import attrgetter

import numpy as np
from numpy.typing import NDArray

from onsite.core.file_counter import last_counter
from onsite.matching.evidence import CLOCK_SLACK, FrameEvidence
from onsite.matching.monotone_chains import NEIGHBOUR, order_by_chains

_LARGEST_GAP = 1000  # missing counters; more means another card's numbering, not a gap


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
    timed = _by_time([f for f in frames if f.taken is not None], wrap)
    if timed:
        placed, astray = _timed(timed, wrap)
        ordered, left = _insert(placed, single, wrap)
        rest += left + astray
    elif len(single) + times_seen[None] == len(untimed):
        ordered = _by_counter(single, wrap)
    else:  # counters come twice, and no time shows which came first
        ordered, rest = [], untimed
    return _lane(ordered, wrap), rest


def _timed(timed: Sequence[FrameEvidence], modulus: int) -> tuple[list[FrameEvidence], list[FrameEvidence]]:
    """Frames with a time in order, and those without a counter that a jump of the clock left
    without a place."""
    if not _backward([f.counter for f in timed if f.counter is not None], modulus):
        return list(timed), []  # time and counter agree
    strands = order_by_chains([f for f in timed if f.counter is not None], modulus)
    if strands is not None:
        return strands, [f for f in timed if f.counter is None]
    return _settle(timed, modulus)


def _by_time(timed: Sequence[FrameEvidence], modulus: int) -> list[FrameEvidence]:
    """Frames in the order of time; those at most a tick of the clock apart in the order of their counters: a
    burst across the counter's roll-over, or a clock set back by as much as the frame came later."""
    ordered = sorted(timed, key=attrgetter("taken"))
    breaks = np.flatnonzero(np.diff(_times(ordered)) > CLOCK_SLACK) + 1
    edges = np.concatenate(([0], breaks, [len(ordered)]))
    for place in np.flatnonzero(np.diff(edges) > 1).tolist():
        start, end = int(edges[place]), int(edges[place + 1])
        at_once = ordered[start:end]
        if all(f.counter is not None for f in at_once):
            ordered[start:end] = _by_counter(at_once, modulus)
        else:
            ordered[start:end] = sorted(at_once, key=lambda f: (f.taken or 0.0, f.counter or 0, f.name, f.id))
    return ordered


def _times(frames: Sequence[FrameEvidence]) -> NDArray[np.float64]:
    """The times of frames; NaN where there is none."""
    return np.array([frame.taken for frame in frames], np.float64)


def _backward(counters: Sequence[int], modulus: int) -> int:
    """How often a counter is before the one that it follows, by less than half way round."""
    return int(np.count_nonzero(np.diff(counters) % modulus > modulus // 2))


def _settle(
    by_time: Sequence[FrameEvidence], modulus: int
) -> tuple[list[FrameEvidence], list[FrameEvidence]]:
    """Frames, given by time, in order; and those without a counter that a jump of the clock left
    without a place."""
    counted = [f for f in by_time if f.counter is not None]
    backward = _backward([f.counter or 0 for f in counted], modulus)
    if backward == 0:
        return list(by_time), []
    by_counter = _by_counter(counted, modulus)
    joints = [(a, b) for a, b in pairwise(by_counter) if _went_back(a, b)]
    simpler = len(joints) < backward
    neighbours = len(joints) == backward and all(_step(a, b, modulus) <= NEIGHBOUR for a, b in joints)
    if not simpler and not neighbours:
        return list(by_time), []
    if not joints and len(counted) < len(by_time):
        return list(by_time), []
    return by_counter, [f for f in by_time if f.counter is None]


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
        near = ((counter - back) % modulus for back in range(1, NEIGHBOUR + 1))
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
    back = np.flatnonzero(np.diff(_times(ordered)) < -CLOCK_SLACK) + 1
    jumps = [_jump(ordered[place - 1], ordered[place]) for place in back.tolist()]
    sources = [frame.source for frame in ordered]
    others = [  # perhaps another body, with a clock of its own
        place
        for place, (a, b) in enumerate(pairwise(sources), 1)
        if a != b and not (ordered[place - 1].sure_body and ordered[place].sure_body)
    ]
    cuts = [0, *sorted({*back.tolist(), *others}), len(ordered)]
    pieces = tuple(range(start, end) for start, end in pairwise(cuts))
    camera = ordered[0].camera if ordered else 0
    return ShootingLane(camera, tuple(ordered), tuple(jumps), tuple(_gaps(ordered, modulus)), pieces)


def _jump(a: FrameEvidence, b: FrameEvidence) -> ClockJump:
    return ClockJump(a.id, b.id, (b.taken or 0.0) - (a.taken or 0.0))


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


def _went_back(a: FrameEvidence, b: FrameEvidence) -> bool:
    return a.taken is not None and b.taken is not None and b.taken < a.taken - CLOCK_SLACK
