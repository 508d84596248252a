"""The names of a lane's frames: whom its slates name, and up to which change point."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from onsite.matching.change_points import NOT_LOOKED_AT, RunSegment, RunSide, run_segments
from onsite.matching.cut_runs import Run, SlateBound
from onsite.matching.evidence import NamedBy
from onsite.matching.likelihood_ratios import LaneLikelihoods
from onsite.matching.slate_status import SlateStatus
from onsite.matching.suggestions import POINTED, Hint, score_from_odds

CLAIMED_TWICE = "two people's slates claim these frames"
_RUN_BEFORE = "the run before is theirs"
_CLEARLY = 5.0
"""Times likelier that an upside-down slate belongs to one side than to the other, for it to name that one."""


@dataclass(frozen=True, slots=True)
class FrameName:
    """Whose a frame is; loose for the reason in `doubt`."""

    run: int
    """The same for all frames of a run, and for no others: the first place that it had."""
    person: int | None = None
    how: NamedBy = NamedBy.NOTHING
    doubt: str = ""
    hints: tuple[Hint, ...] = ()
    """People whom the evidence points to without settling it."""
    certainty: float | None = None
    """Probability of the name at its weakest step between slate and frame; None where it is loose."""


Names = dict[int, FrameName]
"""The names of a lane's frames, by place and in order. All frames of a run have the same one; where it was
joined by hand, they may differ in how they were named."""


def runs_of(names: Mapping[int, FrameName]) -> list[list[int]]:
    """The places of each run."""
    runs: dict[int, list[int]] = {}
    for place, name in names.items():
        runs.setdefault(name.run, []).append(place)
    return list(runs.values())


@dataclass(frozen=True, slots=True)
class _Owners:
    """Whom a slate names, by where the frames are: after it, or before it."""

    head: int | None = None
    tail: int | None = None


def name_lane(lane: LaneLikelihoods, cut: Sequence[Run]) -> Names:
    """The names of all frames in the runs of one lane. A run is divided where people change."""
    claims = [_Claims(run, *around) for run, around in zip(cut, pairwise(_owners(lane, cut)), strict=True)]
    segments = iter(run_segments(lane, [side for claim in claims for side in claim.sides]))
    names, before = Names(), Names()
    for claim in claims:
        found = [next(segments) for _ in claim.sides]
        if claim.run.frames:
            before = _name(lane, claim, found, before)
            names |= before
    return names


def _owners(lane: LaneLikelihoods, cut: Sequence[Run]) -> list[_Owners]:
    """Whose frames the slate at each bound of the runs names, from the beginning of the lane to its end."""
    found = [_Owners()]
    for before, after in pairwise(cut):
        bound = before.after
        assert bound is not None  # only the last run has none
        person, upside_down = bound.slate.person, bound.slate.upside_down
        found.append(_upside_down(lane, bound, before, after, found[-1]) if upside_down else _Owners(person))
    return [*found, _Owners()]


def _upside_down(
    lane: LaneLikelihoods, bound: SlateBound, before: Run, after: Run, earlier: _Owners
) -> _Owners:
    """Whether an upside-down slate is a tail slate or a head slate held upside down by mistake.

    Two sources must agree: what already names the frames before, and whom its holder looks like. It names
    nobody where they do not tell.
    """
    person = bound.slate.person
    if earlier.head == person or not after.frames:
        return _Owners(tail=person)  # head and tail slate of one run, or of somebody within another's
    if not before.frames:
        return _Owners(person)
    one, other = (lane.from_slate(bound.frames, some) for some in (before.frames[-4:], after.frames[:4]))
    if max(one, other) < _CLEARLY * min(one, other):
        return _Owners()
    return _Owners(tail=person) if one < other else _Owners(person)


@dataclass(frozen=True, slots=True)
class _Claims:
    """A run, and whose frames the slates before and after it name."""

    run: Run
    left: _Owners
    right: _Owners

    @property
    def two_people(self) -> bool:
        """Whether one person's slate opens it and another's closes it."""
        return None not in (self.left.head, self.right.tail) and self.left.head != self.right.tail

    @property
    def sides(self) -> list[RunSide]:
        """The sides from which the run is searched for change points."""
        before, after, frames = self.run.before, self.run.after, self.run.frames
        if not frames:
            return []
        sides = []
        if self.left.head is not None and before is not None:
            sides.append(RunSide(before.frames, frames))
        if after is not None and self.right.tail is not None and (not sides or self.two_people):
            sides.append(RunSide(after.frames[::-1], frames[::-1]))
        return sides

    @property
    def hints(self) -> tuple[Hint, ...]:
        """People whom the slate before it points to without settling it."""
        if self.run.before is None:
            return ()
        slate = self.run.before.slate
        if slate.person is not None and self.left == _Owners():
            return (Hint(slate.person, "the upside-down slate is theirs"),)
        reason = f"{slate.status}: it may be theirs"
        return tuple(Hint(person, reason, POINTED, True) for person in slate.possible)


def _name(
    lane: LaneLikelihoods, claim: _Claims, found: Sequence[Sequence[RunSegment]], before: Names
) -> Names:
    """Name a run by its change points as seen from the sides that were asked for. `before` are the names
    between the two slates before it."""
    head, tail, hints = claim.left.head, claim.right.tail, claim.hints
    if head is not None and tail is not None and claim.two_people:
        return _divided(claim.run, head, tail, *found)
    if head is not None:
        return _named(found[0], head, NamedBy.SLATE, _RUN_BEFORE)
    if tail is not None:
        return _named(found[0], tail, NamedBy.TAIL_SLATE, "the tail slate after it is theirs", hints)
    bound = claim.run.before
    if bound is None:
        return _unnamed(lane, claim.run, "no slate before it", hints)
    if bound.slate.upside_down:
        doubt = "the slate before it was held upside down: it may be for the frames before that"
        return _unnamed(lane, claim.run, doubt, hints)
    if bound.slate.status is SlateStatus.UNREAD and before:
        last = runs_of(before)[-1]
        if (person := before[last[0]].person) is not None:
            odds = lane.colour_likelihood_ratio(last, claim.run.frames)
            hints = (Hint(person, _RUN_BEFORE, score_from_odds(odds)), *hints)
    return _unnamed(lane, claim.run, f"before it: {bound.slate.status}", hints)


def _divided(
    run: Run, head: int, tail: int, heads: Sequence[RunSegment], tails: Sequence[RunSegment]
) -> Names:
    """A run between one person's head slate and another's tail slate: somebody stepped in. Frames that both
    claim, or neither, stay loose."""
    by_head, by_tail = ({place: part for part in side for place in part.frames} for side in (heads, tails))
    names: Names = {}
    for place in run.frames:
        from_head, from_tail = by_head[place], by_tail[place]
        begins = max(min(from_head.frames), min(from_tail.frames))
        if begins in names:
            names[place] = names[begins]
        elif from_tail.doubt and not from_head.doubt:
            names[place] = FrameName(begins, head, NamedBy.SLATE, certainty=from_head.certainty)
        elif from_head.doubt and not from_tail.doubt:
            names[place] = FrameName(begins, tail, NamedBy.TAIL_SLATE, certainty=from_tail.certainty)
        else:
            hints = (
                Hint(tail, "the tail slate behind is theirs", score_from_odds(from_tail.odds)),
                Hint(head, "the slate before is theirs", score_from_odds(from_head.odds)),
            )
            names[place] = FrameName(begins, doubt=from_head.doubt or CLAIMED_TWICE, hints=hints)
    return names


def _named(
    segments: Sequence[RunSegment], person: int, how: NamedBy, reason: str, hints: tuple[Hint, ...] = ()
) -> Names:
    """The frames of the segments, with the slate's name or loose."""
    names: Names = {}
    for segment in sorted(segments, key=lambda segment: min(segment.frames)):
        name = FrameName(min(segment.frames), person, how, certainty=segment.certainty)
        if segment.doubt:
            own = Hint(person, reason, score_from_odds(segment.odds))
            name = FrameName(name.run, doubt=segment.doubt, hints=(own, *hints))
        names |= dict.fromkeys(sorted(segment.frames), name)
    return names


def _unnamed(lane: LaneLikelihoods, run: Run, doubt: str, hints: tuple[Hint, ...]) -> Names:
    """The frames of a run that no slate names, divided where people change."""
    cuts = [at for at in range(1, len(run.frames)) if lane.changes[run.frames[at - 1]]]
    names: Names = {}
    for start, end in pairwise([0, *cuts, len(run.frames)]):
        places = run.frames[start:end]
        unseen = len(places) == 1 and not lane.frames[places[0]].seen
        name = FrameName(places[0], doubt=NOT_LOOKED_AT if unseen else doubt, hints=hints)
        names |= dict.fromkeys(places, name)
    return names
