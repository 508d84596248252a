"""Where a camera's clock was set forward. Set back, it shows by itself (`order`); forward it looks like a
break. Slates shown at a station tell: before and after it they are photographed with different delays.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from onsite.matching.clocks import Fit, densest, shown_fits
from onsite.matching.evidence import Evidence
from onsite.matching.marks import sightings_of
from onsite.matching.order import Jump, Lane

_LEAST = 240.0  # seconds: less is within what slates take to be photographed
_MORE = 5  # slates that must agree with two clocks and not with one
_MOST_TRIED = 12  # breaks of a piece, the longest first


def cut_where_set(lane: Lane, evidence: Evidence) -> Lane:
    """The lane with its pieces cut, and a jump told, where its clock was set forward."""
    if not evidence.shown:
        return lane
    cuts = {cut: seconds for piece in lane.pieces for cut, seconds in _cuts(lane, piece, evidence).items()}
    if not cuts:
        return lane
    starts = sorted({*cuts, *(piece.start for piece in lane.pieces)})
    pieces = tuple(range(a, b) for a, b in pairwise([*starts, len(lane.frames)]))
    places = {frame.id: place for place, frame in enumerate(lane.frames)}
    jumps = [*lane.jumps]
    jumps += [Jump(lane.frames[cut - 1].id, lane.frames[cut].id, seconds) for cut, seconds in cuts.items()]
    return replace(lane, pieces=pieces, jumps=tuple(sorted(jumps, key=lambda jump: places[jump.after])))


def _cuts(lane: Lane, piece: range, evidence: Evidence) -> dict[int, float]:
    """The places in a piece at which its clock was set forward, and by how many seconds."""
    sightings = sightings_of(lane.frames[piece.start : piece.stop], evidence)
    fits = shown_fits(sightings, evidence.codes, evidence.cards, evidence.shown)
    return _cut(lane, piece, fits)


def _cut(lane: Lane, piece: range, fits: Sequence[Fit]) -> dict[int, float]:
    if len(fits) < 2 * _MORE:
        return {}
    together = densest(fits)[2]
    if together + _MORE > len({fit.sighting for fit in fits}):
        return {}
    cuts = [_Cut(lane, place, gap, fits) for place, gap in _breaks(lane, piece)]
    best = max((cut for cut in cuts if cut.is_one), key=lambda cut: cut.agreeing, default=None)
    if best is None or best.agreeing < together + _MORE:
        return {}
    return {
        best.place: best.seconds,
        **_cut(lane, range(piece.start, best.place), best.before),
        **_cut(lane, range(best.place, piece.stop), best.after),
    }


class _Cut:
    """A break taken for a clock set forward: what slates say on either side of it."""

    def __init__(self, lane: Lane, place: int, gap: float, fits: Sequence[Fit]) -> None:
        since = lane.frames[place].taken or 0.0
        self.place = place
        self.before = [fit for fit in fits if fit.taken < since]
        self.after = [fit for fit in fits if fit.taken >= since]
        self.agreeing, self.seconds, self.is_one = 0, 0.0, False
        if self.before and self.after:
            offset, _, slates = densest(self.before)
            later, _, more = densest(self.after)
            self.agreeing, self.seconds = slates + more, offset - later
            few = min(slates, more)
            self.is_one = few >= _MORE and _LEAST < self.seconds < gap + _LEAST


def _breaks(lane: Lane, piece: range) -> list[tuple[int, float]]:
    """The places after the longest breaks of a piece, with their lengths in seconds."""
    found = []
    for before, place in pairwise(piece):
        a, b = lane.frames[before].taken, lane.frames[place].taken
        if a is not None and b is not None and b - a > _LEAST:
            found.append((place, b - a))
    return sorted(sorted(found, key=lambda one: -one[1])[:_MOST_TRIED])
