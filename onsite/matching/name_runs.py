"""Names for the runs of a lane: whom its slates name, and up to which change point."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import groupby, pairwise, takewhile

from onsite.matching.change_points import (
    NEXT_SLATE,
    NOT_LOOKED_AT,
    TEST,
    RunSegment,
    RunSide,
    run_segments,
    segment_groups,
)
from onsite.matching.cut_runs import Run, SlateBound, exposures, opens
from onsite.matching.day_statistics import SAMPLE
from onsite.matching.evidence import NamedBy
from onsite.matching.likelihood_ratios import OFTEN, LaneLikelihoods
from onsite.matching.slate_status import SlateStatus
from onsite.matching.suggestions import HINTED, ONE_OF_SEVERAL, Hint, score_from_odds

_ASSUMED = 4
"""Runs that the assumed prior weighs as much as: many photographers never forget a slate. Our own guess."""
CLAIMED_TWICE = "two people's slates claim these frames"
_RUN_BEFORE = "the run before is theirs"
_CLEARLY_NEARER = 0.7
"""One side's colour distance over the other's, for an upside-down slate to belong to it. Our own choice."""


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


def name_lane(lane: LaneLikelihoods, cut: Sequence[Run]) -> list[NamedRun]:
    """Named parts for all frames in the runs of one lane."""
    often, stands_in = _often(lane, cut)
    lane = replace(lane, change_prior=often, substitution_prior=stands_in)
    sides = [None, *_sides(lane, cut), None]
    named: list[NamedRun] = []
    for run, (left, right) in zip(cut, pairwise(sides), strict=True):
        if run.frames:
            parts = _name(lane, run, left, right)
            unread = run.before is not None and run.before.slate.status is SlateStatus.UNREAD
            earlier = named[-1] if unread and named else None
            named += parts if earlier is None else [_after_unread(lane, part, earlier) for part in parts]
    return named


def _after_unread(lane: LaneLikelihoods, part: NamedRun, earlier: NamedRun) -> NamedRun:
    """Frames after a slate that does not read: it may be a badge of whoever was there before."""
    if part.person is not None or earlier.person is None:
        return part
    odds = NEXT_SLATE * lane.colour_likelihood_ratio(earlier.frames, part.frames)
    hint = Hint(earlier.person, _RUN_BEFORE, score_from_odds(odds))
    return replace(part, hints=(hint, *part.hints))


def _often(lane: LaneLikelihoods, cut: Sequence[Run]) -> tuple[float, float]:
    """Shares of runs in which the next person's slate was forgotten, and in which somebody stood in for a
    light test, estimated from this day and from the assumed prior. Where a slate shows the change, none was
    forgotten; nor where nobody seems to be in the frame: they wear the backdrop's colour."""
    sides = [_from_left(run) for run in cut if opens(run.before) is not None and not _tail_of_other(run)]
    sides = [side for side in sides if side.frames and not side.unread]
    sample = sides[:: max(len(sides) // SAMPLE, 1)]
    forgot = tests = 0
    for side in sample:
        others = [segment.frames for segment in run_segments(lane, side) if segment.odds > 1.0]
        tests += any(exposures(lane.frames, part) <= TEST for part in others)
        forgot += any(exposures(lane.frames, part) > TEST and not lane.looks.nobody(part) for part in others)

    def share(count: int) -> float:
        return (count + _ASSUMED * OFTEN) / (len(sample) + _ASSUMED)

    return share(forgot), share(tests)


def _tail_of_other(run: Run) -> bool:
    return (
        run.after is not None and run.after.slate.upside_down and run.after.slate.person != opens(run.before)
    )


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
    if not after.frames and (opened is None or lane.statistics.looks.tells):
        return _Side.BEFORE  # where the frames are in somebody else's run, that is divided
    return _nearer(lane, bound, before.frames, after.frames) or _Side.NEITHER


def _held(bound: SlateBound | None, side: str) -> int | None:
    return bound.slate.person if bound is not None and side == _Side.AFTER else None


def _nearer(
    lane: LaneLikelihoods, bound: SlateBound, before: Sequence[int], after: Sequence[int]
) -> str | None:
    """The side that the holder of a slate looks like, where looks tell and one side is clearly nearer."""
    if not lane.statistics.looks.tells or not before or not after:
        return None
    to_before = lane.looks.distance(bound.frames, before[-4:])
    to_after = lane.looks.distance(bound.frames, after[:4])
    if to_before is None or to_after is None:
        return None
    near, far = sorted((to_before, to_after))
    if near > _CLEARLY_NEARER * far or far < lane.statistics.looks.same:
        return None
    return _Side.BEFORE if to_before < to_after else _Side.AFTER


def _name(
    lane: LaneLikelihoods,
    run: Run,
    left: str | None,
    right: str | None,
) -> list[NamedRun]:
    head = opens(run.before) if left is None else _held(run.before, left)
    tail = run.after.slate.person if run.after is not None and right == _Side.BEFORE else None
    unsure = [
        bound.slate.person
        for bound, side in ((run.before, left), (run.after, right))
        if bound is not None and side == _Side.NEITHER and bound.slate.person is not None
    ]
    if unsure:
        doubt = "a slate was held upside down: are the frames before or after it meant?"
        hints = [Hint(person, "the upside-down slate is theirs") for person in unsure]
        hints += [Hint(head, "the slate before is theirs")] if head is not None else []
        return _unnamed(lane, run, doubt, tuple(hints))
    if head is not None and (_is_anothers_tail(run.after, head) or tail not in (None, head)):
        return _divided(lane, run, head, tail)
    if head is not None:
        parts = run_segments(lane, _from_left(run))
        return [_named(part, head, NamedBy.SLATE, _RUN_BEFORE) for part in parts]
    if tail is not None:
        return _from_tail(lane, run, tail, left)
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


def _from_tail(lane: LaneLikelihoods, run: Run, person: int, left: str | None) -> list[NamedRun]:
    """A tail slate names backwards, up to the change point nearest to it."""
    parts = run_segments(lane, _from_right(run))
    reason, hints = "the tail slate after it is theirs", _hints(run.before, left)
    named = [_named(part, person, NamedBy.TAIL_SLATE, reason, hints) for part in reversed(parts)]
    return [replace(part, frames=part.frames[::-1]) for part in named]


def _divided(lane: LaneLikelihoods, run: Run, head: int, tail: int | None) -> list[NamedRun]:
    """A run between one person's head slate and another's tail slate, or that of one of several others:
    somebody stepped in. Each slate names its frames up to the first change point; frames that both claim, or
    neither, stay loose."""
    heads = run_segments(lane, replace(_from_left(run), divided=True))
    tails = run_segments(lane, replace(_from_right(run), divided=True))
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


def _from_left(run: Run) -> RunSide:
    assert run.before is not None
    return RunSide(run.before.frames, run.frames, run.before.unread, run.before.slate.person)


def _from_right(run: Run) -> RunSide:
    """The run from its tail slate backwards."""
    assert run.after is not None
    return RunSide(run.after.frames[::-1], run.frames[::-1])


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
