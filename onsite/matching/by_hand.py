"""Runs split and joined by hand, and what a frame given by hand says about the frames around it.

Works on the named parts of a lane once its slates have had their say. A split takes names away and gives
none. A join gives the one name among the runs it joins; where there are two, none of them is kept.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from onsite.matching.evidence import How, Join, Split
from onsite.matching.naming import Named
from onsite.matching.suggest import Hint

SPLIT_OFF = "split off by hand"
TWO_PEOPLE = "runs of two people were joined by hand"
NOT_OF_ONE = "a frame before it was given to somebody else by hand"
NOT_OF_ONE_AFTER = "a frame after it was given to somebody else by hand"

_Hints = tuple[Hint, ...]


def loosen(named: Sequence[Named], given: Mapping[int, int], marks: Iterable[int]) -> list[Named]:
    """Takes the name from what lies beyond a frame given to somebody else, as seen from the run's slate.

    Whoever else was on set may have stayed. The frames nearer to the slate keep their name. `given` are the
    people by the places of the frames; `marks` the places of the slates.
    """
    if not given:
        return list(named)
    places, bounds = sorted(given), sorted(marks)
    return [piece for part in named for piece in _loosened(part, given, places, bounds)]


def _loosened(
    part: Named, given: Mapping[int, int], places: Sequence[int], bounds: Sequence[int]
) -> list[Named]:
    if part.person is None:
        return [part]
    first, last = part.frames[0], part.frames[-1]
    backwards = part.how is How.TAIL_SLATE
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
    doubt = NOT_OF_ONE_AFTER if backwards else NOT_OF_ONE
    hints = (Hint(part.person, "the run beside it is theirs"), Hint(given[edge], "the frame given is theirs"))
    pieces = [replace(part, frames=near), Named(far, doubt=doubt, hints=hints)]
    return [piece for piece in (pieces[::-1] if backwards else pieces) if piece.frames]


@dataclass(frozen=True, slots=True)
class _Run:
    """Parts that are one run. `anchors` are the places that its name comes from: for a slate's name the
    frame nearest to that slate, and any slate or frame given by hand that it was joined to."""

    parts: tuple[Named, ...]
    person: int | None = None
    anchors: frozenset[int] = frozenset()

    @property
    def extent(self) -> tuple[int, int]:
        """The first and the last place."""
        ends = [end for part in self.parts for end in (part.frames[0], part.frames[-1])]
        return min(*ends, *self.anchors), max(*ends, *self.anchors)

    @property
    def hints(self) -> _Hints:
        return tuple(dict.fromkeys(hint for part in self.parts for hint in part.hints))

    @property
    def doubt(self) -> str:
        return next((part.doubt for part in self.parts if part.doubt), "")


def regroup(
    named: Sequence[Named],
    decisions: Sequence[Split | Join],
    places: Mapping[int, int],
    people: Mapping[int, int],
) -> list[Named]:
    """The parts of a lane after its runs were split and joined, one decision after the other.

    `places` are those of the lane's frames by their id; `people` those of its slates and of its frames given
    by hand, by place: a run joined to one of these is that person's. A decision on frames that are not in
    this lane, or in no run, changes nothing.
    """
    mine = [decision for decision in decisions if decision.frame in places]
    if not mine:
        return list(named)
    runs = _Runs(named, people)
    for decision in mine:
        if isinstance(decision, Split):
            runs.split(places[decision.frame])
        elif decision.to in places:
            runs.join(places[decision.frame], places[decision.to])
    return runs.named()


class _Runs:
    """The runs of a lane while decisions are applied to them."""

    def __init__(self, named: Sequence[Named], people: Mapping[int, int]) -> None:
        self._people = people
        self._runs: dict[int, _Run] = {}  # by a number of their own
        self._extents: dict[int, tuple[int, int]] = {}
        self._run_of: dict[int, int] = {}  # by the place of each frame
        self._next = 0
        for part in named:
            self._add(_Run((part,), part.person, _anchor(part)))

    def named(self) -> list[Named]:
        parts = []
        for run in self._runs.values():
            begins = min(part.frames[0] for part in run.parts)
            parts += [replace(p, begins=begins if p.frames[0] != begins else None) for p in run.parts]
        return sorted(parts, key=lambda part: part.frames[0])

    def split(self, place: int) -> None:
        """Cuts every run that reaches over that place: what is left without an anchor loses the name."""
        over = [number for number, (first, last) in self._extents.items() if first < place <= last]
        for number in over:
            for side in _sides(self._take(number), place):
                self._add(side)

    def join(self, one: int, other: int) -> None:
        some, others = self._run_at(one), self._run_at(other)
        if some is None or others is None or some == others:
            return
        for number in {self._run_of[place] for place in (one, other) if place in self._run_of}:
            self._take(number)
        self._add(_joined(some, others))

    def _run_at(self, place: int) -> _Run | None:
        """The run of a frame; a slate, or a frame given by hand, counts as a run without frames."""
        if place in self._run_of:
            return self._runs[self._run_of[place]]
        person = self._people.get(place)
        return None if person is None else _Run((), person, frozenset([place]))

    def _take(self, number: int) -> _Run:
        del self._extents[number]
        return self._runs.pop(number)

    def _add(self, run: _Run) -> None:
        if run.parts:
            self._runs[self._next] = run
            self._extents[self._next] = run.extent
            self._run_of |= {place: self._next for part in run.parts for place in part.frames}
            self._next += 1


def _anchor(part: Named) -> frozenset[int]:
    if part.person is None:
        return frozenset()
    return frozenset([part.frames[-1 if part.how is How.TAIL_SLATE else 0]])


def _sides(run: _Run, place: int) -> list[_Run]:
    """A run before a place and from there on."""
    cut = [(part, *_cut(part.frames, place)) for part in run.parts]
    sides = []
    for number, anchors in enumerate(_cut(sorted(run.anchors), place)):
        parts = tuple(replace(part, frames=frames) for part, *halves in cut if (frames := halves[number]))
        if run.person is not None and anchors:
            sides.append(_Run(parts, run.person, frozenset(anchors)))
        elif run.person is not None:
            sides.append(_loose(parts, SPLIT_OFF, (Hint(run.person, "the run it was split off is theirs"),)))
        else:
            sides.append(_loose(parts, run.doubt, run.hints))
    return sides


def _joined(one: _Run, other: _Run) -> _Run:
    people = sorted({run.person for run in (one, other) if run.person is not None})
    parts = tuple(sorted((*one.parts, *other.parts), key=lambda part: part.frames[0]))
    if len(people) > 1:
        return _loose(
            parts, TWO_PEOPLE, tuple(Hint(who, "one of the runs joined is theirs") for who in people)
        )
    if not people:
        return _loose(parts, one.doubt, tuple(dict.fromkeys((*one.hints, *other.hints))))
    joined = (part if part.person is not None else Named(part.frames, people[0], How.HAND) for part in parts)
    return _Run(tuple(joined), people[0], one.anchors | other.anchors)


def _loose(parts: Sequence[Named], doubt: str, hints: _Hints) -> _Run:
    frames = tuple(sorted(place for part in parts for place in part.frames))
    return _Run((Named(frames, doubt=doubt, hints=hints),) if frames else ())


def _cut(frames: Sequence[int], place: int) -> tuple[tuple[int, ...], tuple[int, ...]]:
    at = bisect_left(frames, place)
    return tuple(frames[:at]), tuple(frames[at:])
