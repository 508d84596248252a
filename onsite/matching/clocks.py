"""How far each camera's clock is off, found from the slates it has read.

Every read slate says something about the true time: it was photographed soon after it was shown at a
station, not before its person arrived, and while its deck card was theirs. Each of these is a range of
offsets (true time minus camera time) that would fit. The offsets that the most slates agree on are taken.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from statistics import median

from onsite.matching.evidence import Shown, Tie

_SHOWN_BEFORE, _SHOWN_AFTER = 10.0, 180.0  # a slate is photographed this long before or after it is shown
_SHOWN_ERROR = 60.0  # how far the median of those delays may be from the truth
_FEWEST = 5  # slates shown that settle an offset: fewer may agree by chance
_STEADY = 0.85  # of the slates shown, close together, from which on a clock was not set meanwhile
_STRAY = 1  # slate shown again at some other time, for a look or by mistake
_RIVAL_SHARE = 0.5  # of the slates, at another offset, from which on that one may be right too
_LONGEST_WAIT = 14 * 3600.0  # from arrival to the last frame of the day


class TiedBy(StrEnum):
    """What ties a camera's time to the stations'."""

    SHOWN = "slates shown"
    ARRIVALS = "arrivals"
    NOTHING = "nothing"


@dataclass(frozen=True, slots=True)
class Clock:
    """True time is camera time plus `offset` seconds; the evidence fits anything from `low` to `high`."""

    offset: float = 0.0
    low: float = -math.inf
    high: float = math.inf
    tied_by: TiedBy = TiedBy.NOTHING
    slates: int = 0


@dataclass(frozen=True, slots=True)
class Sighting:
    """A slate of this shoot, read at a camera's time."""

    taken: float
    code: str


@dataclass(frozen=True, slots=True)
class _Fit:
    """A range of offsets that would explain a sighting, and as whose."""

    low: float
    high: float
    sighting: int
    person: int
    shown: bool


def find_clock(
    sightings: Sequence[Sighting],
    codes: Mapping[str, int],
    cards: Mapping[str, Sequence[Tie]],
    arrived: Mapping[int, float],
    shown: Iterable[Shown],
    elsewhere: frozenset[int] = frozenset(),
) -> Clock:
    """The clock of one steady stretch of one camera. `elsewhere` are people whom another camera is known to
    have photographed: that this one did too explains nothing more."""
    shown_at: dict[int, list[float]] = {}
    for showing in shown:
        shown_at.setdefault(showing.person, []).append(showing.at)
    fits = [
        fit
        for number, sighting in enumerate(sightings)
        for fit in _fits(number, sighting, codes, cards, arrived, shown_at)
    ]
    best = _most_agreed(fits, len(sightings), elsewhere)
    if best is None:
        return Clock()
    low, high = best
    agreeing = [fit for fit in fits if fit.shown and fit.low <= high and fit.high >= low]
    used = len({fit.sighting for fit in fits if fit.low <= high and fit.high >= low})
    if agreeing:
        offset, sure, close = _densest(agreeing)
        if close + _STRAY < _STEADY * len({fit.sighting for fit in fits if fit.shown}):
            return Clock(offset, tied_by=TiedBy.SHOWN, slates=close)  # set meanwhile
        if close < _FEWEST:
            if any(sightings[fit.sighting].code in codes for fit in agreeing):
                return Clock(offset, low, high, TiedBy.SHOWN, used)
            return find_clock(sightings, codes, cards, arrived, (), elsewhere)
        around = offset - _SHOWN_ERROR, offset + _SHOWN_ERROR
        if not sure or high - low > _SHOWN_BEFORE + _SHOWN_AFTER:  # several offsets fit as well
            around = min(low, around[0]), max(high, around[1])
        return Clock(offset, *around, TiedBy.SHOWN, used)
    offset = min(max(0.0, low), high)
    if used < len({fit.sighting for fit in fits}) - _misses(len(sightings)):
        return Clock(offset, tied_by=TiedBy.ARRIVALS, slates=used)  # no one offset fits the day
    return Clock(offset, low, high, TiedBy.ARRIVALS, used)


