"""Names for the stretches of a lane: who its slates say is on them, and where that stops being sure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from onsite.matching.doubts import Doubt, LaneSense, first_doubt
from onsite.matching.evidence import How, Shown
from onsite.matching.marks import Meaning
from onsite.matching.runs import Bound, Stretch, opens

_CLEARLY_NEARER = 0.7  # one side's distance over the other's, for an upside-down slate to belong to it


@dataclass(frozen=True, slots=True)
class Named:
    """Part of a stretch. Without a person its frames are loose, for the reason in `doubt`; `hints` are people
    whom the evidence points to without settling it, each with the reason. `begins` is the first place of the
    run that it is in, where hands joined it to an earlier part."""

    frames: tuple[int, ...]
    person: int | None = None
    how: How = How.NOTHING
    doubt: str = ""
    hints: tuple[tuple[int, str], ...] = ()
    begins: int | None = None


class _Side:
    """Which frames an upside-down slate names."""

    BEFORE, AFTER, NEITHER = "before", "after", "neither"


def name_lane(
    lane: LaneSense, cut: Sequence[Stretch], showings: Sequence[tuple[float, Shown]]
) -> list[Named]:
    """Names for every frame in the stretches of one lane."""
    sides = _sides(lane, cut)
    named: list[Named] = []
    for number, stretch in enumerate(cut):
        if stretch.frames:
            left = sides[number - 1] if number else None
            named += _name(lane, stretch, left, sides[number] if number < len(sides) else None, showings)
    return named


def _sides(lane: LaneSense, cut: Sequence[Stretch]) -> list[str | None]:
    """For the bound after each stretch but the last: what an upside-down slate there names, else None."""
    sides: list[str | None] = []
    for before, after in pairwise(cut):
        bound = before.right
        assert bound is not None  # only the last stretch has none
        if not bound.mark.upside_down or bound.mark.meaning is not Meaning.SLATE:
            sides.append(None)
        else:
            sides.append(_side(lane, bound, before, after, sides[-1] if sides else None))
    return sides


def _side(lane: LaneSense, bound: Bound, before: Stretch, after: Stretch, earlier: str | None) -> str:
    """Whether an upside-down slate is a tail slate or one held upside down by mistake.

    What names the frames before already, and how like whom its holder looks, must agree.
    """
    opened = opens(before.left) if earlier is None else _held(before.left, earlier)
    if opened == bound.mark.person and opened is not None:
        return _Side.BEFORE  # head and tail slate of one run: the head names it
    if not after.frames and _same_upright(bound, after.right):
        return _Side.AFTER  # held the wrong way round, and turned at once
    nearer = _nearer(lane, bound, before.frames, after.frames)
    if opened is None:
        if before.frames and after.frames:
            return nearer or _Side.NEITHER
        return _alone(lane, bound, before.frames, after.frames)
    if not before.frames:
        return _Side.NEITHER if nearer == _Side.BEFORE else _alone(lane, bound, before.frames, after.frames)
    if not after.frames and lane.scale.tells:
        nearer = _alone(lane, bound, before.frames, after.frames)
    return nearer or _Side.NEITHER  # before: their frames are in somebody else's run, which is divided


def _held(bound: Bound | None, side: str) -> int | None:
    return bound.mark.person if bound is not None and side == _Side.AFTER else None


def _same_upright(bound: Bound, following: Bound | None) -> bool:
    return following is not None and opens(following) == bound.mark.person


def _nearer(lane: LaneSense, bound: Bound, before: Sequence[int], after: Sequence[int]) -> str | None:
    """Which side the holder of a slate looks like, where looks tell and one side is clearly nearer."""
    if not lane.scale.tells or not before or not after:
        return None
    to_before = lane.looks.distance(bound.frames, before[-4:])
    to_after = lane.looks.distance(bound.frames, after[:4])
    if to_before is None or to_after is None:
        return None
    near, far = sorted((to_before, to_after))
    if near > _CLEARLY_NEARER * far or far < lane.scale.same:
        return None
    return _Side.BEFORE if to_before < to_after else _Side.AFTER


def _alone(lane: LaneSense, bound: Bound, before: Sequence[int], after: Sequence[int]) -> str:
    """With frames on one side only that is the side, unless its look speaks against it."""
    frames, side = (before[-4:], _Side.BEFORE) if before else (after[:4], _Side.AFTER)
    distance = lane.looks.distance(bound.frames, frames) if lane.scale.tells else None
    contradicted = distance is not None and distance > lane.scale.changed + lane.scale.same
    return _Side.NEITHER if contradicted else side


def _name(
    lane: LaneSense,
    stretch: Stretch,
    left: str | None,
    right: str | None,
    showings: Sequence[tuple[float, Shown]],
) -> list[Named]:
    head = opens(stretch.left) if left is None else _held(stretch.left, left)
    tail = stretch.right.mark.person if stretch.right is not None and right == _Side.BEFORE else None
    unsure = [
        bound.mark.person
        for bound, side in ((stretch.left, left), (stretch.right, right))
        if bound is not None and side == _Side.NEITHER and bound.mark.person is not None
    ]
    if unsure:
        doubt = "a slate was held upside down: are the frames before or after it meant?"
        hints = [(person, "the upside-down slate is theirs") for person in unsure]
        hints += [(head, "the slate before is theirs")] if head is not None else []
        return [Named(stretch.frames, doubt=doubt, hints=tuple(hints))]
    if head is not None and tail is not None and head != tail:
        return _divided(lane, stretch, head, tail)
    if head is not None:
        assert stretch.left is not None
        return _from_head(lane, stretch.left.frames, stretch.frames, head, showings)
    if tail is not None:
        assert stretch.right is not None
        return _from_tail(lane, stretch.right.frames, stretch.frames, tail, stretch.left)
    return [Named(stretch.frames, doubt=_why_unnamed(stretch.left, left), hints=_hints(stretch.left, left))]


def _from_head(
    lane: LaneSense,
    slate: Sequence[int],
    run: tuple[int, ...],
    person: int,
    showings: Sequence[tuple[float, Shown]],
) -> list[Named]:
    others = [(at, showing) for at, showing in showings if showing.person != person]
    doubt = first_doubt(lane, slate, run, others)
    if doubt is None:
        return [Named(run, person, How.SLATE)]
    hints = [(doubt.person, "their slate was shown then")] if doubt.person is not None else []
    hints.append((person, "the run before the doubt is theirs"))
    return _split(run, doubt, Named((), person, How.SLATE), tuple(hints))


def _from_tail(
    lane: LaneSense, slate: Sequence[int], run: tuple[int, ...], person: int, left: Bound | None
) -> list[Named]:
    """A tail slate names backwards: the doubt nearest to it ends its reach."""
    doubt = first_doubt(replace(lane, backwards=True), slate[::-1], run[::-1], ())
    if doubt is None:
        return [Named(run, person, How.TAIL_SLATE)]
    hints = (*_hints(left, None), (person, "the tail slate behind the doubt is theirs"))
    parts = _split(run[::-1], doubt, Named((), person, How.TAIL_SLATE), hints)
    return [replace(part, frames=tuple(sorted(part.frames))) for part in reversed(parts)]


def _divided(lane: LaneSense, stretch: Stretch, head: int, tail: int) -> list[Named]:
    """A run between one person's slate and another's tail slate: somebody stepped in. From either end the
    name reaches up to the first doubt; where the two do not keep clear of each other, nothing is settled."""
    assert stretch.left is not None
    assert stretch.right is not None
    run = stretch.frames
    hints = ((tail, "the tail slate behind is theirs"), (head, "the slate before is theirs"))
    first = first_doubt(lane, stretch.left.frames, run, ())
    last = first_doubt(replace(lane, backwards=True), stretch.right.frames[::-1], run[::-1], ())
    if first is None or last is None or first.start + last.start > len(run):
        return [Named(run, doubt="two people's slates claim these frames", hints=hints)]
    turn = len(run) - last.start
    parts = [
        Named(run[: first.start], head, How.SLATE),
        Named(run[first.start : turn], doubt=first.reason, hints=hints),
        Named(run[turn:], tail, How.TAIL_SLATE),
    ]
    return [part for part in parts if part.frames]


def _split(
    run: tuple[int, ...], doubt: Doubt, named: Named, hints: tuple[tuple[int, str], ...]
) -> list[Named]:
    loose = Named(run[doubt.start :], doubt=doubt.reason, hints=hints)
    return [replace(named, frames=run[: doubt.start]), loose] if doubt.start else [loose]


def _why_unnamed(left: Bound | None, side: str | None) -> str:
    if left is None:
        return "no slate before it"
    if side == _Side.BEFORE:
        return "the slate before it is a tail slate, of the frames before that"
    return f"before it: {left.mark.meaning}"


def _hints(left: Bound | None, side: str | None) -> tuple[tuple[int, str], ...]:
    if left is None:
        return ()
    if side == _Side.BEFORE and left.mark.person is not None:
        return ((left.mark.person, "the tail slate before is theirs"),)
    return tuple((person, f"{left.mark.meaning}: it may be theirs") for person in left.mark.possible)
