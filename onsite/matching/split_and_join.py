"""Splits and joins of runs, and what an override of a frame means for the frames around it.

Applied to the named parts of a lane after the slates have named them. A split takes names away and gives
none. A join extends the single name among its runs to all of them; where there are two names, all frames
become loose.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import groupby

from onsite.matching.evidence import Join, NamedBy, Split
from onsite.matching.name_runs import NamedRun
from onsite.matching.suggestions import Hint

SPLIT_OFF = "split off by hand"
TWO_PEOPLE = "runs of two people were joined by hand"
GIVEN_BEFORE = "a frame before it was given to somebody else by hand"
GIVEN_AFTER = "a frame after it was given to somebody else by hand"


def loosen_around_overrides(
    named: Sequence[NamedRun], given: Mapping[int, int], slates: Iterable[int]
) -> list[NamedRun]:
    """Take the name from the frames beyond a frame given to somebody else, as seen from the run's slate.

    Whoever else was on set may have stayed. The frames nearer to the slate keep their name. `given` are the
    people by the places of the frames; `slates` the places of the slates.
    """
    bounds = sorted(slates) if given else []
    return [piece for part in named for piece in _loosened(part, given, bounds)]


def _loosened(part: NamedRun, given: Mapping[int, int], bounds: Sequence[int]) -> list[NamedRun]:
    if part.person is None or not given:
        return [part]
    backwards = part.how is NamedBy.TAIL_SLATE
    step = -1 if backwards else 1
    frames = part.frames[::step]  # from the slate on
    slate = bounds[bisect_left(bounds, frames[0]) - (not backwards)]
    between = range(slate, frames[-1] + step, step)
    edge = next((place for place in between if given.get(place, part.person) != part.person), None)
    if edge is None:
        return [part]
    near = tuple(place for place in part.frames if (edge - place) * step > 0)
    far = tuple(place for place in part.frames if (edge - place) * step < 0)
    hints = (Hint(part.person, "the run beside it is theirs"), Hint(given[edge], "the frame given is theirs"))
    loose = NamedRun(far, doubt=GIVEN_AFTER if backwards else GIVEN_BEFORE, hints=hints)
    return [piece for piece in (replace(part, frames=near), loose)[::step] if piece.frames]


@dataclass(frozen=True, eq=False)
class _RegroupedRun:
    """Frames that are one run."""

    parts: dict[int, NamedRun]
    """By place, what is known of its frame, as a part without frames."""
    person: int | None = None
    sources: frozenset[int] = frozenset()
    """Places that the name comes from: for a slate's name the frame nearest to that slate, and any slate or
    frame with an override that the run was joined to."""

    @classmethod
    def of(cls, part: NamedRun) -> _RegroupedRun:
        """The run of one part."""
        source = part.frames[-1 if part.how is NamedBy.TAIL_SLATE else 0]
        sources = frozenset() if part.person is None else frozenset([source])
        return cls(dict.fromkeys(part.frames, replace(part, frames=())), part.person, sources)

    @cached_property
    def extent(self) -> tuple[int, int]:
        """The first and the last place."""
        places = self.sources.union(self.parts)
        return min(places), max(places)

    def split(self, place: int) -> list[_RegroupedRun]:
        """The run before a place and from there on; the side without a source loses the name."""
        first, last = self.extent
        if not first < place <= last:
            return [self]
        sides = (self._within(range(first, place)), self._within(range(place, last + 1)))
        return [side for side in sides if side.parts]

    def _within(self, places: range) -> _RegroupedRun:
        parts = {place: part for place, part in self.parts.items() if place in places}
        sources = self.sources.intersection(places)
        if self.person is None or sources:
            return _RegroupedRun(parts, self.person, sources)
        hint = Hint(self.person, "the run it was split off is theirs")
        return _RegroupedRun(dict.fromkeys(parts, NamedRun((), doubt=SPLIT_OFF, hints=(hint,))))

    def join(self, other: _RegroupedRun) -> _RegroupedRun:
        """The two as one run."""
        people = sorted({run.person for run in (self, other) if run.person is not None})
        parts = dict(sorted({**self.parts, **other.parts}.items()))
        if len(people) == 1:
            given = NamedRun((), people[0], NamedBy.OVERRIDE, certainty=1.0)
            parts = {place: given if part.person is None else part for place, part in parts.items()}
            return _RegroupedRun(parts, people[0], self.sources | other.sources)
        hints = [Hint(who, "one of the runs joined is theirs") for who in people]
        if not people:
            hints = [hint for part in parts.values() for hint in part.hints]
        doubt = TWO_PEOPLE if people else next(iter(self.parts.values())).doubt
        loose = NamedRun((), doubt=doubt, hints=tuple(dict.fromkeys(hints)))
        return _RegroupedRun(dict.fromkeys(parts, loose))

    def named(self) -> Iterator[NamedRun]:
        """Its parts, each with the place where the run begins."""
        begins = min(self.parts)
        for part, group in groupby(sorted(self.parts), key=self.parts.__getitem__):
            frames = tuple(group)
            yield replace(part, frames=frames, begins=begins if frames[0] != begins else None)


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
    runs = [_RegroupedRun.of(part) for part in named]
    for decision in mine:
        place = places[decision.frame]
        if isinstance(decision, Split):
            runs = [side for run in runs for side in run.split(place)]
        elif decision.to in places:
            first, other = (_run_at(runs, end, people) for end in (place, places[decision.to]))
            if first is not None and other is not None and first is not other and first.parts | other.parts:
                runs = [*(run for run in runs if run not in (first, other)), first.join(other)]
    return sorted((part for run in runs for part in run.named()), key=lambda part: part.frames[0])


def _run_at(runs: Sequence[_RegroupedRun], place: int, people: Mapping[int, int]) -> _RegroupedRun | None:
    """The run of a frame; a slate, or a frame with an override, counts as a run without frames."""
    own = _RegroupedRun({}, people[place], frozenset([place])) if place in people else None
    return next((run for run in runs if place in run.parts), own)