def _fits(
    number: int,
    sighting: Sighting,
    codes: Mapping[str, int],
    cards: Mapping[str, Sequence[Tie]],
    arrived: Mapping[int, float],
    shown_at: Mapping[int, Sequence[float]],
) -> Iterable[_Fit]:
    owner = codes.get(sighting.code)
    if owner is not None and owner in arrived:
        ties = [Tie(arrived[owner], owner)]
    else:
        ties = list(cards.get(sighting.code, ()))
    for index, tie in enumerate(ties):
        last = ties[index + 1].at if index + 1 < len(ties) else tie.at + _LONGEST_WAIT
        yield _Fit(tie.at - sighting.taken, last - sighting.taken, number, tie.person, False)
    holders = {owner} if owner is not None else {tie.person for tie in ties}
    for person in sorted(holders):
        for at in shown_at.get(person, ()):
            yield _Fit(
                at - _SHOWN_BEFORE - sighting.taken, at + _SHOWN_AFTER - sighting.taken, number, person, True
            )


def _densest(fits: Sequence[_Fit]) -> tuple[float, bool, int]:
    """The median where most slates lie close together, whether no other place comes near to that, and how
    many slates these are.

    A card's other holders were shown too, at odd times: only the right ones lie close together.
    """
    delays = sorted((fit.low + _SHOWN_BEFORE, fit.sighting) for fit in fits)
    within: Counter[int] = Counter()
    windows: list[tuple[int, int, int]] = []  # slates, and the first and the last place
    first = 0
    for last, (delay, sighting) in enumerate(delays):
        within[sighting] += 1
        while delay - delays[first][0] > _SHOWN_ERROR:
            earlier = delays[first][1]
            within[earlier] -= 1
            if not within[earlier]:
                del within[earlier]
            first += 1
        windows.append((len(within), first, last))
    most, start, end = max(windows, key=lambda window: (window[0], -window[1]))
    rival = max((count for count, first, last in windows if last < start or first > end), default=0)
    return median(delay for delay, _ in delays[start : end + 1]), rival <= _RIVAL_SHARE * most, most


def _most_agreed(
    fits: Sequence[_Fit], sightings: int, elsewhere: frozenset[int]
) -> tuple[float, float] | None:
    """The range of offsets with the most agreement, and those with nearly as much (`_misses`).

    Agreement counts each sighting explained, once more where it was shown just then, and each person
    explained: a shoot where everybody was photographed once is likelier than one where few were, often.
    """
    if not fits:
        return None
    edges = sorted(  # a range ends before the next one begins: a card changes hands in no time
        [(fit.high, 0, index) for index, fit in enumerate(fits)]
        + [(fit.low, 1, index) for index, fit in enumerate(fits)]
    )
    score = 0
    explained: Counter[int] = Counter()
    shown: Counter[int] = Counter()
    people: Counter[int] = Counter()
    steps: list[tuple[float, int, int]] = []
    explaining = 0
    for at, opens, index in edges:
        fit = fits[index]
        for tally, key in (
            (explained, fit.sighting),
            *(((people, fit.person),) if fit.person not in elsewhere else ()),
            *(((shown, fit.sighting),) if fit.shown else ()),
        ):
            before = bool(tally[key])
            tally[key] += 1 if opens else -1
            change = bool(tally[key]) - before
            score += change
            explaining += change if tally is explained else 0
        steps.append((at, score, explaining))
    best, most_explained = max(step[1:] for step in steps)
    enough = best - (0 if most_explained == sightings else _misses(sightings))
    first = next(i for i, (_, value, _) in enumerate(steps) if value >= enough)
    last = max(i for i, (_, value, _) in enumerate(steps) if value >= enough)
    return steps[first][0], steps[last + 1][0]


def _misses(sightings: int) -> int:
    """How much less agreement still counts as much: some arrivals are typed in late, or never.

    One such slate costs two points, its own and its person's. In a handful of slates nothing can be missed,
    and where every slate is explained nothing was.
    """
    return 0 if sightings < 6 else max(2, sightings // 20)
