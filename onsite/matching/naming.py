"""Names for the stretches of a lane: who its slates say is on them, and where that stops being sure."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby, pairwise, takewhile

from onsite.matching.doubts import CALLED_EARLY, NOT_LOOKED_AT, TEST, Part, Reach, groups_of, parts_of
from onsite.matching.evidence import How, Shown
from onsite.matching.marks import Meaning
from onsite.matching.runs import Bound, Stretch, exposures, opens, places_of
from onsite.matching.sense import OFTEN, LaneSense
from onsite.matching.suggest import HINTED, Hint, theirs

_SAMPLE = 200  # runs from which it is taken how often others step in: enough, and bounded
_ASSUMED = 4  # runs that what is assumed weighs as much as: photographers who never forget are many
CLAIMED_TWICE = "two people's slates claim these frames"
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
    hints: tuple[Hint, ...] = ()
    begins: int | None = None


class _Side:
    """Which frames an upside-down slate names."""

    BEFORE, AFTER, NEITHER = "before", "after", "neither"


def name_lane(
    lane: LaneSense,
    cut: Sequence[Stretch],
    showings: Sequence[tuple[float, Shown]],
    again: frozenset[int] = frozenset(),
) -> list[Named]:
    """Names for every frame in the stretches of one lane. `again` are people whose slates were photographed
    on several occasions: the first time they may have left again."""
    often, stands_in = _often(lane, cut)
    lane = replace(lane, often=often, stands_in=stands_in, again=again)
    sides = _sides(lane, cut)
    named: list[Named] = []
    for number, stretch in enumerate(cut):
        if stretch.frames:
            left = sides[number - 1] if number else None
            named += _name(lane, stretch, left, sides[number] if number < len(sides) else None, showings)
    return named


def _often(lane: LaneSense, cut: Sequence[Stretch]) -> tuple[float, float]:
    """In how many runs the next person's slate is forgotten, and in how many somebody stands in for a test:
    as this day shows it, or where it shows little, as is assumed. Where a slate tells of it, none was
    forgotten; nor where nobody is to be seen: they wear the backdrop's colour."""
    heads = [run for run in cut if run.frames and opens(run.left) is not None and not _tail_of_other(run)]
    reaches = [_before_marks(_from_left(run)) for run in heads if min(run.between, default=1)]
    some = reaches[:: max(len(reaches) // _SAMPLE, 1)]
    forgot = tests = 0
    for reach in some:
        others = [one.frames for one in parts_of(lane, reach) if one.odds > 1.0]
        tests += any(exposures(lane.frames, part) <= TEST for part in others)
        forgot += any(exposures(lane.frames, part) > TEST and not lane.nobody(part) for part in others)

    def share(count: int) -> float:
        return (count + _ASSUMED * OFTEN) / (len(some) + _ASSUMED)

    return share(forgot), share(tests)


def _tail_of_other(run: Stretch) -> bool:
    return run.right is not None and run.right.mark.upside_down and run.right.mark.person != opens(run.left)


def _before_marks(reach: Reach) -> Reach:
    return replace(reach, frames=reach.frames[: min(reach.between)], between={}) if reach.between else reach


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
    if before.between:  # another slate was seen since: what names the frames right before is not known
        opened = None
        before = replace(before, frames=before.frames[max(before.between) :])
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
    if not after.frames and lane.usual.looks.tells:
        nearer = _alone(lane, bound, before.frames, after.frames)
    return nearer or _Side.NEITHER  # before: their frames are in somebody else's run, which is divided


def _held(bound: Bound | None, side: str) -> int | None:
    return bound.mark.person if bound is not None and side == _Side.AFTER else None


def _same_upright(bound: Bound, following: Bound | None) -> bool:
    return following is not None and opens(following) == bound.mark.person


def _nearer(lane: LaneSense, bound: Bound, before: Sequence[int], after: Sequence[int]) -> str | None:
    """Which side the holder of a slate looks like, where looks tell and one side is clearly nearer."""
    if not lane.usual.looks.tells or not before or not after:
        return None
    to_before = lane.looks.distance(bound.frames, before[-4:])
    to_after = lane.looks.distance(bound.frames, after[:4])
    if to_before is None or to_after is None:
        return None
    near, far = sorted((to_before, to_after))
    if near > _CLEARLY_NEARER * far or far < lane.usual.looks.same:
        return None
    return _Side.BEFORE if to_before < to_after else _Side.AFTER


def _alone(lane: LaneSense, bound: Bound, before: Sequence[int], after: Sequence[int]) -> str:
    """With frames on one side only that is the side, unless its look speaks against it."""
    frames, side = (before[-4:], _Side.BEFORE) if before else (after[:4], _Side.AFTER)
    distance = lane.looks.distance(bound.frames, frames) if lane.usual.looks.tells else None
    contradicted = distance is not None and distance > lane.usual.looks.changed + lane.usual.looks.same
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
        hints = [Hint(person, "the upside-down slate is theirs") for person in unsure]
        hints += [Hint(head, "the slate before is theirs")] if head is not None else []
        return _unnamed(lane, stretch, doubt, tuple(hints))
    if head is not None and tail is not None and head != tail:
        return _divided(lane, stretch, head, tail)
    if head is not None:
        return _from_head(lane, stretch, head, showings)
    if tail is not None:
        return _from_tail(lane, stretch, tail, left)
    return _unnamed(lane, stretch, _why_unnamed(stretch.left, left), _hints(stretch.left, left))


def _from_head(
    lane: LaneSense, stretch: Stretch, person: int, showings: Sequence[tuple[float, Shown]]
) -> list[Named]:
    parts = parts_of(lane, _from_left(stretch, _meanwhile(lane, stretch, person, showings)))
    named = [_named(part, person, How.SLATE, "the run before the doubt is theirs") for part in parts]
    for place, bound in sorted(stretch.between.items()):
        if bound.mark.upside_down and bound.mark.possible and person not in bound.mark.possible:
            named = _contested(lane, stretch, place, named)
    return named


def _contested(lane: LaneSense, stretch: Stretch, until: int, named: Sequence[Named]) -> list[Named]:
    """The same where a tail slate follows after so many frames that may be one of several others': what it
    names, too, is not settled, nor is what comes after the first doubt."""
    bound, between = stretch.between[until], {b: one for b, one in stretch.between.items() if b < until}
    run = Stretch(stretch.left, bound, stretch.frames[:until], between)
    tails = parts_of(replace(lane, backwards=True), _from_right(run, divided=True))
    claimed = {place for part in tails if not part.doubt for place in part.frames}
    found: list[Named] = []
    for part in named:
        if part.person is None:
            claimed.update(place for place in run.frames if place > part.frames[-1])
            found.append(part)
            continue
        hints = (*_hints(bound, None), Hint(part.person, "the slate before is theirs"))
        for twice, some in groupby(part.frames, key=claimed.__contains__):
            theirs = replace(part, frames=tuple(some))
            found.append(Named(theirs.frames, doubt=CLAIMED_TWICE, hints=hints) if twice else theirs)
    return found


def _meanwhile(
    lane: LaneSense, stretch: Stretch, person: int, showings: Sequence[tuple[float, Shown]]
) -> list[tuple[float, Shown]]:
    """Other people's slates shown from a stretch's slate to its last frame, and a moment longer."""
    if not showings:
        return []
    times = [lane.frames[place].taken for place in (*places_of(stretch.left), *stretch.frames)]
    known = [time for time in times if time is not None]
    if not known:
        return []
    first = bisect_left(showings, min(known), key=lambda one: one[0])
    last = bisect_right(showings, max(known) + CALLED_EARLY, key=lambda one: one[0])
    return [one for one in showings[first:last] if one[1].person != person]


def _from_tail(lane: LaneSense, stretch: Stretch, person: int, left: str | None) -> list[Named]:
    """A tail slate names backwards: from the doubt nearest to it on."""
    parts = parts_of(replace(lane, backwards=True), _from_right(stretch))
    reason, hints = "the tail slate behind the doubt is theirs", _hints(stretch.left, left)
    named = [_named(part, person, How.TAIL_SLATE, reason, hints) for part in reversed(parts)]
    return [replace(part, frames=part.frames[::-1]) for part in named]


def _divided(lane: LaneSense, stretch: Stretch, head: int, tail: int) -> list[Named]:
    """A run between one person's slate and another's tail slate: somebody stepped in. Each names what is
    surely theirs, up to the first doubt; what both claim, or neither, is not settled."""
    heads = parts_of(lane, _from_left(stretch, divided=True))
    tails = parts_of(replace(lane, backwards=True), _from_right(stretch, divided=True))
    from_head = {place for part in heads if not part.doubt for place in part.frames}
    from_tail = {place for part in tails if not part.doubt for place in part.frames}
    hints = (Hint(tail, "the tail slate behind is theirs"), Hint(head, "the slate before is theirs"))
    surely = {place for parts in (heads, tails) for place in _up_to_doubt(parts)}
    reason = {place: part.doubt for part in heads for place in part.frames}

    def settled(place: int) -> Named:
        mine, theirs = place in from_head, place in from_tail
        if mine == theirs or place not in surely:
            doubt = CLAIMED_TWICE if mine else reason[place]
            return Named((place,), doubt=doubt, hints=hints)
        return Named((place,), head if mine else tail, How.SLATE if mine else How.TAIL_SLATE)

    same = groupby(map(settled, stretch.frames), key=lambda part: replace(part, frames=()))
    return [replace(part, frames=tuple(one.frames[0] for one in some)) for part, some in same]


def _up_to_doubt(parts: Sequence[Part]) -> Iterator[int]:
    """The frames of a reach before anything in it is doubted."""
    for part in takewhile(lambda part: not part.doubt, parts):
        yield from part.frames


def _from_left(
    stretch: Stretch, showings: Sequence[tuple[float, Shown]] = (), divided: bool = False
) -> Reach:
    assert stretch.left is not None
    return Reach(
        stretch.left.frames, stretch.frames, stretch.between, showings, divided, stretch.left.mark.person
    )


def _from_right(stretch: Stretch, divided: bool = False) -> Reach:
    """The stretch from its tail slate backwards."""
    assert stretch.right is not None
    count = len(stretch.frames)
    between = {
        count - before: replace(bound, frames=bound.frames[::-1]) for before, bound in stretch.between.items()
    }
    return Reach(stretch.right.frames[::-1], stretch.frames[::-1], between, (), divided)


def _named(part: Part, person: int, how: How, reason: str, hints: tuple[Hint, ...] = ()) -> Named:
    """A part of a reach with its name, or loose."""
    if not part.doubt:
        return Named(part.frames, person, how)
    pointed = (Hint(part.hint, "their slate was shown then"),) if part.hint is not None else ()
    own = Hint(person, reason, theirs(part.odds))
    return Named(part.frames, doubt=part.doubt, hints=(*pointed, *_hints(part.mark, None), own, *hints))


def _unnamed(lane: LaneSense, stretch: Stretch, doubt: str, hints: tuple[Hint, ...]) -> list[Named]:
    """What no slate names, each person's frames apart as far as can be told."""
    named: list[Named] = []
    for part in groups_of(lane, stretch.frames, stretch.between):
        if part.mark is not None:
            doubt, hints = f"before it: {part.mark.mark.meaning}", _hints(part.mark, None)
        unseen = len(part.frames) == 1 and not lane.frames[part.frames[0]].seen
        named.append(Named(part.frames, doubt=NOT_LOOKED_AT if unseen else doubt, hints=hints))
    return named


def _why_unnamed(left: Bound | None, side: str | None) -> str:
    if left is None:
        return "no slate before it"
    if side == _Side.BEFORE:
        return "the slate before it is a tail slate, of the frames before that"
    return f"before it: {left.mark.meaning}"


def _hints(left: Bound | None, side: str | None) -> tuple[Hint, ...]:
    if left is None:
        return ()
    if side == _Side.BEFORE and left.mark.person is not None:
        return (Hint(left.mark.person, "the tail slate before is theirs", theirs(1.0) - HINTED // 2),)
    reason = f"{left.mark.meaning}: it may be theirs"
    return tuple(Hint(person, reason, one_of=True) for person in left.mark.possible)
