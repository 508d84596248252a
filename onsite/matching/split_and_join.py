"""Splits and joins of runs, and what an override of a frame means for the frames around it.

Applied to the names of a lane's frames, as the slates gave them. A split takes names away and gives none. A
join extends the single name among its runs to all of them; where there are two names, all frames become
loose.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from onsite.matching.evidence import Join, NamedBy, Split
from onsite.matching.name_runs import FrameName, Names, runs_of
from onsite.matching.suggestions import Hint

SPLIT_OFF = "split off by hand"
TWO_PEOPLE = "runs of two people were joined by hand"
GIVEN_BEFORE = "a frame before it was given to somebody else by hand"
GIVEN_AFTER = "a frame after it was given to somebody else by hand"


def loosen_around_overrides(names: Names, given: Mapping[int, int], slates: Iterable[int]) -> Names:
    """Take the name from the frames beyond a frame given to somebody else, as seen from the run's slate.

    Whoever else was on set may have stayed. The frames nearer to the slate keep their name. `given` are the
    people by the places of the frames; `slates` the places of the slates.
    """
    if not given:
        return names
    bounds, found = sorted(slates), dict(names)
    for places in runs_of(names):
        name = names[places[0]]
        if name.person is None:
            continue
        backwards = name.how is NamedBy.TAIL_SLATE
        step = -1 if backwards else 1
        first, last = (places[0], places[-1])[::step]  # from the slate on
        slate = bounds[bisect_left(bounds, first) - (not backwards)]
        between = range(slate, last + step, step)
        edge = next((place for place in between if given.get(place, name.person) != name.person), None)
        if edge is None:
            continue
        near = [place for place in places if (edge - place) * step > 0]
        far = [place for place in places if (edge - place) * step < 0]
        doubt = GIVEN_AFTER if backwards else GIVEN_BEFORE
        hints = (
            Hint(name.person, "the run beside it is theirs"),
            Hint(given[edge], "the frame given is theirs"),
        )
        found |= {place: replace(name, run=near[0]) for place in near}
        found |= {place: FrameName(far[0], doubt=doubt, hints=hints) for place in far}
    return found


@dataclass(frozen=True, eq=False)
class _RegroupedRun:
    """Frames that are one run."""

    names: Names
    person: int | None = None
    sources: frozenset[int] = frozenset()
    """Places that the name comes from: for a slate's name the frame nearest to that slate, and any slate or
    frame with an override that the run was joined to."""

    @classmethod
    def of(cls, places: Sequence[int], name: FrameName) -> _RegroupedRun:
        """The run of frames with one name."""
        source = places[-1 if name.how is NamedBy.TAIL_SLATE else 0]
        sources = frozenset() if name.person is None else frozenset([source])
        return cls(dict.fromkeys(places, name), name.person, sources)

    @cached_property
    def extent(self) -> tuple[int, int]:
        """The first and the last place."""
        places = self.sources.union(self.names)
        return min(places), max(places)

    def split(self, place: int) -> list[_RegroupedRun]:
        """The run before a place and from there on; the side without a source loses the name."""
        first, last = self.extent
        if not first < place <= last:
            return [self]
        sides = (self._within(range(first, place)), self._within(range(place, last + 1)))
        return [side for side in sides if side.names]

    def _within(self, places: range) -> _RegroupedRun:
        names = {place: name for place, name in self.names.items() if place in places}
        sources = self.sources.intersection(places)
        if self.person is None or sources:
            return _RegroupedRun(names, self.person, sources)
        hint = Hint(self.person, "the run it was split off is theirs")
        loose = FrameName(places.start, doubt=SPLIT_OFF, hints=(hint,))
        return _RegroupedRun(dict.fromkeys(names, loose))

    def join(self, other: _RegroupedRun) -> _RegroupedRun:
        """The two as one run."""
        people = sorted({run.person for run in (self, other) if run.person is not None})
        names = self.names | other.names
        if len(people) == 1:
            given = FrameName(min(names), people[0], NamedBy.OVERRIDE, certainty=1.0)
            names = {place: given if name.person is None else name for place, name in names.items()}
            return _RegroupedRun(names, people[0], self.sources | other.sources)
        hints = [Hint(who, "one of the runs joined is theirs") for who in people]
        if not people:
            hints = [hint for _, name in sorted(names.items()) for hint in name.hints]
        doubt = TWO_PEOPLE if people else next(iter(self.names.values())).doubt
        loose = FrameName(min(names), doubt=doubt, hints=tuple(dict.fromkeys(hints)))
        return _RegroupedRun(dict.fromkeys(names, loose))


def regroup(
    names: Names, decisions: Sequence[Split | Join], places: Mapping[int, int], people: Mapping[int, int]
) -> Names:
    """The names after runs were split and joined, in the order of the decisions.

    `places` maps the ids of the lane's frames to their places; `people` maps the places of its slates and of
    its frames with overrides to persons: a run joined to one of these is that person's. A decision on frames
    that are not in this lane, or in no run, changes nothing.
    """
    mine = [decision for decision in decisions if decision.frame in places]
    if not mine:
        return names
    runs = [_RegroupedRun.of(found, names[found[0]]) for found in runs_of(names)]
    for decision in mine:
        place = places[decision.frame]
        if isinstance(decision, Split):
            runs = [side for run in runs for side in run.split(place)]
        elif decision.to in places:
            first, other = (_run_at(runs, end, people) for end in (place, places[decision.to]))
            if first is not None and other is not None and first is not other and first.names | other.names:
                runs = [*(run for run in runs if run not in (first, other)), first.join(other)]
    found = {place: replace(name, run=min(run.names)) for run in runs for place, name in run.names.items()}
    return dict(sorted(found.items()))


def _run_at(runs: Sequence[_RegroupedRun], place: int, people: Mapping[int, int]) -> _RegroupedRun | None:
    """The run of a frame; a slate, or a frame with an override, counts as a run without frames."""
    own = _RegroupedRun({}, people[place], frozenset([place])) if place in people else None
    return next((run for run in runs if place in run.names), own)
