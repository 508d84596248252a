"""Cutting a lane into runs at its slates."""

from __future__ import annotations

from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

from onsite.matching.evidence import FrameEvidence
from onsite.matching.slate_status import SlateObservation, SlateStatus


@dataclass(frozen=True, slots=True)
class SlateBound:
    """A slate observation and the frames that show it: the same slate in consecutive frames is a single
    bound."""

    slate: SlateObservation
    frames: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Run:
    """The frames between two slates that read, by their places in the lane."""

    before: SlateBound | None
    """None at the beginning of the lane."""
    after: SlateBound | None
    """None at the end of the lane."""
    frames: tuple[int, ...]
    between: Mapping[int, SlateBound] = field(default_factory=dict)
    """Slates inside the run that do not read, by the number of frames before them."""


def cut_runs(count: int, slates: Mapping[int, SlateObservation], settled: Container[int] = ()) -> list[Run]:
    """Cut a lane of `count` frames into runs. Frames in `settled`, which have overrides, are in no run; clock
    slates are in none and bound none."""
    around: list[SlateBound | None] = [None]
    inside: list[tuple[list[int], dict[int, SlateBound]]] = [([], {})]
    last: SlateBound | None = None
    start = 0
    for place, slate in sorted(slates.items()):
        frames, between = inside[-1]
        frames += [index for index in range(start, place) if index not in settled]
        start = place + 1
        if slate.status is SlateStatus.CLOCK:
            continue  # it says nothing of who stands there
        again = last is not None and last.frames[-1] == place - 1 and _is_same(last.slate, slate)
        if again and last is not None:  # one that is turned at once is held upright
            upside_down = slate.upside_down and last.slate.upside_down
            last = SlateBound(replace(slate, upside_down=upside_down), (*last.frames, place))
        else:
            last = SlateBound(slate, (place,))
        if slate.status is SlateStatus.UNREAD:
            between[len(frames)] = last
        elif again:
            around[-1] = last
        else:
            around.append(last)
            inside.append(([], {}))
    inside[-1][0].extend(index for index in range(start, count) if index not in settled)
    around.append(None)
    return [
        Run(left, right, tuple(frames), between)
        for (left, right), (frames, between) in zip(pairwise(around), inside, strict=True)
    ]


def _is_same(slate: SlateObservation, other: SlateObservation) -> bool:
    return slate == replace(other, upside_down=slate.upside_down)


def places_of(bound: SlateBound | None) -> tuple[int, ...]:
    """The frames of a bound; none at either end of the lane."""
    return () if bound is None else bound.frames


def opens(bound: SlateBound | None) -> int | None:
    """The person whose run an upright slate opens."""
    return None if bound is None or bound.slate.upside_down else bound.slate.person


def exposures(frames: Sequence[FrameEvidence], places: Sequence[int]) -> int:
    """Number of exposures among these frames: copies of a frame have the same moment."""
    times = [frames[place].taken for place in places]
    return len(set(times)) + max(times.count(None) - 1, 0)
