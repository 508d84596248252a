"""Splits and joins of runs, and what an override of a frame means for the frames around it.

Applied to the named parts of a lane after the slates have named them. A split takes names away and gives
none. A join extends the single name among its runs to all of them; where there are two names, all frames
become loose.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from onsite.matching.evidence import Join, NamedBy, Split
from onsite.matching.name_runs import NamedRun
from onsite.matching.suggestions import Hint

SPLIT_OFF = "split off by hand"
TWO_PEOPLE = "runs of two people were joined by hand"
GIVEN_BEFORE = "a frame before it was given to somebody else by hand"
GIVEN_AFTER = "a frame after it was given to somebody else by hand"

_Hints = tuple[Hint, ...]


def loosen_around_overrides(
    named: Sequence[NamedRun], given: Mapping[int, int], slates: Iterable[int]
) -> list[NamedRun]:
    """Take the name from the frames beyond a frame given to somebody else, as seen from the run's slate.

    Whoever else was on set may have stayed. The frames nearer to the slate keep their name. `given` are the
    people by the places of the frames; `slates` the places of the slates.
    """
    if not given:
        return list(named)
    places, bounds = sorted(given), sorted(slates)
    return [piece for part in named for piece in _loosened(part, given, places, bounds)]


def _loosened(
    part: NamedRun, given: Mapping[int, int], places: Sequence[int], bounds: Sequence[int]
) -> list[NamedRun]:
    if part.person is None:
        return [part]
    first, last = part.frames[0], part.frames[-1]
    backwards = part.how is NamedBy.TAIL_SLATE
    if backwards:
        bound = bisect_right(bounds, last)
        last = bounds[bound] if bound < len(bounds) else last
    else:
        bound = bisect_left(bounds, first)
        first = bounds[bound - 1] if bound else first
    between = places[bisect_left(places, first) : bisect_right(places, last)]
    others = [place for place in between if given[place] != part.person]
    if not others:
        return [part]
    edge = others[-1] if backwards else others[0]
    before, after = _cut(part.frames, edge)
    near, far = (after, before) if backwards else (before, after)
    doubt = GIVEN_AFTER if backwards else GIVEN_BEFORE
    hints = (Hint(part.person, "the run beside it is theirs"), Hint(given[edge], "the frame given is theirs"))
    pieces = [replace(part, frames=near), NamedRun(far, doubt=doubt, hints=hints)]
    return [piece for piece in (pieces[::-1] if backwards else pieces) if piece.frames]


@dataclass(frozen=True, eq=False)
class _RegroupedRun:
    """Parts that are one run."""

    parts: tuple[NamedRun, ...]
    person: int | None = None
    anchors: frozenset[int] = frozenset()
    """Places that the name comes from: for a slate's name the frame nearest to that slate, and any slate or
    frame with an override that the run was joined to."""

    @cached_property
    def extent(self) -> tuple[int, int]:
        """The first and the last place."""
        ends = [end for part in self.parts for end in (part.frames[0], part.frames[-1])]
        return min(*ends, *self.anchors), max(*ends, *self.anchors)

    @property
    def hints(self) -> _Hints:
        return tuple(dict.fromkeys(hint for part in self.parts for hint in part.hints))

    def named(self) -> Iterator[NamedRun]:
        """Its parts, each with the place where the run begins."""
        begins = min(part.frames[0] for part in self.parts)
        for part in self.parts:
            yield replace(part, begins=begins if part.frames[0] != begins else None)


def regroup(
    named: Sequence[NamedRun],
    decisions: Sequence[Split | Join],
    places: Mapping[int, int],
    people: Mapping[int, int],
) -> list[NamedRun]:
    """The parts of a lane after its runs were split and joined, in the order of the decisions.

    `places` maps the ids of the lane's frames to their places; `people` maps the places of its slates and of
    its frames with overrides to persons: a run joined to one of these is that person's. A decision on frames
    that are not in this lane, or in no run, changes nothing.
    """
    mine = [decision for decision in decisions if decision.frame in places]
    if not mine:
        return list(named)
    runs = [_RegroupedRun((part,), part.person, _anchor(part)) for part in named]
    for decision in mine:
        place = places[decision.frame]
        if isinstance(decision, Split):
            runs = [side for run in runs for side in _sides(run, place)]
        elif decision.to in places:
            ends = [_run_at(runs, end, people) for end in (place, places[decision.to])]
            if None not in ends and ends[0] is not ends[1]:
                runs = [run for run in runs if run not in ends] + _joined(*filter(None, ends))
    return sorted((part for run in runs for part in run.named()), key=lambda part: part.frames[0])


def _run_at(runs: Sequence[_RegroupedRun], place: int, people: Mapping[int, int]) -> _RegroupedRun | None:
    """The run of a frame; a slate, or a frame with an override, counts as a run without frames."""
    for run in runs:
        if run.extent[0] <= place <= run.extent[1] and any(place in part.frames for part in run.parts):
            return run
    return _RegroupedRun((), people[place], frozenset([place])) if place in people else None


def _anchor(part: NamedRun) -> frozenset[int]:
    if part.person is None:
        return frozenset()
    return frozenset([part.frames[-1 if part.how is NamedBy.TAIL_SLATE else 0]])


def _sides(run: _RegroupedRun, place: int) -> list[_RegroupedRun]:
    """A run before a place and from there on; the side without an anchor loses the name."""
    if not run.extent[0] < place <= run.extent[1]:
        return [run]
    cut = [(part, *_cut(part.frames, place)) for part in run.parts]
    hints = run.hints if run.person is None else (Hint(run.person, "the run it was split off is theirs"),)
    sides = []
    for number, anchors in enumerate(_cut(sorted(run.anchors), place)):
        parts = tuple(replace(part, frames=frames) for part, *halves in cut if (frames := halves[number]))
        if run.person is not None and anchors:
            sides.append(_RegroupedRun(parts, run.person, frozenset(anchors)))
        elif parts:
            sides.append(_loose(parts, run.parts[0].doubt if run.person is None else SPLIT_OFF, hints))
    return [side for side in sides if side.parts]


def _joined(first: _RegroupedRun, other: _RegroupedRun) -> list[_RegroupedRun]:
    """The two as one run; none where neither has frames."""
    people = sorted({run.person for run in (first, other) if run.person is not None})
    parts = tuple(sorted((*first.parts, *other.parts), key=lambda part: part.frames[0]))
    if not parts:
        return []
    if len(people) > 1:
        hints = tuple(Hint(who, "one of the runs joined is theirs") for who in people)
        return [_loose(parts, TWO_PEOPLE, hints)]
    if not people:
        return [_loose(parts, first.parts[0].doubt, tuple(dict.fromkeys((*first.hints, *other.hints))))]
    joined = (
        part if part.person is not None else NamedRun(part.frames, people[0], NamedBy.OVERRIDE, certainty=1.0)
        for part in parts
    )
    return [_RegroupedRun(tuple(joined), people[0], first.anchors | other.anchors)]


def _loose(parts: Sequence[NamedRun], doubt: str, hints: _Hints) -> _RegroupedRun:
    frames = tuple(sorted(place for part in parts for place in part.frames))
    return _RegroupedRun((NamedRun(frames, doubt=doubt, hints=hints),))


def _cut(frames: Sequence[int], place: int) -> tuple[tuple[int, ...], tuple[int, ...]]:
    at = bisect_left(frames, place)
    return tuple(frames[:at]), tuple(frames[at:])
