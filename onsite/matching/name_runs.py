"""Names for the runs of a lane: whom its slates name, and up to which change point."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby, pairwise, takewhile

from onsite.matching.change_points import (
    NOT_LOOKED_AT,
    SHOWN_EARLY_SECONDS,
    TEST,
    RunSegment,
    RunSide,
    run_segments,
    segment_groups,
)
from onsite.matching.cut_runs import Run, SlateBound, exposures, opens, places_of
from onsite.matching.evidence import NamedBy, SlateShown
from onsite.matching.likelihood_ratios import OFTEN, LaneLikelihoods
from onsite.matching.slate_status import SlateStatus
from onsite.matching.suggestions import HINTED, Hint, score_from_odds

_SAMPLE = 200  # runs from which the priors are estimated: enough, and bounded
_ASSUMED = 4  # runs that the assumed prior weighs as much as: many photographers never forget a slate
CLAIMED_TWICE = "two people's slates claim these frames"
_CLEARLY_NEARER = 0.7  # one side's distance over the other's, for an upside-down slate to belong to it


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


class _Side:
    """Which frames an upside-down slate names."""

    BEFORE, AFTER, NEITHER = "before", "after", "neither"


def name_lane(
    lane: LaneLikelihoods,
    cut: Sequence[Run],
    showings: Sequence[tuple[float, SlateShown]],
    again: frozenset[int] = frozenset(),
) -> list[NamedRun]:
    """Named parts for all frames in the runs of one lane. `again` are people whose slates were photographed
    on several occasions: the first time they may have left again."""
    often, stands_in = _often(lane, cut)
    lane = replace(lane, change_prior=often, substitution_prior=stands_in, again=again)
    sides = _sides(lane, cut)
    named: list[NamedRun] = []
    for number, stretch in enumerate(cut):
        if stretch.frames:
            left = sides[number - 1] if number else None
            named += _name(lane, stretch, left, sides[number] if number < len(sides) else None, showings)
    return named


def _often(lane: LaneLikelihoods, cut: Sequence[Run]) -> tuple[float, float]:
    """Shares of runs in which the next person's slate was forgotten, and in which somebody stood in for a
    light test, estimated from this day and from the assumed prior. Where a slate shows the change, none was
    forgotten; nor where nobody seems to be in the frame: they wear the backdrop's colour."""
    heads = [run for run in cut if run.frames and opens(run.before) is not None and not _tail_of_other(run)]
    reaches = [_before_marks(_from_left(run)) for run in heads if min(run.between, default=1)]
    sample = reaches[:: max(len(reaches) // _SAMPLE, 1)]
    forgot = tests = 0
    for reach in sample:
        others = [segment.frames for segment in run_segments(lane, reach) if segment.odds > 1.0]
        tests += any(exposures(lane.frames, part) <= TEST for part in others)
        forgot += any(exposures(lane.frames, part) > TEST and not lane.nobody(part) for part in others)

    def share(count: int) -> float:
        return (count + _ASSUMED * OFTEN) / (len(sample) + _ASSUMED)

    return share(forgot), share(tests)


def _tail_of_other(run: Run) -> bool:
    return run.after is not None and run.after.mark.upside_down and run.after.mark.person != opens(run.before)


def _before_marks(reach: RunSide) -> RunSide:
    return replace(reach, frames=reach.frames[: min(reach.between)], between={}) if reach.between else reach


def _sides(lane: LaneLikelihoods, cut: Sequence[Run]) -> list[str | None]:
    """For the bound after each run but the last: the side that an upside-down slate there
    names, else None."""
    sides: list[str | None] = []
    for before, after in pairwise(cut):
        bound = before.after
        assert bound is not None  # only the last run has none
        if not bound.mark.upside_down or bound.mark.status is not SlateStatus.SLATE:
            sides.append(None)
        else:
            sides.append(_side(lane, bound, before, after, sides[-1] if sides else None))
    return sides


def _side(lane: LaneLikelihoods, bound: SlateBound, before: Run, after: Run, earlier: str | None) -> str:
    """Whether an upside-down slate is a tail slate or a head slate held upside down by mistake.

    Two sources must agree: what already names the frames before, and whom its holder looks like.
    """
    opened = opens(before.before) if earlier is None else _held(before.before, earlier)
    if before.between:  # another slate was seen since: what names the frames right before is not known
        opened = None
        before = replace(before, frames=before.frames[max(before.between) :])
    if opened == bound.mark.person and opened is not None:
        return _Side.BEFORE  # head and tail slate of one run: the head slate names it
    if not after.frames and _same_upright(bound, after.after):
        return _Side.AFTER  # held the wrong way round, and turned at once
    if not before.frames:
        return _Side.AFTER
    if not after.frames and (opened is None or lane.statistics.looks.tells):
        return _Side.BEFORE  # where the frames are in somebody else's run, that is divided
    return _nearer(lane, bound, before.frames, after.frames) or _Side.NEITHER


def _held(bound: SlateBound | None, side: str) -> int | None:
    return bound.mark.person if bound is not None and side == _Side.AFTER else None


def _same_upright(bound: SlateBound, following: SlateBound | None) -> bool:
    return following is not None and opens(following) == bound.mark.person


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
    showings: Sequence[tuple[float, SlateShown]],
) -> list[NamedRun]:
    head = opens(run.before) if left is None else _held(run.before, left)
    tail = run.after.mark.person if run.after is not None and right == _Side.BEFORE else None
    unsure = [
        bound.mark.person
        for bound, side in ((run.before, left), (run.after, right))
        if bound is not None and side == _Side.NEITHER and bound.mark.person is not None
    ]
    if unsure:
        doubt = "a slate was held upside down: are the frames before or after it meant?"
        hints = [Hint(person, "the upside-down slate is theirs") for person in unsure]
        hints += [Hint(head, "the slate before is theirs")] if head is not None else []
        return _unnamed(lane, run, doubt, tuple(hints))
    if head is not None and tail is not None and head != tail:
        return _divided(lane, run, head, tail)
    if head is not None:
        return _from_head(lane, run, head, showings)
    if tail is not None:
        return _from_tail(lane, run, tail, left)
    return _unnamed(lane, run, _why_unnamed(run.before, left), _hints(run.before, left))


def _from_head(
    lane: LaneLikelihoods, run: Run, person: int, showings: Sequence[tuple[float, SlateShown]]
) -> list[NamedRun]:
    parts = run_segments(lane, _from_left(run, _meanwhile(lane, run, person, showings)))
    named = [_named(part, person, NamedBy.SLATE, "the run before is theirs") for part in parts]
    for place, bound in sorted(run.between.items()):
        if bound.mark.upside_down and bound.mark.possible and person not in bound.mark.possible:
            named = _contested(lane, run, place, named)
    return named


def _contested(
    lane: LaneLikelihoods, whole_run: Run, until: int, named: Sequence[NamedRun]
) -> list[NamedRun]:
    """The named parts of a run in which a tail slate of one of several other people follows after `until`
    frames: the frames that this slate may name lose their name, and so does what follows the first change
    point."""
    bound, between = (
        whole_run.between[until],
        {b: slate_bound for b, slate_bound in whole_run.between.items() if b < until},
    )
    run = Run(whole_run.before, bound, whole_run.frames[:until], between)
    tails = run_segments(replace(lane, backwards=True), _from_right(run, divided=True))
    claimed = {place for part in tails if not part.doubt for place in part.frames}
    found: list[NamedRun] = []
    for part in named:
        if part.person is None:
            claimed.update(place for place in run.frames if place > part.frames[-1])
            found.append(part)
            continue
        hints = (*_hints(bound, None), Hint(part.person, "the slate before is theirs"))
        for twice, group in groupby(part.frames, key=claimed.__contains__):
            claimed_part = replace(part, frames=tuple(group))
            found.append(
                NamedRun(claimed_part.frames, doubt=CLAIMED_TWICE, hints=hints) if twice else claimed_part
            )
    return found


def _meanwhile(
    lane: LaneLikelihoods, run: Run, person: int, showings: Sequence[tuple[float, SlateShown]]
) -> list[tuple[float, SlateShown]]:
    """Other people's slates shown from a run's slate to shortly after its last frame."""
    if not showings:
        return []
    times = [lane.frames[place].taken for place in (*places_of(run.before), *run.frames)]
    known = [time for time in times if time is not None]
    if not known:
        return []
    first = bisect_left(showings, min(known), key=lambda showing: showing[0])
    last = bisect_right(showings, max(known) + SHOWN_EARLY_SECONDS, key=lambda showing: showing[0])
    return [showing for showing in showings[first:last] if showing[1].person != person]


def _from_tail(lane: LaneLikelihoods, run: Run, person: int, left: str | None) -> list[NamedRun]:
    """A tail slate names backwards, up to the change point nearest to it."""
    parts = run_segments(replace(lane, backwards=True), _from_right(run))
    reason, hints = "the tail slate after it is theirs", _hints(run.before, left)
    named = [_named(part, person, NamedBy.TAIL_SLATE, reason, hints) for part in reversed(parts)]
    return [replace(part, frames=part.frames[::-1]) for part in named]


def _divided(lane: LaneLikelihoods, run: Run, head: int, tail: int) -> list[NamedRun]:
    """A run between one person's head slate and another's tail slate: somebody stepped in. Each slate names
    its frames up to the first change point; frames that both claim, or neither, stay loose."""
    heads = run_segments(lane, _from_left(run, divided=True))
    tails = run_segments(replace(lane, backwards=True), _from_right(run, divided=True))
    from_head = {place for part in heads if not part.doubt for place in part.frames}
    from_tail = {place for part in tails if not part.doubt for place in part.frames}
    hints = (Hint(tail, "the tail slate behind is theirs"), Hint(head, "the slate before is theirs"))
    surely = {place for parts in (heads, tails) for place in _up_to_doubt(parts)}
    reason = {place: part.doubt for part in heads for place in part.frames}
    certain = [{place: part.certainty for part in parts for place in part.frames} for parts in (tails, heads)]

    def settled(place: int) -> NamedRun:
        mine, claims = place in from_head, place in from_tail
        if mine == claims or place not in surely:
            doubt = CLAIMED_TWICE if mine else reason[place]
            return NamedRun((place,), doubt=doubt, hints=hints)
        person, how = (head, NamedBy.SLATE) if mine else (tail, NamedBy.TAIL_SLATE)
        return NamedRun((place,), person, how, certainty=certain[mine][place])

    same = groupby(map(settled, run.frames), key=lambda part: replace(part, frames=()))
    return [
        replace(part, frames=tuple(place_in_group.frames[0] for place_in_group in group))
        for part, group in same
    ]


def _up_to_doubt(parts: Sequence[RunSegment]) -> Iterator[int]:
    """The frames of a run side before its first change point."""
    for part in takewhile(lambda part: not part.doubt, parts):
        yield from part.frames


def _from_left(run: Run, showings: Sequence[tuple[float, SlateShown]] = (), divided: bool = False) -> RunSide:
    assert run.before is not None
    return RunSide(run.before.frames, run.frames, run.between, showings, divided, run.before.mark.person)


def _from_right(run: Run, divided: bool = False) -> RunSide:
    """The run from its tail slate backwards."""
    assert run.after is not None
    count = len(run.frames)
    between = {
        count - before: replace(bound, frames=bound.frames[::-1]) for before, bound in run.between.items()
    }
    return RunSide(run.after.frames[::-1], run.frames[::-1], between, (), divided)


def _named(
    part: RunSegment, person: int, how: NamedBy, reason: str, hints: tuple[Hint, ...] = ()
) -> NamedRun:
    """A segment with its name, or loose."""
    if not part.doubt:
        return NamedRun(part.frames, person, how, certainty=part.certainty)
    pointed = (Hint(part.hint, "their slate was shown then"),) if part.hint is not None else ()
    own = Hint(person, reason, score_from_odds(part.odds))
    return NamedRun(part.frames, doubt=part.doubt, hints=(*pointed, *_hints(part.mark, None), own, *hints))


def _unnamed(lane: LaneLikelihoods, run: Run, doubt: str, hints: tuple[Hint, ...]) -> list[NamedRun]:
    """The parts of a run that no slate names, divided by person as far as possible."""
    named: list[NamedRun] = []
    for part in segment_groups(lane, run.frames, run.between):
        if part.mark is not None:
            doubt, hints = f"before it: {part.mark.mark.status}", _hints(part.mark, None)
        unseen = len(part.frames) == 1 and not lane.frames[part.frames[0]].seen
        named.append(NamedRun(part.frames, doubt=NOT_LOOKED_AT if unseen else doubt, hints=hints))
    return named


def _why_unnamed(left: SlateBound | None, side: str | None) -> str:
    if left is None:
        return "no slate before it"
    if side == _Side.BEFORE:
        return "the slate before it is a tail slate, of the frames before that"
    return f"before it: {left.mark.status}"


def _hints(left: SlateBound | None, side: str | None) -> tuple[Hint, ...]:
    if left is None:
        return ()
    if side == _Side.BEFORE and left.mark.person is not None:
        return (Hint(left.mark.person, "the tail slate before is theirs", HINTED // 2),)
    reason = f"{left.mark.status}: it may be theirs"
    return tuple(Hint(person, reason, is_one_of_several=True) for person in left.mark.possible)
