"""Names for the runs of a lane: whom its slates name, and up to which change point."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import groupby, pairwise

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
class NamedRun:
    """Part of a run: named, or loose for the reason in `doubt`."""

    frames: tuple[int, ...]
    person: int | None = None
    how: NamedBy = NamedBy.NOTHING
    doubt: str = ""
    hints: tuple[Hint, ...] = ()
    """People whom the evidence points to without settling it."""
    begins: int | None = None
    """The first place of its run, where an override joined it to an earlier part."""
    certainty: float | None = None
    """Probability of the name at its weakest step between slate and frame; None where it is loose."""


@dataclass(frozen=True, slots=True)
class _Names:
    """Whom a slate names, by where the frames are: after it, or before it."""

    head: int | None = None
    tail: int | None = None


def name_lane(lane: LaneLikelihoods, cut: Sequence[Run]) -> list[NamedRun]:
    """Named parts for all frames in the runs of one lane."""
    claims = [_Claims(run, *around) for run, around in zip(cut, pairwise(_meanings(lane, cut)), strict=True)]
    segments = iter(run_segments(lane, [side for claim in claims for side in claim.sides]))
    named: list[NamedRun] = []
    for claim in claims:
        found = [next(segments) for _ in claim.sides]
        if claim.run.frames:
            named += _name(lane, claim, found, named[-1] if named else NamedRun(()))
    return named


def _meanings(lane: LaneLikelihoods, cut: Sequence[Run]) -> list[_Names]:
    """Whose frames the slate at each bound of the runs names, from the beginning of the lane to its end."""
    found = [_Names()]
    for before, after in pairwise(cut):
        bound = before.after
        assert bound is not None  # only the last run has none
        person, upside_down = bound.slate.person, bound.slate.upside_down
        found.append(_upside_down(lane, bound, before, after, found[-1]) if upside_down else _Names(person))
    return [*found, _Names()]


def _upside_down(
    lane: LaneLikelihoods, bound: SlateBound, before: Run, after: Run, earlier: _Names
) -> _Names:
    """Whether an upside-down slate is a tail slate or a head slate held upside down by mistake.

    Two sources must agree: what already names the frames before, and whom its holder looks like. It names
    nobody where they do not tell.
    """
    person = bound.slate.person
    if earlier.head == person or not after.frames:
        return _Names(tail=person)  # head and tail slate of one run, or of somebody within another's
    if not before.frames:
        return _Names(person)
    one, other = (lane.from_slate(bound.frames, some) for some in (before.frames[-4:], after.frames[:4]))
    if max(one, other) < _CLEARLY * min(one, other):
        return _Names()
    return _Names(tail=person) if one < other else _Names(person)


@dataclass(frozen=True, slots=True)
class _Claims:
    """A run, and whose frames the slates before and after it name."""

    run: Run
    left: _Names
    right: _Names

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
        if slate.person is not None and self.left == _Names():
            return (Hint(slate.person, "the upside-down slate is theirs"),)
        reason = f"{slate.status}: it may be theirs"
        return tuple(Hint(person, reason, POINTED, True) for person in slate.possible)


def _name(
    lane: LaneLikelihoods, claim: _Claims, found: Sequence[Sequence[RunSegment]], earlier: NamedRun
) -> list[NamedRun]:
    """Name a run by its change points as seen from the sides that were asked for. `earlier` are the frames
    right before it."""
    head, tail, hints = claim.left.head, claim.right.tail, claim.hints
    if head is not None and tail is not None and claim.two_people:
        return _divided(claim.run, head, tail, *found)
    if head is not None:
        return [_named(part, head, NamedBy.SLATE, _RUN_BEFORE) for part in found[0]]
    if tail is not None:
        reason = "the tail slate after it is theirs"
        named = [_named(part, tail, NamedBy.TAIL_SLATE, reason, hints) for part in reversed(found[0])]
        return [replace(part, frames=part.frames[::-1]) for part in named]
    before = claim.run.before
    if before is None:
        return _unnamed(lane, claim.run, "no slate before it", hints)
    if before.slate.upside_down:
        doubt = "the slate before it was held upside down: it may be for the frames before that"
        return _unnamed(lane, claim.run, doubt, hints)
    if before.slate.status is SlateStatus.UNREAD and earlier.person is not None:
        odds = lane.colour_likelihood_ratio(earlier.frames, claim.run.frames)
        hints = (Hint(earlier.person, _RUN_BEFORE, score_from_odds(odds)), *hints)
    return _unnamed(lane, claim.run, f"before it: {before.slate.status}", hints)


def _divided(
    run: Run, head: int, tail: int, heads: Sequence[RunSegment], tails: Sequence[RunSegment]
) -> list[NamedRun]:
    """A run between one person's head slate and another's tail slate: somebody stepped in. Frames that both
    claim, or neither, stay loose."""
    by_head, by_tail = ({place: part for part in side for place in part.frames} for side in (heads, tails))

    def settled(place: int) -> NamedRun:
        from_head, from_tail = by_head[place], by_tail[place]
        if from_tail.doubt and not from_head.doubt:
            return NamedRun((place,), head, NamedBy.SLATE, certainty=from_head.certainty)
        if from_head.doubt and not from_tail.doubt:
            return NamedRun((place,), tail, NamedBy.TAIL_SLATE, certainty=from_tail.certainty)
        hints = (
            Hint(tail, "the tail slate behind is theirs", score_from_odds(from_tail.odds)),
            Hint(head, "the slate before is theirs", score_from_odds(from_head.odds)),
        )
        return NamedRun((place,), doubt=from_head.doubt or CLAIMED_TWICE, hints=hints)

    same = groupby(map(settled, run.frames), key=lambda part: replace(part, frames=()))
    return [replace(part, frames=tuple(each.frames[0] for each in group)) for part, group in same]


def _named(
    part: RunSegment, person: int, how: NamedBy, reason: str, hints: tuple[Hint, ...] = ()
) -> NamedRun:
    """A segment with its name, or loose."""
    if not part.doubt:
        return NamedRun(part.frames, person, how, certainty=part.certainty)
    own = Hint(person, reason, score_from_odds(part.odds))
    return NamedRun(part.frames, doubt=part.doubt, hints=(own, *hints))


def _unnamed(lane: LaneLikelihoods, run: Run, doubt: str, hints: tuple[Hint, ...]) -> list[NamedRun]:
    """The parts of a run that no slate names, divided where people change."""
    cuts = [at for at in range(1, len(run.frames)) if lane.changes[run.frames[at - 1]]]
    parts = [run.frames[start:end] for start, end in pairwise([0, *cuts, len(run.frames)])]
    unseen = [len(part) == 1 and not lane.frames[part[0]].seen for part in parts]
    return [
        NamedRun(part, doubt=NOT_LOOKED_AT if dark else doubt, hints=hints)
        for part, dark in zip(parts, unseen, strict=True)
    ]
