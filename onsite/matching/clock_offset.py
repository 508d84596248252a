"""Offset of each camera's clock against the door's, from the slates that it read.

A slate was photographed soon after it was shown at a station, not before its person arrived, and while its
deck card was assigned to them. Each of these is a range of offsets (true time minus camera time) that fits.
The offsets that most slates agree on are taken. A slate shown is a vote that counts only where enough agree:
one shown again at another time, for a look or by mistake, neither moves a clock nor makes it uncertain.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from statistics import median
from typing import NamedTuple

from onsite.matching.clock_drift import DAY, drift_of
from onsite.matching.evidence import CardAssignment, SlateShown

_SHOWN_BEFORE, _SHOWN_AFTER = 10.0, 180.0  # a slate is photographed this long before or after it is shown
_SHOWN_ERROR = 60.0  # how far the median of those delays may be from the truth
_FEWEST = 5  # slates shown that must agree: fewer may agree by chance
_STEADY = 0.7  # share of the slates shown, close together, from which on the clock was not set in between
_STRAY = 1  # slates shown again at another time, for a look or by mistake
_RIVAL_SHARE = 0.5  # of the slates, at another offset, from which on that offset may be right too
_NEARLY_ALL = 0.9
_LONGEST_WAIT = 14 * 3600.0  # from arrival to the last frame of the day


Span = tuple[float, float]
"""A range of offsets in seconds, from and to."""


class OffsetSource(StrEnum):
    """What a clock's offset is derived from."""

    SHOWN = "slates shown"
    ARRIVALS = "arrivals"
    NOTHING = "nothing"


@dataclass(frozen=True, slots=True)
class ClockOffset:
    """True time is camera time plus `offset` seconds; the evidence fits anything from `low` to `high`."""

    offset: float = 0.0
    low: float = -math.inf
    high: float = math.inf
    source: OffsetSource = OffsetSource.NOTHING
    slates: int = 0
    """Slates that agree with it."""
    drift: float = 0.0
    """Seconds a day by which the offset grows; 0 where no drift is seen."""
    at: float = 0.0
    """Camera time at which the offset is exactly `offset`."""
    spans: tuple[Span, ...] = ()
    """The ranges that fit, where not all between `low` and `high` does."""
    agreement: int = 0
    """Points of agreement (`_most_agreed`)."""

    @property
    def ranges(self) -> tuple[Span, ...]:
        """All ranges of offsets that fit."""
        return self.spans or ((self.low, self.high),)

    def true(self, taken: float) -> float:
        """The likeliest true time of a frame taken at a camera's time."""
        return taken + self.offset + self._drifted(taken)

    def shoot_time(self, taken: float) -> float:
        """The time to show for it: the camera's own where the evidence allows that its clock is right."""
        return taken + self.correction + self._drifted(taken)

    @property
    def correction(self) -> float:
        """Seconds to add to the camera's times to show them."""
        return 0.0 if any(low <= 0.0 <= high for low, high in self.ranges) else float(round(self.offset))

    def _drifted(self, taken: float) -> float:
        return self.drift * (taken - self.at) / DAY


def clock_disagreement(first: ClockOffset, other: ClockOffset) -> float | None:
    """Seconds by which `other` is ahead of `first`; None where some reading of the evidence
    has them agree."""
    if first.low <= other.high and other.low <= first.high:
        return None
    return first.offset - other.offset


@dataclass(frozen=True, slots=True)
class Sighting:
    """A slate of this shoot, read at a camera's time."""

    taken: float
    code: str


@dataclass(frozen=True, slots=True)
class Fit:
    """A range of offsets that would explain a sighting as a slate of `person`."""

    low: float
    high: float
    sighting: int
    """Index of the sighting."""
    person: int
    shown: bool
    """Whether it follows from a slate shown, not from an arrival or a card."""
    taken: float
    """The sighting's camera time."""

    def meets(self, spans: Iterable[Span]) -> bool:
        """Whether the range overlaps any of these spans."""
        return any(self.low <= high and self.high >= low for low, high in spans)

    @property
    def delay(self) -> float:
        """The offset if the slate was photographed at the moment it was shown."""
        return self.low + _SHOWN_BEFORE


