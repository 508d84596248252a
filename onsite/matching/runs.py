"""Cutting a lane at its marks: mark, the frames up to the next, mark, and so on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import quantiles

from onsite.matching.evidence import FrameEvidence
from onsite.matching.marks import Mark, Meaning


@dataclass(frozen=True, slots=True)
class Bound:
    """A mark and the frames that show it: the same slate in a row is one."""

    mark: Mark
    frames: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Stretch:
    """The frames between two bounds, by their places in the lane; None at either end of the lane."""

    left: Bound | None
    right: Bound | None
    frames: tuple[int, ...]


def stretches(count: int, marks: Mapping[int, Mark], settled: frozenset[int] = frozenset()) -> list[Stretch]:
    """Cuts a lane of `count` frames. Those in `settled`, decided by hand, are in no stretch."""
    bounds: list[Bound] = []
    between: list[list[int]] = [[]]
    for index in range(count):
        mark = marks.get(index)
        if mark is None:
            if index not in settled:
                between[-1].append(index)
        elif bounds and bounds[-1].mark == mark and bounds[-1].frames[-1] == index - 1:
            bounds[-1] = Bound(mark, (*bounds[-1].frames, index))
        else:
            bounds.append(Bound(mark, (index,)))
            between.append([])
    around = [None, *bounds, None]
    return [
        Stretch(left, right, tuple(frames))
        for (left, right), frames in zip(pairwise(around), between, strict=True)
    ]


def opens(bound: Bound | None) -> int | None:
    """Whose run an upright slate opens."""
    if bound is None or bound.mark.meaning is not Meaning.SLATE or bound.mark.upside_down:
        return None
    return bound.mark.person


@dataclass(frozen=True, slots=True)
class Tempo:
    """A lane's rhythm: `pause` is how long, in seconds, is long within a run; `change` how long it takes
    from one person's last frame to the next slate when it goes quickly, as one time in ten; `many` how
    many frames are too many for one run."""

    pause: float
    change: float
    many: int


_SHORTEST_PAUSE = 15.0
_LEAST_MANY = 24


def tempo(frames: Sequence[FrameEvidence], cut: Sequence[Stretch]) -> Tempo:
    """The rhythm of a lane, from the runs that an upright slate opened."""
    inside: list[float] = []
    change: list[float] = []
    lengths: list[int] = []
    for stretch in cut:
        if opens(stretch.left) is None or not stretch.frames:
            continue
        lengths.append(len(stretch.frames))
        inside += [
            gap for a, b in pairwise(stretch.frames) if (gap := seconds_between(frames, a, b)) is not None
        ]
        if stretch.right is not None:
            gap = seconds_between(frames, stretch.frames[-1], stretch.right.frames[0])
            change += [gap] if gap is not None else []
    usual_inside, quick_change = _tenths(inside, 7, 8.0), _tenths(change, 1, 30.0)
    return Tempo(
        pause=max(_SHORTEST_PAUSE, 2 * usual_inside),
        change=quick_change,
        many=max(_LEAST_MANY, round(4 * _tenths([float(length) for length in lengths], 9, 8.0))),
    )


def seconds_between(frames: Sequence[FrameEvidence], a: int, b: int) -> float | None:
    one, other = frames[a].taken, frames[b].taken
    return None if one is None or other is None else other - one


def _tenths(values: Sequence[float], tenth: int, otherwise: float) -> float:
    """The value that so many tenths lie below; `otherwise` where there are too few to say."""
    return quantiles(values, n=10, method="inclusive")[tenth - 1] if len(values) >= 5 else otherwise
