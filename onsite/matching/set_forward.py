"""Where a camera's clock was set forward. Set back, it shows by itself (`order`); forward it looks like a
break. The slates tell, where no one offset explains them and one before the break and one after it do. Where
everybody after it seems to have waited longer, by just that break, it may have been so.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from statistics import median, median_low

from onsite.matching.clocks import Clock, Sighting, TiedBy, fits_of, only_fits
from onsite.matching.evidence import Evidence
from onsite.matching.marks import clock_of, sightings_of
from onsite.matching.order import Jump, Lane

_LEAST = 240.0  # seconds: less is within what slates take to be photographed
_SUSPICIOUS = 3  # points more, from which on two clocks may be right
_MOST_POINTS = 3  # for a slate: read, shown, and its person
_FEWEST = 5  # slates that must agree with two clocks and not with one
_MOST_TRIED = 12  # breaks of a piece, the longest first
_LONG = 3000.0  # seconds: few wait through a break that long, and a clock is often set by an hour
_MOSTLY = 0.5  # of a long break, by which people seem to have waited longer
_SHORT = 600.0  # seconds; what a clock is set forward by in a shorter break, cards seldom show
_MUCH = 0.6  # of a short break, likewise
_FEW = 20  # one arrival in so many may be typed in late
_AROUND = 8  # slates before a break and after it
_SOME = 4  # slates, on either side, that tell of a change
_CHANGED = 3240.0  # seconds by which waiting does not change from one to the next


def with_clocks(lane: Lane, evidence: Evidence) -> tuple[Lane, list[Clock]]:
    """The lane with its pieces cut, and a jump told, where its clock was set forward; and the clock of each
    piece."""
    found = [part for piece in lane.pieces for part in _parts(lane, piece, evidence)]
    pieces = tuple(
        range(a, b) for a, b in pairwise([*(part.change.place for part in found), len(lane.frames)])
    )
    forward = [
        Jump(lane.frames[change.place - 1].id, lane.frames[change.place].id, change.seconds)
        for part in found
        if (change := part.change).seconds
    ]
    places = {frame.id: place for place, frame in enumerate(lane.frames)} if forward else {}
    jumps = sorted([*lane.jumps, *forward], key=lambda jump: places[jump.after]) if forward else lane.jumps
    either = tuple(part.change.within for part in found if part.change.within)
    return replace(lane, pieces=pieces, jumps=tuple(jumps), either=either), [part.clock for part in found]


@dataclass(frozen=True, slots=True)
class _Change:
    """Where another clock begins to tell the time: from a place on, or, as far as is known, from anywhere
    `within`. `seconds` is by how much it was set forward there, where that is known."""

    place: int
    within: range = range(0)
    seconds: float = 0.0


@dataclass(frozen=True, slots=True)
class _Part:
    """A stretch with one clock, and what began it."""

    change: _Change
    clock: Clock


def _parts(lane: Lane, piece: range, evidence: Evidence, begun: _Change | None = None) -> list[_Part]:
    whole, cut = _look(lane, piece, evidence)
    if cut is not None and cut.is_forward and cut.agreement >= whole.agreement + _FEWEST:
        change: _Change | None = _Change(cut.place, seconds=cut.seconds)
    else:
        change = _where_waiting_changes(lane, piece, evidence)
    if change is None:
        clock = _after_breaks(_clock(whole, cut), lane, piece, evidence)
        return [_Part(begun or _Change(piece.start), clock)]
    before, after = range(piece.start, change.place), range(change.place, piece.stop)
    return [*_parts(lane, before, evidence, begun), *_parts(lane, after, evidence, change)]


def _look(lane: Lane, piece: range, evidence: Evidence) -> tuple[Clock, _Cut | None]:
    """The clock of a piece if it was not set meanwhile, and the break in which it most likely was."""
    sightings = sightings_of(lane.frames[piece.start : piece.stop], evidence)
    whole = clock_of(sightings, evidence)
    return whole, _best_cut(lane, piece, sightings, whole, evidence)


def _clock(whole: Clock, cut: _Cut | None) -> Clock:
    """The clock of a piece. Where it may have been set forward in a break and nothing proves it, whatever
    fits the slates on one side of that may be so."""
    if cut is None or whole.tied_by is not TiedBy.ARRIVALS or cut.agreement < whole.agreement + _SUSPICIOUS:
        return whole
    spans = (*whole.ranges, *cut.before.ranges, *cut.after.ranges)
    return replace(whole, low=min(low for low, _ in spans), high=max(high for _, high in spans), spans=spans)


def _after_breaks(clock: Clock, lane: Lane, piece: range, evidence: Evidence) -> Clock:
    """The clock of a piece that arrivals tie, with what would fit after breaks that may be none."""
    if clock.tied_by is not TiedBy.ARRIVALS or not evidence.cards_go_round:
        return clock
    longer = list(_waited_longer(lane, piece, evidence))
    spans = (*clock.ranges, *((low - by, high - by) for by in longer for low, high in clock.ranges))
    return replace(clock, low=min(low for low, _ in spans), high=clock.high, spans=spans) if longer else clock


def _waited_longer(lane: Lane, piece: range, evidence: Evidence) -> Iterator[float]:
    """By how many seconds longer people seem to have waited after a break than before it, where that is about
    its length: after a long break most of them, after a short one all, for the rest of the piece."""
    came = _came(lane, piece, evidence)
    waits = [-low for _, low in came]
    for place, gap in _breaks(lane, piece):
        at = bisect_left(came, (lane.frames[place].taken or 0.0,))
        before, after = waits[max(at - _AROUND, 0) : at], waits[at:]
        if not before or not after or gap < _SHORT:
            continue
        longer = median(after[:_AROUND]) - median(before)
        by_all = _least(after) - median(before)
        if (gap > _LONG and longer > _MOSTLY * gap) or (gap <= _LONG and by_all > _MUCH * gap):
            yield longer


def _least(waits: Sequence[float]) -> float:
    """The shortest of some waits but for a few: arrivals that are typed in late."""
    return sorted(waits)[min(1 + len(waits) // _FEW, len(waits) - 1)]


def _where_waiting_changes(lane: Lane, piece: range, evidence: Evidence) -> _Change | None:
    """Where people seem to have waited about an hour longer, or less long, than before: no queue does that,
    so the clock may have been another one. What it told is not known to be wrong."""
    if not evidence.cards_go_round:  # whose a slate is, no clock has to tell
        return None
    came = _came(lane, piece, evidence)
    lows = [low for _, low in came]
    changes = [  # the lower of two middle ones: arrivals that are typed in late seem hours later
        (abs(median_low(lows[at - _SOME : at]) - median_low(lows[at : at + _SOME])), at)
        for at in range(_SOME, len(lows) - _SOME + 1)
    ]
    change, at = max(changes, default=(0.0, 0))
    if change < _CHANGED:
        return None
    at = _best_split(lows, at)
    last, first = came[at - 1][0], came[at][0]
    taken = [frame.taken or 0.0 for frame in lane.frames[piece.start : piece.stop]]
    gaps = [(b - a, piece.start + n) for n, (a, b) in enumerate(pairwise(taken), 1) if last < b <= first]
    if not gaps:
        return None
    places = [place for _, place in gaps]
    return _Change(max(gaps)[1], range(min(places), max(places)))


def _best_split(lows: Sequence[float], about: int) -> int:
    """Where the values before are nearest to those before, and those after to those after."""
    near = range(about - _SOME, about + _SOME)
    before, after = median_low(lows[near.start : about]), median_low(lows[about : near.stop])

    def misfit(at: int) -> float:
        return sum(abs(lows[n] - (before if n < at else after)) for n in near)

    return min(range(near.start + 1, near.stop), key=misfit)


def _came(lane: Lane, piece: range, evidence: Evidence) -> list[tuple[float, float]]:
    """Of the slates of a piece that are one person's whatever the clock says, in the order of time: when they
    were photographed, and by how many seconds after that their person came (below 0)."""
    sightings = sightings_of(lane.frames[piece.start : piece.stop], evidence)
    fits = fits_of(sightings, evidence.codes, evidence.cards, evidence.arrived)
    return sorted((fit.taken, fit.low) for fit in only_fits(fits))


@dataclass(frozen=True, slots=True)
class _Cut:
    """A break of `gap` seconds before a place in the lane, and the clocks on either side of it."""

    place: int
    gap: float
    before: Clock
    after: Clock

    @property
    def agreement(self) -> int:
        return self.before.agreement + self.after.agreement

    @property
    def seconds(self) -> float:
        """By how much the clock was set forward, if it was."""
        return self.before.offset - self.after.offset

    @property
    def is_forward(self) -> bool:
        return _LEAST < self.seconds < self.gap + _LEAST


def _best_cut(
    lane: Lane, piece: range, sightings: Sequence[Sighting], whole: Clock, evidence: Evidence
) -> _Cut | None:
    """The break with the most agreement on its two sides; None where one clock for all agrees with about as
    much as there is, so that no two can do better."""
    most = _MOST_POINTS if whole.tied_by is TiedBy.SHOWN else _MOST_POINTS - 1
    if len(sightings) < 2 * _FEWEST or whole.agreement + _SUSPICIOUS > most * len(sightings):
        return None
    cuts = []
    for place, gap in _breaks(lane, piece):
        since = lane.frames[place].taken or 0.0
        before = [sighting for sighting in sightings if sighting.taken < since]
        after = [sighting for sighting in sightings if sighting.taken >= since]
        if min(len(before), len(after)) >= _FEWEST:
            clocks = clock_of(before, evidence), clock_of(after, evidence)
            cuts.append(_Cut(place, gap, *clocks))
    return max(cuts, key=lambda cut: (cut.is_forward, cut.agreement), default=None)


def _breaks(lane: Lane, piece: range) -> list[tuple[int, float]]:
    """The places after the longest breaks of a piece, with their lengths in seconds."""
    found = []
    for before, place in pairwise(piece):
        a, b = lane.frames[before].taken, lane.frames[place].taken
        if a is not None and b is not None and b - a > _LEAST:
            found.append((place, b - a))
    return sorted(sorted(found, key=lambda one: -one[1])[:_MOST_TRIED])
