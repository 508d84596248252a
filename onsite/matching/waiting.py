"""What people's waiting tells of a clock: the time from their arrival to their slate, by the camera.

Queues grow and shrink bit by bit. Where everybody after a break seems to have waited longer by about its
length, the clock may have been set forward in it. Where waiting changes by much from one to the next, it may
have been set by that: forward in a break, or back, and the frames that would show it are missing.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import median, median_low

from onsite.matching.clocks import fits_of, only_fits
from onsite.matching.evidence import Evidence
from onsite.matching.marks import sightings_of
from onsite.matching.order import ShootingLane

BREAK = 240.0
"""Seconds from which on a pause is a break: less is within what slates take to be photographed."""

_MOST_TRIED = 12  # breaks of a piece, the longest first
_LONG = 3000.0  # seconds: few wait through a break that long, and a clock is often set by an hour
_MOSTLY = 0.5  # of a long break, by which people seem to have waited longer
_SHORT = 600.0  # seconds; what a clock is set forward by in a shorter break, cards seldom show
_MUCH = 0.6  # of a short break, likewise
_FEW = 20  # one arrival in so many may be typed in late
_AROUND = 8  # slates before a break and after it
_SOME = 4  # slates, on either side, that tell of a change
_CHANGED = 2400.0  # seconds by which waiting does not change from one to the next
_MANY = 50  # frames that are missing together: a card's
_COUNTED = 10_000  # frames, after which most counters begin anew


@dataclass(frozen=True, slots=True)
class ClockChange:
    """Where another clock begins to tell the time: from a place on, or, as far as is known, from anywhere
    `within`. `seconds` is by how much it was set forward there, where that is known."""

    place: int
    within: range = range(0)
    seconds: float = 0.0


def breaks(lane: ShootingLane, piece: range) -> list[tuple[int, float]]:
    """The places after the longest breaks of a piece, with their lengths in seconds."""
    found = [(place, pause) for place, pause, _ in _pauses(lane, piece) if pause > BREAK]
    return sorted(sorted(found, key=lambda pair: -pair[1])[:_MOST_TRIED])


def is_card_missing(lane: ShootingLane, place: int) -> bool | None:
    """Whether many frames are missing before a place, by the counter; None where there is none."""
    before, after = lane.frames[place - 1].counter, lane.frames[place].counter
    return None if before is None or after is None else (after - before) % _COUNTED > _MANY


def longer_after_breaks(lane: ShootingLane, piece: range, evidence: Evidence) -> Iterator[float]:
    """By how many seconds longer people seem to have waited after a break than before it, where that is about
    its length: after a long break most of them, after a short one all, for the rest of the piece."""
    came = _came(lane, piece, evidence)
    waits = [-low for _, low in came]
    for place, gap in breaks(lane, piece):
        at = bisect_left(came, (lane.frames[place].taken or 0.0,))
        before, after = waits[max(at - _AROUND, 0) : at], waits[at:]
        if not before or not after or gap < _SHORT:
            continue
        longer = median(after[:_AROUND]) - median(before)
        by_all = _least(after) - median(before)
        if (gap > _LONG and longer > _MOSTLY * gap) or (gap <= _LONG and by_all > _MUCH * gap):
            yield longer


def where_it_changes(lane: ShootingLane, piece: range, evidence: Evidence) -> ClockChange | None:
    """Where people seem to have waited most of an hour longer, or less long, than those before, as no queue
    does, and the clock may have been set by that. What it told is not known to be wrong."""
    came = _came(lane, piece, evidence)
    lows = [low for _, low in came]
    changes = [  # the lower of two middle ones: arrivals that are typed in late seem hours later
        (median_low(lows[at - _SOME : at]) - median_low(lows[at : at + _SOME]), at)
        for at in range(_SOME, len(lows) - _SOME + 1)
    ]
    large = [(longer, _best_split(lows, at)) for longer, at in changes if abs(longer) >= _CHANGED]
    pauses = list(_pauses(lane, piece)) if large else []
    times = [time for _, _, time in pauses]
    for longer, at in sorted(large, key=lambda change: -abs(change[0])):
        between = pauses[bisect_right(times, came[at - 1][0]) : bisect_right(times, came[at][0])]
        if any(_may_be(lane, place, pause, longer) for place, pause, _ in between):
            places = [place for place, _, _ in between]
            _, most_likely = max((pause, place) for place, pause, _ in between)
            return ClockChange(most_likely, range(min(places), max(places)))
    return None


def _may_be(lane: ShootingLane, place: int, pause: float, longer: float) -> bool:
    """Whether a clock may have been set by so many seconds right before a place. Set forward, it leaves a
    break; set back, it shows (`order`) unless frames are missing."""
    return pause > _MUCH * longer if longer > 0 else is_card_missing(lane, place) is not False


def _pauses(lane: ShootingLane, piece: range) -> Iterator[tuple[int, float, float]]:
    """The places of a piece, each with the seconds since the frame before and its time."""
    for before, place in pairwise(piece):
        a, b = lane.frames[before].taken, lane.frames[place].taken
        if a is not None and b is not None:
            yield place, b - a, b


def _least(waits: Sequence[float]) -> float:
    """The shortest of some waits but for a few: arrivals that are typed in late."""
    return sorted(waits)[min(1 + len(waits) // _FEW, len(waits) - 1)]


def _best_split(lows: Sequence[float], about: int) -> int:
    """Where the values before are nearest to those before, and those after to those after."""
    near = range(about - _SOME, about + _SOME)
    before, after = median_low(lows[near.start : about]), median_low(lows[about : near.stop])

    def misfit(at: int) -> float:
        return sum(abs(lows[n] - (before if n < at else after)) for n in near)

    return min(range(near.start + 1, near.stop), key=misfit)


def _came(lane: ShootingLane, piece: range, evidence: Evidence) -> list[tuple[float, float]]:
    """Of the slates of a piece that are one person's whatever the clock says, in the order of time: when they
    were photographed, and by how many seconds after that their person came (below 0)."""
    sightings = sightings_of(lane.frames[piece.start : piece.stop], evidence)
    fits = fits_of(sightings, evidence.codes, evidence.cards, evidence.arrived)
    return sorted((fit.taken, fit.low) for fit in only_fits(fits))
