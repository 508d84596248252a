"""Names for the runs of a lane: whom its slates name, and up to which change point."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import groupby, pairwise, takewhile

from onsite.matching.change_points import (
    NEXT_SLATE,
    NOT_LOOKED_AT,
    RunSegment,
    RunSide,
    run_segments,
    segment_groups,
)
from onsite.matching.cut_runs import Run, SlateBound, opens
from onsite.matching.evidence import NamedBy
from onsite.matching.likelihood_ratios import LaneLikelihoods
from onsite.matching.slate_status import SlateStatus
from onsite.matching.suggestions import HINTED, ONE_OF_SEVERAL, Hint, score_from_odds

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


class _Side(StrEnum):
    """Which frames an upside-down slate names."""

    BEFORE, AFTER, NEITHER = "before", "after", "neither"


@dataclass(frozen=True, slots=True)
class _Claims:
    """Whose slates name a run."""

    run: Run
    head: int | None = None
    """The person of the slate before it, if that names forwards."""
    tail: int | None = None
    """The person of the slate after it, if that names backwards."""
    unsure: tuple[int, ...] = ()
    """People of upside-down slates of which that is not known."""
    others_tail: bool = False
    """Whether the slate after it is a tail slate of somebody else, perhaps of one of several."""

    @property
    def sides(self) -> list[RunSide]:
        """The sides from which the run is searched for change points."""
        before, after, frames = self.run.before, self.run.after, self.run.frames
        if not frames or self.unsure:
            return []
        sides = []
        if self.head is not None and before is not None:
            sides.append(RunSide(before.frames, frames, before.unread, before.slate.person, self.others_tail))
        if after is not None and (self.others_tail or (self.head is None and self.tail is not None)):
            sides.append(RunSide(after.frames[::-1], frames[::-1], divided=self.others_tail))
        return sides


def name_lane(lane: LaneLikelihoods, cut: Sequence[Run]) -> list[NamedRun]:
    """Named parts for all frames in the runs of one lane."""
    meant = [None, *_sides(lane, cut), None]
    claims = [_claims(run, left, right) for run, (left, right) in zip(cut, pairwise(meant), strict=True)]
    segments = iter(run_segments(lane, [side for claim in claims for side in claim.sides]))
    named: list[NamedRun] = []
    for claim, left in zip(claims, meant, strict=False):
        run, found = claim.run, [next(segments) for _ in claim.sides]
        if run.frames:
            parts = _name(lane, claim, left, found)
            unread = run.before is not None and run.before.slate.status is SlateStatus.UNREAD
            earlier = named[-1] if unread and named else None
            named += parts if earlier is None else [_after_unread(lane, part, earlier) for part in parts]
    return named


def _claims(run: Run, left: str | None, right: str | None) -> _Claims:
    head = opens(run.before) if left is None else _held(run.before, left)
    tail = run.after.slate.person if run.after is not None and right == _Side.BEFORE else None
    unsure = tuple(
        bound.slate.person
        for bound, side in ((run.before, left), (run.after, right))
        if bound is not None and side == _Side.NEITHER and bound.slate.person is not None
    )
    others_tail = head is not None and (_is_anothers_tail(run.after, head) or tail not in (None, head))
    return _Claims(run, head, tail, unsure, others_tail)


def _after_unread(lane: LaneLikelihoods, part: NamedRun, earlier: NamedRun) -> NamedRun:
    """Frames after a slate that does not read: it may be a badge of whoever was there before."""
    if part.person is not None or earlier.person is None:
        return part
    odds = NEXT_SLATE * lane.colour_likelihood_ratio(earlier.frames, part.frames)
    hint = Hint(earlier.person, _RUN_BEFORE, score_from_odds(odds))
    return replace(part, hints=(hint, *part.hints))


def _sides(lane: LaneLikelihoods, cut: Sequence[Run]) -> list[str | None]:
    """For the bound after each run but the last: the side that an upside-down slate there
    names, else None."""
    sides: list[str | None] = []
    for before, after in pairwise(cut):
        bound = before.after
        assert bound is not None  # only the last run has none
        if not bound.slate.upside_down or bound.slate.status is not SlateStatus.SLATE:
            sides.append(None)
        else:
            sides.append(_side(lane, bound, before, after, sides[-1] if sides else None))
    return sides


def _side(lane: LaneLikelihoods, bound: SlateBound, before: Run, after: Run, earlier: str | None) -> str:
    """Whether an upside-down slate is a tail slate or a head slate held upside down by mistake.

    Two sources must agree: what already names the frames before, and whom its holder looks like.
    """
    opened = opens(before.before) if earlier is None else _held(before.before, earlier)
    if opened == bound.slate.person and opened is not None:
        return _Side.BEFORE  # head and tail slate of one run: the head slate names it
    if not before.frames:
        return _Side.AFTER
    if not after.frames:
        return _Side.BEFORE  # where the frames are in somebody else's run, that is divided
    return _nearer(lane, bound, before.frames, after.frames) or _Side.NEITHER


def _held(bound: SlateBound | None, side: str) -> int | None:
    return bound.slate.person if bound is not None and side == _Side.AFTER else None


def _nearer(
    lane: LaneLikelihoods, bound: SlateBound, before: Sequence[int], after: Sequence[int]
) -> str | None:
    """The side that the holder of a slate looks like, where one is clearly likelier."""
    if not before or not after:
        return None
    theirs = [lane.from_slate(bound.frames, places) for places in (before[-4:], after[:4])]
    if max(theirs) < _CLEARLY * min(theirs):
        return None
    return _Side.BEFORE if theirs[0] < theirs[1] else _Side.AFTER


def _name(
    lane: LaneLikelihoods, claim: _Claims, left: str | None, found: Sequence[Sequence[RunSegment]]
) -> list[NamedRun]:
    """Name a run by its change points as seen from the sides that were asked for."""
    run, head, tail = claim.run, claim.head, claim.tail
    if claim.unsure:
        doubt = "a slate was held upside down: are the frames before or after it meant?"
        hints = [Hint(person, "the upside-down slate is theirs") for person in claim.unsure]
        hints += [Hint(head, "the slate before is theirs")] if head is not None else []
        return _unnamed(lane, run, doubt, tuple(hints))
    if head is not None and claim.others_tail:
        return _divided(run, head, tail, *found)
    if head is not None:
        return [_named(part, head, NamedBy.SLATE, _RUN_BEFORE) for part in found[0]]
    if tail is not None:
        return _from_tail(run, tail, left, found[0])
    return _unnamed(lane, run, _why_unnamed(run.before, left), _hints(run.before, left))


def _is_anothers_tail(bound: SlateBound | None, head: int) -> bool:
    """Whether a bound is a tail slate of one of several people, and the head slate's person is none of
    them."""
    return (
        bound is not None
        and bound.slate.upside_down
        and bool(bound.slate.possible)
        and head not in bound.slate.possible
    )


def _from_tail(run: Run, person: int, left: str | None, parts: Sequence[RunSegment]) -> list[NamedRun]:
    """A tail slate names backwards, up to the change point nearest to it."""
    reason, hints = "the tail slate after it is theirs", _hints(run.before, left)
    named = [_named(part, person, NamedBy.TAIL_SLATE, reason, hints) for part in reversed(parts)]
    return [replace(part, frames=part.frames[::-1]) for part in named]


def _divided(
    run: Run, head: int, tail: int | None, heads: Sequence[RunSegment], tails: Sequence[RunSegment]
) -> list[NamedRun]:
    """A run between one person's head slate and another's tail slate, or that of one of several others:
    somebody stepped in. Each slate names its frames up to the first change point; frames that both claim, or
    neither, stay loose."""
    from_head = {place for part in heads if not part.doubt for place in part.frames}
    from_tail = {place for part in tails if not part.doubt for place in part.frames}
    hints = () if tail is None else (Hint(tail, "the tail slate behind is theirs"),)
    hints = (*hints, *_hints(run.after, None), Hint(head, "the slate before is theirs"))
    surely = {place for parts in (heads, tails) for place in _up_to_doubt(parts)}
    reason = {place: part.doubt for part in heads for place in part.frames}
    certain = [{place: part.certainty for part in parts for place in part.frames} for parts in (tails, heads)]

    def settled(place: int) -> NamedRun:
        mine, claims = place in from_head, place in from_tail
        person, how = (head, NamedBy.SLATE) if mine else (tail, NamedBy.TAIL_SLATE)
        if mine == claims or place not in surely or person is None:
            doubt = CLAIMED_TWICE if mine else reason[place]
            return NamedRun((place,), doubt=doubt, hints=hints)
        return NamedRun((place,), person, how, certainty=certain[mine][place])

    same = groupby(map(settled, run.frames), key=lambda part: replace(part, frames=()))
    return [replace(part, frames=tuple(each.frames[0] for each in group)) for part, group in same]


def _up_to_doubt(parts: Sequence[RunSegment]) -> Iterator[int]:
    """The frames of a run side before its first change point."""
    for part in takewhile(lambda part: not part.doubt, parts):
        yield from part.frames


def _named(
    part: RunSegment, person: int, how: NamedBy, reason: str, hints: tuple[Hint, ...] = ()
) -> NamedRun:
    """A segment with its name, or loose."""
    if not part.doubt:
        return NamedRun(part.frames, person, how, certainty=part.certainty)
    own = Hint(person, reason, score_from_odds(part.odds))
    return NamedRun(part.frames, doubt=part.doubt, hints=(own, *hints))


def _unnamed(lane: LaneLikelihoods, run: Run, doubt: str, hints: tuple[Hint, ...]) -> list[NamedRun]:
    """The parts of a run that no slate names, divided by person as far as possible."""
    named: list[NamedRun] = []
    for part in segment_groups(lane, run.frames):
        unseen = len(part.frames) == 1 and not lane.frames[part.frames[0]].seen
        named.append(NamedRun(part.frames, doubt=NOT_LOOKED_AT if unseen else doubt, hints=hints))
    return named


def _why_unnamed(left: SlateBound | None, side: str | None) -> str:
    if left is None:
        return "no slate before it"
    if side == _Side.BEFORE:
        return "the slate before it is a tail slate, of the frames before that"
    return f"before it: {left.slate.status}"


def _hints(left: SlateBound | None, side: str | None) -> tuple[Hint, ...]:
    if left is None:
        return ()
    if side == _Side.BEFORE and left.slate.person is not None:
        return (Hint(left.slate.person, "the tail slate before is theirs", HINTED // 2),)
    reason = f"{left.slate.status}: it may be theirs"
    return tuple(Hint(person, reason, ONE_OF_SEVERAL, True) for person in left.slate.possible)
