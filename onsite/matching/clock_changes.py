"""Places where a camera's clock was set: forward, which looks like a break, or back, where the frames that
would show it are missing (otherwise `shooting_order` finds it).

The slates show it where no single offset explains them, but two do, before a break and after it.
People's waiting times, from arrival to slate by the camera's clock, show it too. Queues grow and shrink bit
by bit: where everybody after a break seems to have waited longer by about its length, the clock may have been
set forward in it; where waiting changes a lot from one slate to the next, it may have been set by that much,
forward in a break or back with frames missing. Then the amount stays unknown.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from statistics import median, median_low

from onsite.core.file_counter import counter_distance
from onsite.matching.clock_offset import ClockOffset, OffsetSource, Sighting, fits_of, only_fits
from onsite.matching.evidence import Evidence
from onsite.matching.shooting_order import ClockJump, ShootingLane
from onsite.matching.slate_status import clock_of, sightings_of

_SUSPICIOUS = 3  # points more agreement, from which on two clocks may be right
_MOST_POINTS = 3  # for a slate: read, shown, and its person
_FEWEST = 5  # slates that must agree with two clocks and not with a single clock
_SOME_MISSED = 3  # slates that were not shown when the clock says


def with_clocks(lane: ShootingLane, evidence: Evidence) -> tuple[ShootingLane, list[ClockOffset]]:
    """The lane cut where its clock was set forward, with the jumps added, and the clock of each piece."""
    found = [part for piece in lane.pieces for part in _parts(lane, piece, evidence)]
    pieces = tuple(
        range(a, b) for a, b in pairwise([*(part.change.place for part in found), len(lane.frames)])
    )
    forward = [
        ClockJump(lane.frames[change.place - 1].id, lane.frames[change.place].id, change.seconds)
        for part in found
        if (change := part.change).seconds
    ]
    places = {frame.id: place for place, frame in enumerate(lane.frames)} if forward else {}
    jumps = sorted([*lane.jumps, *forward], key=lambda jump: places[jump.after]) if forward else lane.jumps
    either = tuple(part.change.within for part in found if part.change.within)
    return replace(lane, pieces=pieces, jumps=tuple(jumps), either=either), [part.clock for part in found]


@dataclass(frozen=True, slots=True)
class _Part:
    """A piece with one clock, and the clock change that began it."""

    change: ClockChange
    clock: ClockOffset


def _parts(
    lane: ShootingLane, piece: range, evidence: Evidence, begun: ClockChange | None = None
) -> list[_Part]:
    whole, cut = _look(lane, piece, evidence)
    if cut is not None and cut.is_forward and cut.agreement >= whole.agreement + _FEWEST:
        change: ClockChange | None = ClockChange(cut.place, seconds=cut.seconds)
    else:
        change = _where_it_may_change(lane, piece, whole, evidence)
    if change is None:
        clock = _after_breaks(_clock(whole, cut), lane, piece, evidence)
        return [_Part(begun or ClockChange(piece.start), clock)]
    before, after = range(piece.start, change.place), range(change.place, piece.stop)
    return [*_parts(lane, before, evidence, begun), *_parts(lane, after, evidence, change)]


def _look(lane: ShootingLane, piece: range, evidence: Evidence) -> tuple[ClockOffset, _Cut | None]:
    """The clock of a piece if it was not set during it, and the break in which it most likely was set."""
    sightings = sightings_of(lane.frames[piece.start : piece.stop], evidence)
    whole = clock_of(sightings, evidence)
    return whole, _best_cut(lane, piece, sightings, whole, evidence)


def _clock(whole: ClockOffset, cut: _Cut | None) -> ClockOffset:
    """The clock of a piece. Where it may have been set forward in a break without proof, every offset that
    fits the slates on one side of the break stays possible."""
    if (
        cut is None
        or whole.source is not OffsetSource.ARRIVALS
        or cut.agreement < whole.agreement + _SUSPICIOUS
    ):
        return whole
    spans = (*whole.ranges, *cut.before.ranges, *cut.after.ranges)
    return replace(whole, low=min(low for low, _ in spans), high=max(high for _, high in spans), spans=spans)


def _after_breaks(clock: ClockOffset, lane: ShootingLane, piece: range, evidence: Evidence) -> ClockOffset:
    """The clock of a piece known from arrivals only, widened by what would fit after breaks that may be clock
    changes."""
    if clock.source is not OffsetSource.ARRIVALS or not evidence.reuses_cards:
        return clock
    longer = list(longer_after_breaks(lane, piece, evidence))
    spans = (*clock.ranges, *((low - by, high - by) for by in longer for low, high in clock.ranges))
    return replace(clock, low=min(low for low, _ in spans), high=clock.high, spans=spans) if longer else clock


def _where_it_may_change(
    lane: ShootingLane, piece: range, whole: ClockOffset, evidence: Evidence
) -> ClockChange | None:
    """Where another clock may have begun, though by how much it was set is not known."""
    if not evidence.reuses_cards:  # no clock is needed to know whose a slate is
        return None
    return _where_frames_are_lost(lane, piece, whole, evidence) or where_it_changes(lane, piece, evidence)


def _where_frames_are_lost(
    lane: ShootingLane, piece: range, clock: ClockOffset, evidence: Evidence
) -> ClockChange | None:
    """Where many frames are missing, and most slates on one side were not shown when the other side's clock
    says."""
    places = (
        [place for place in piece[1:] if is_card_missing(lane, place)]
        if clock.source is OffsetSource.SHOWN
        else []
    )
    if not places:
        return None
    sightings = sightings_of(lane.frames[piece.start : piece.stop], evidence)
    fits = fits_of(sightings, evidence.codes, evidence.cards, evidence.arrived, evidence.slates_shown)
    explained = {fit.sighting for fit in fits if fit.shown and fit.meets(clock.ranges)}
    for place in places:
        at = bisect_left(sightings, lane.frames[place].taken or 0.0, key=lambda sighting: sighting.taken)
        for side in (range(at), range(at, len(sightings))):
            unexplained = len(side) - len(explained.intersection(side))
            if unexplained >= _SOME_MISSED and 2 * unexplained > len(side):
                return ClockChange(place)
    return None


@dataclass(frozen=True, slots=True)
class _Cut:
    """A break of `gap` seconds before a place in the lane, and the clocks on either side of it."""

    place: int
    gap: float
    before: ClockOffset
    after: ClockOffset

    @property
    def agreement(self) -> int:
        return self.before.agreement + self.after.agreement

    @property
    def seconds(self) -> float:
        """Seconds by which the clock was set forward, if it was."""
        return self.before.offset - self.after.offset

    @property
    def is_forward(self) -> bool:
        return BREAK < self.seconds < self.gap + BREAK


def _best_cut(
    lane: ShootingLane, piece: range, sightings: Sequence[Sighting], whole: ClockOffset, evidence: Evidence
) -> _Cut | None:
    """The break with the most agreement on its two sides. None where one clock agrees with nearly everything,
    so that no two can do better."""
    most = _MOST_POINTS if whole.source is OffsetSource.SHOWN else _MOST_POINTS - 1
    if len(sightings) < 2 * _FEWEST or whole.agreement + _SUSPICIOUS > most * len(sightings):
        return None
    cuts = []
    for place, gap in breaks(lane, piece):
        since = lane.frames[place].taken or 0.0
        before = [sighting for sighting in sightings if sighting.taken < since]
        after = [sighting for sighting in sightings if sighting.taken >= since]
        if min(len(before), len(after)) >= _FEWEST:
            clocks = clock_of(before, evidence), clock_of(after, evidence)
            cuts.append(_Cut(place, gap, *clocks))
    return max(cuts, key=lambda cut: (cut.is_forward, cut.agreement), default=None)


BREAK = 240.0
"""Seconds from which on a pause is a break; less is the normal delay between showing a slate
and its photo."""

_MOST_TRIED = 12  # breaks of a piece, the longest first
_LONG = 3000.0  # seconds: few people wait through so long a break, and clocks are often set by an hour
_MOSTLY = 0.5  # of a long break, by which people seem to have waited longer
_SHORT = 600.0  # seconds; a smaller clock change in a shorter break seldom shows in the cards
_MUCH = 0.6  # of a short break, likewise
_FEW = 20  # 1 arrival in so many may be typed in late
_AROUND = 8  # slates before a break and after it
_SOME = 4  # slates on either side that show a change
_CHANGED = 2400.0  # seconds: waiting does not change by more from one slate to the next
_MANY = 50  # frames missing in a row, as with a missing memory card


@dataclass(frozen=True, slots=True)
class ClockChange:
    """Where another clock begins."""

    place: int
    """Most likely first place of the new clock."""
    within: range = range(0)
    """Places among which the change lies, where the exact place is not known."""
    seconds: float = 0.0
    """Seconds by which the clock was set forward, where that is known."""


def breaks(lane: ShootingLane, piece: range) -> list[tuple[int, float]]:
    """The places after the longest breaks of a piece, each with its length in seconds."""
    found = [(place, pause) for place, pause, _ in _pauses(lane, piece) if pause > BREAK]
    return sorted(sorted(found, key=lambda pair: -pair[1])[:_MOST_TRIED])


def is_card_missing(lane: ShootingLane, place: int) -> bool | None:
    """Whether the counter shows many frames missing before a place; None without a counter."""
    before, after = lane.frames[place - 1].counter, lane.frames[place].counter
    return None if before is None or after is None else counter_distance(before, after) > _MANY


def longer_after_breaks(lane: ShootingLane, piece: range, evidence: Evidence) -> Iterator[float]:
    """Seconds by which people seem to have waited longer after a break than before it, where that is about
    its length: after a long break for most people, after a short one for all, up to the end of the piece."""
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
    """Where waiting seems to change by most of an hour from one slate to the next, as no queue does: the
    clock may have been set by that much. What it showed until then is not known to be wrong."""
    came = _came(lane, piece, evidence)
    lows = [low for _, low in came]
    changes = [  # the lower median: arrivals typed in late seem hours later
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
    """Whether a clock may have been set by `longer` seconds right before a place. Set forward, it leaves a
    break; set back, it shows in the order of frames unless frames are missing."""
    return pause > _MUCH * longer if longer > 0 else is_card_missing(lane, place) is not False


def _pauses(lane: ShootingLane, piece: range) -> Iterator[tuple[int, float, float]]:
    """The places of a piece, each with the seconds since the frame before and its own time."""
    for before, place in pairwise(piece):
        a, b = lane.frames[before].taken, lane.frames[place].taken
        if a is not None and b is not None:
            yield place, b - a, b


def _least(waits: Sequence[float]) -> float:
    """The shortest waiting time but for a few, which are arrivals typed in late."""
    return sorted(waits)[min(1 + len(waits) // _FEW, len(waits) - 1)]


def _best_split(lows: Sequence[float], about: int) -> int:
    """The split with the least sum of absolute deviations from the medians on its two sides."""
    near = range(about - _SOME, about + _SOME)
    before, after = median_low(lows[near.start : about]), median_low(lows[about : near.stop])

    def misfit(at: int) -> float:
        return sum(abs(lows[n] - (before if n < at else after)) for n in near)

    return min(range(near.start + 1, near.stop), key=misfit)


def _came(lane: ShootingLane, piece: range, evidence: Evidence) -> list[tuple[float, float]]:
    """(time photographed, seconds by which the person arrived after that, below 0) of the slates that are one
    person's whatever the clock says, in the order of time."""
    sightings = sightings_of(lane.frames[piece.start : piece.stop], evidence)
    fits = fits_of(sightings, evidence.codes, evidence.cards, evidence.arrived)
    return sorted((fit.taken, fit.low) for fit in only_fits(fits))
