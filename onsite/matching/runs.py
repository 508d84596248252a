"""Cutting a lane at its slates: slate, the frames up to the next, slate, and so on."""

from __future__ import annotations

from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from onsite.matching.evidence import FrameEvidence
from onsite.matching.marks import Mark, Meaning


@dataclass(frozen=True, slots=True)
class Bound:
    """A mark and the frames that show it: the same slate in a row is one."""

    mark: Mark
    frames: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Stretch:
    """The frames between two slates whose person is known, by their places in the lane; None at either end of
    the lane. `between` are the marks that say of nobody whose they are, such as slates that do not read: each
    by the number of frames before it."""

    left: Bound | None
    right: Bound | None
    frames: tuple[int, ...]
    between: Mapping[int, Bound] = field(default_factory=dict)


def stretches(count: int, marks: Mapping[int, Mark], settled: Container[int] = ()) -> list[Stretch]:
    """Cuts a lane of `count` frames. Those in `settled`, decided by hand, are in no stretch."""
    around: list[Bound | None] = [None]
    inside: list[tuple[list[int], dict[int, Bound]]] = [([], {})]
    last: Bound | None = None
    start = 0
    for place, mark in sorted(marks.items()):
        frames, between = inside[-1]
        frames += [one for one in range(start, place) if one not in settled]
        start = place + 1
        again = last is not None and last.mark == mark and last.frames[-1] == place - 1
        last = Bound(mark, (*last.frames, place) if again and last is not None else (place,))
        if mark.meaning is not Meaning.SLATE:
            between[len(frames)] = last
        elif again:
            around[-1] = last
        else:
            around.append(last)
            inside.append(([], {}))
    inside[-1][0].extend(one for one in range(start, count) if one not in settled)
    around.append(None)
    return [
        Stretch(left, right, tuple(frames), between)
        for (left, right), (frames, between) in zip(pairwise(around), inside, strict=True)
    ]


def places_of(bound: Bound | None) -> tuple[int, ...]:
    """The frames of a bound; none at either end of the lane."""
    return () if bound is None else bound.frames


def opens(bound: Bound | None) -> int | None:
    """Whose run an upright slate opens."""
    if bound is None or bound.mark.meaning is not Meaning.SLATE or bound.mark.upside_down:
        return None
    return bound.mark.person


def seconds_between(frames: Sequence[FrameEvidence], a: int, b: int) -> float | None:
    one, other = frames[a].taken, frames[b].taken
    return None if one is None or other is None else other - one


def exposures(frames: Sequence[FrameEvidence], places: Sequence[int]) -> int:
    """How often the shutter was pressed for these frames: copies of one frame are of one moment."""
    times = [frames[place].taken for place in places]
    return len(set(times)) + max(times.count(None) - 1, 0)
