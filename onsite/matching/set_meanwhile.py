"""Where a camera's clock was set and its times go on: forward, which looks like a break, or back, where the
card is missing whose frames would show it (`order`).

The slates tell, where no one offset explains them and one before the break and one after it do. Where they do
not tell by how much, or people only seem to have waited longer or less long (`waiting`), it may have been so.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from onsite.matching.clocks import ClockOffset, OffsetSource, Sighting, fits_of
from onsite.matching.evidence import Evidence
from onsite.matching.marks import clock_of, sightings_of
from onsite.matching.order import ClockJump, ShootingLane
from onsite.matching.waiting import (
    BREAK,
    ClockChange,
    breaks,
    is_card_missing,
    longer_after_breaks,
    where_it_changes,
)

_SUSPICIOUS = 3  # points more, from which on two clocks may be right
_MOST_POINTS = 3  # for a slate: read, shown, and its person
_FEWEST = 5  # slates that must agree with two clocks and not with one
_SOME_MISSED = 3  # slates that were not shown when the clock says


def with_clocks(lane: ShootingLane, evidence: Evidence) -> tuple[ShootingLane, list[ClockOffset]]:
    """The lane with its pieces cut, and a jump told, where its clock was set forward; and the clock of each
    piece."""
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
    """A stretch with one clock, and what began it."""

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
    """The clock of a piece if it was not set meanwhile, and the break in which it most likely was."""
    sightings = sightings_of(lane.frames[piece.start : piece.stop], evidence)
    whole = clock_of(sightings, evidence)
    return whole, _best_cut(lane, piece, sightings, whole, evidence)


def _clock(whole: ClockOffset, cut: _Cut | None) -> ClockOffset:
    """The clock of a piece. Where it may have been set forward in a break and nothing proves it, whatever
    fits the slates on one side of that may be so."""
    if (
        cut is None
        or whole.source is not OffsetSource.ARRIVALS
        or cut.agreement < whole.agreement + _SUSPICIOUS
    ):
        return whole
    spans = (*whole.ranges, *cut.before.ranges, *cut.after.ranges)
    return replace(whole, low=min(low for low, _ in spans), high=max(high for _, high in spans), spans=spans)


def _after_breaks(clock: ClockOffset, lane: ShootingLane, piece: range, evidence: Evidence) -> ClockOffset:
    """The clock of a piece that arrivals tie, with what would fit after breaks that may be none."""
    if clock.source is not OffsetSource.ARRIVALS or not evidence.reuses_cards:
        return clock
    longer = list(longer_after_breaks(lane, piece, evidence))
    spans = (*clock.ranges, *((low - by, high - by) for by in longer for low, high in clock.ranges))
    return replace(clock, low=min(low for low, _ in spans), high=clock.high, spans=spans) if longer else clock


def _where_it_may_change(
    lane: ShootingLane, piece: range, whole: ClockOffset, evidence: Evidence
) -> ClockChange | None:
    """Where another clock may have begun to tell the time, though by how much it was set is not known."""
    if not evidence.reuses_cards:  # whose a slate is, no clock has to tell
        return None
    return _where_frames_are_lost(lane, piece, whole, evidence) or where_it_changes(lane, piece, evidence)


def _where_frames_are_lost(
    lane: ShootingLane, piece: range, clock: ClockOffset, evidence: Evidence
) -> ClockChange | None:
    """Where many frames are missing, and of the slates on one side of them most were not shown when the clock
    of those on the other side says."""
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
        """By how much the clock was set forward, if it was."""
        return self.before.offset - self.after.offset

    @property
    def is_forward(self) -> bool:
        return BREAK < self.seconds < self.gap + BREAK


def _best_cut(
    lane: ShootingLane, piece: range, sightings: Sequence[Sighting], whole: ClockOffset, evidence: Evidence
) -> _Cut | None:
    """The break with the most agreement on its two sides; None where one clock for all agrees with about as
    much as there is, so that no two can do better."""
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