def find_clock_offset(
    sightings: Sequence[Sighting],
    codes: Mapping[str, int],
    cards: Mapping[str, Sequence[CardAssignment]],
    arrived: Mapping[int, float],
    shown: Iterable[SlateShown],
) -> ClockOffset:
    """The clock offset of one camera over a piece in which the clock was not set."""
    fits = fits_of(sightings, codes, cards, arrived, shown)
    best = _most_agreed(fits, len(sightings))
    if best is None:
        return ClockOffset()
    spans, agreement = best
    low, high = spans[0][0], spans[-1][1]
    agreeing = [fit for fit in fits if fit.shown and fit.meets(spans)]
    used = len({fit.sighting for fit in fits if fit.meets(spans)})
    if agreeing:
        offset, sure, close = _densest(agreeing)
        if close + _STRAY < _STEADY * len({fit.sighting for fit in fits if fit.shown}):
            return ClockOffset(offset, source=OffsetSource.SHOWN, slates=close, agreement=agreement)
        if close < _FEWEST and all(sightings[fit.sighting].code not in codes for fit in agreeing):
            return find_clock_offset(sightings, codes, cards, arrived, ())
        around = offset - _SHOWN_ERROR, offset + _SHOWN_ERROR
        # other offsets fit as well
        if close < _FEWEST or not sure or high - low > _SHOWN_BEFORE + _SHOWN_AFTER:
            around = min(low, around[0]), max(high, around[1])
        drift, at = drift_of([(f.taken, f.delay) for f in agreeing if abs(f.delay - offset) <= _SHOWN_ERROR])
        return ClockOffset(offset, *around, OffsetSource.SHOWN, used, drift, at, (), agreement)
    offset = _likely(spans, fits)
    missed = len({fit.sighting for fit in fits}) - used
    if missed > max(misses(len(sightings)), len(sightings) // 20):  # no one offset fits the day
        return ClockOffset(offset, source=OffsetSource.ARRIVALS, slates=used, agreement=agreement)
    return ClockOffset(offset, low, high, OffsetSource.ARRIVALS, used, 0.0, 0.0, spans, agreement)


def fits_of(
    sightings: Sequence[Sighting],
    codes: Mapping[str, int],
    cards: Mapping[str, Sequence[CardAssignment]],
    arrived: Mapping[int, float],
    shown: Iterable[SlateShown] = (),
) -> list[Fit]:
    """Every range of offsets that would explain a sighting, without slates shown that too few agree with."""
    shown_at = _moments(shown)
    fits = [
        fit
        for number, sighting in enumerate(sightings)
        for fit in _fits(number, sighting, codes, cards, arrived, shown_at)
    ]
    return _voted(fits) if shown_at else fits


def _voted(fits: Sequence[Fit]) -> list[Fit]:
    """The fits without slates shown that fewer than `_FEWEST` sightings have in common."""
    shown = sorted((fit for fit in fits if fit.shown), key=lambda fit: (fit.low, fit.sighting))
    within: Counter[int] = Counter()
    first = kept = 0  # the first place of the window, and up to where fits are known to be kept
    agreed: list[Fit] = []
    for last, fit in enumerate(shown):
        within[fit.sighting] += 1
        while shown[first].high < fit.low:
            earlier = shown[first].sighting
            within[earlier] -= 1
            if not within[earlier]:
                del within[earlier]
            first += 1
        if len(within) >= _FEWEST:
            agreed += shown[max(first, kept) : last + 1]
            kept = last + 1
    return [*(fit for fit in fits if not fit.shown), *agreed]


def only_fits(fits: Iterable[Fit]) -> list[Fit]:
    """The fits of sightings that have one possible person whatever the clock says."""
    found = list(fits)
    times = Counter(fit.sighting for fit in found)
    return [fit for fit in found if times[fit.sighting] == 1]


def _likely(spans: Sequence[Span], fits: Sequence[Fit]) -> float:
    """The likeliest offset where only arrivals are known: 0 where the camera's own time fits nearly all,
    since some arrivals are typed in late; else the least that fits, since somebody is always photographed
    soon after they arrive."""
    explained = len({fit.sighting for fit in fits if fit.meets(((0.0, 0.0),))})
    if explained >= _NEARLY_ALL * len({fit.sighting for fit in fits}):
        return 0.0
    return spans[0][0]


def _moments(shown: Iterable[SlateShown]) -> dict[int, list[float]]:
    """The times at which each person's slate was shown."""
    moments: dict[int, list[float]] = {}
    for showing in shown:
        moments.setdefault(showing.person, []).append(showing.at)
    return moments


def _fits(
    number: int,
    sighting: Sighting,
    codes: Mapping[str, int],
    cards: Mapping[str, Sequence[CardAssignment]],
    arrived: Mapping[int, float],
    shown_at: Mapping[int, Sequence[float]],
) -> Iterable[Fit]:
    owner = codes.get(sighting.code)
    if owner is not None and owner in arrived:
        ties = [CardAssignment(arrived[owner], owner)]
    else:
        ties = list(cards.get(sighting.code, ()))
    for index, tie in enumerate(ties):
        last = ties[index + 1].at if index + 1 < len(ties) else tie.at + _LONGEST_WAIT
        yield Fit(tie.at - sighting.taken, last - sighting.taken, number, tie.person, False, sighting.taken)
    holders = {owner} if owner is not None else {tie.person for tie in ties}
    for person in sorted(holders):
        for at in shown_at.get(person, ()):
            low, high = at - _SHOWN_BEFORE - sighting.taken, at + _SHOWN_AFTER - sighting.taken
            yield Fit(low, high, number, person, True, sighting.taken)


def _densest(fits: Sequence[Fit]) -> tuple[float, bool, int]:
    """The median offset of the window of a minute with the most slates shown, whether no other window comes
    near it, and how many slates are in it.

    A card's other holders were shown too, at odd times: only the right ones lie close together.
    """
    delays = sorted((fit.delay, fit.sighting) for fit in fits)
    within: Counter[int] = Counter()
    windows: list[tuple[int, int, int]] = []  # number of slates, first place, last place
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


def _most_agreed(fits: Sequence[Fit], sightings: int) -> tuple[tuple[Span, ...], int] | None:
    """The ranges of offsets with the most agreement or nearly as much (`misses`), and the most agreement.
    Where no slate was shown and the camera's own time explains nearly all, offsets that agree as much as
    that, too.

    Agreement counts one point for each sighting explained, one more where it was shown just then, and one for
    each person explained: a shoot where everybody was photographed once is likelier than one where few were,
    often.
    """
    if not fits:
        return None
    steps = _steps(fits)
    best, most_explained = max((step.agreement, step.explained) for step in steps)
    enough = best - (0 if most_explained == sightings else misses(sightings))
    own = next((step for step in reversed(steps) if step.since <= 0.0), _Step(0.0, 0, 0))
    if own.explained >= _NEARLY_ALL * most_explained and not any(fit.shown for fit in fits):
        enough = min(enough, own.agreement)
    spans: list[Span] = []
    for step, following in pairwise(steps):
        if step.agreement >= enough and spans and spans[-1][1] == step.since:
            spans[-1] = spans[-1][0], following.since
        elif step.agreement >= enough:
            spans.append((step.since, following.since))
    return tuple(spans), best


class _Step(NamedTuple):
    """Agreement and number of sightings explained from one offset up to the next step."""

    since: float
    agreement: int
    explained: int


def _steps(fits: Sequence[Fit]) -> list[_Step]:
    edges = sorted(  # a range ends before the next begins: a card changes hands in no time
        [(fit.high, 0, index) for index, fit in enumerate(fits)]
        + [(fit.low, 1, index) for index, fit in enumerate(fits)]
    )
    # a card is its holder's, whoever else was shown then
    tied = {fit.sighting for fit in fits if not fit.shown}
    score = 0
    explained: dict[int, int] = defaultdict(int)
    shown: dict[int, int] = defaultdict(int)
    people: dict[int, int] = defaultdict(int)
    steps: list[_Step] = []
    explaining = 0
    for at, opens, index in edges:
        fit = fits[index]
        for tally, key in (
            (explained, fit.sighting),
            *(((people, fit.person),) if not fit.shown or fit.sighting not in tied else ()),
            *(((shown, fit.sighting),) if fit.shown else ()),
        ):
            before = bool(tally[key])
            tally[key] += 1 if opens else -1
            change = bool(tally[key]) - before
            score += change
            explaining += change if tally is explained else 0
        steps.append(_Step(at, score, explaining))
    return steps


def misses(sightings: int) -> int:
    """Points of agreement that an offset may lack and still count as fitting: some arrivals are typed in
    late, or never.

    Each such slate costs two points, its own and its person's. In a handful of slates none may be missed.
    """
    return 0 if sightings < 6 else 2 if sightings < 40 else 4
