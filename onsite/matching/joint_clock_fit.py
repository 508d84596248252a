"""Joint fit of the clocks of all cameras whose offsets rest on arrivals only, where deck cards are used
again.

For one camera alone, a card that it read may often be its next holder's as well. But that holder is on other
frames, perhaps of another camera: with the right clocks, all cameras together have photographed the most
people. An offset is ruled out where, whatever the other clocks are, more slates would go to people who
already have a slate than accidents account for.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
import numpy.typing as npt

from onsite.matching.clock_offset import (
    ClockOffset,
    Fit,
    OffsetSource,
    Sighting,
    Span,
    fits_of,
    misses,
    only_fits,
)
from onsite.matching.deck_card_holders import ArrivalOrder
from onsite.matching.evidence import Evidence
from onsite.matching.shooting_order import ShootingLane
from onsite.matching.slate_status import sightings_of

_NEARLY_ALL = 0.94  # of the slates explained by the best offset, without which an offset is not tried
_MOST_TRIED = 500  # offsets of a clock
_MOST_CLOCKS = 8  # pieces of lanes; with more, each is fitted by itself
_ROUNDS = 8

Counts = npt.NDArray[np.float32]


def fitted_together(
    lanes: Sequence[ShootingLane], clocks: Sequence[Sequence[ClockOffset]], evidence: Evidence
) -> list[list[ClockOffset]]:
    """The clocks of all lanes, a list a lane; those known from arrivals only are narrowed to what fits all
    cameras."""
    found = [list(lane_clocks) for lane_clocks in clocks]
    if not evidence.reuses_cards:
        return found
    holders = {tie.person for ties in evidence.cards.values() for tie in ties}
    people = {person: number for number, person in enumerate(sorted(holders.union(evidence.codes.values())))}
    offsets: list[OffsetCandidates] = []
    tied: list[list[_Piece]] = []
    for pieces, sightings in _with_one_clock(lanes, found, evidence):
        fits = fits_of(sightings, evidence.codes, evidence.cards, evidence.arrived)
        if fits:
            clocks_of = [found[number][part] for number, part in pieces]
            known = next((clock.ranges for clock in clocks_of if clock.source is OffsetSource.SHOWN), None)
            offsets.append(OffsetCandidates.of(fits, people, known))
            tied.append(pieces)
    for pieces, spans in zip(tied, _nearly_best(offsets), strict=True):
        for number, part in pieces:
            if found[number][part].source is OffsetSource.ARRIVALS:
                found[number][part] = _with_spans(found[number][part], spans)
    return found


_Piece = tuple[int, int]
"""The number of a lane, and of a piece in it."""


def _with_one_clock(
    lanes: Sequence[ShootingLane], clocks: Sequence[Sequence[ClockOffset]], evidence: Evidence
) -> list[tuple[list[_Piece], list[Sighting]]]:
    """Pieces whose clock is not known to have been set during them, and the slates read in them. Copies of
    frames make two pieces of one clock, and are not counted twice."""
    found: list[tuple[int, list[_Piece], dict[Sighting, None]]] = []
    for number, (lane, index) in enumerate(zip(lanes, clocks, strict=True)):
        for part, (piece, clock) in enumerate(zip(lane.pieces, index, strict=True)):
            if not _is_one_clock(clock):
                continue
            read = dict.fromkeys(sightings_of(lane.frames[piece.start : piece.stop], evidence))
            same = (
                sighting
                for sighting in found
                if sighting[0] == lane.camera and sighting[2].keys() & read.keys()
            )
            _, pieces, sightings = next(same, (0, [], {}))
            if not pieces:
                found.append((lane.camera, pieces, sightings))
            pieces.append((number, part))
            sightings |= read
    return [(pieces, sorted(read, key=lambda sighting: sighting.taken)) for _, pieces, read in found]


def _is_one_clock(clock: ClockOffset) -> bool:
    """False where nothing is known of a clock, or where it may have been set during the piece
    (`clock_changes`)."""
    ends = [end for span in clock.ranges for end in span]
    return all(map(math.isfinite, ends)) and ends == sorted(ends)


def _with_spans(clock: ClockOffset, spans: Sequence[Span]) -> ClockOffset:
    low, high = spans[0][0], spans[-1][1]
    return replace(clock, offset=min(max(clock.offset, low), high), low=low, high=high, spans=tuple(spans))


@dataclass(frozen=True, slots=True)
class OffsetCandidates:
    """What a clock's possible offsets explain."""

    spans: tuple[Span, ...]
    """Ranges of offsets."""
    slates: Counts
    """For each range, the number of slates explained with a person who did not come late."""
    people: Counts
    """Whether each range makes each person's slate appear: `people[offset, person]`, 0 or 1."""
    count: int
    """Number of all slates."""

    @classmethod
    def of(
        cls, fits: Sequence[Fit], people: Mapping[int, int], known: Sequence[Span] | None = None
    ) -> OffsetCandidates:
        """`people` maps each person to a column; `known` are the possible offsets, where those are known
        otherwise."""
        spans = known or _plausible(fits)
        middles = np.array([(low + high) / 2 for low, high in spans])
        changes = np.zeros((len(spans) + 1, len(people)), np.float32)
        for fit in fits:
            first, last = np.searchsorted(middles, (fit.low, fit.high))
            changes[first, people[fit.person]] += 1
            changes[last, people[fit.person]] -= 1
        whose = (changes.cumsum(0) > 0)[:-1].astype(np.float32)
        in_line = _explained(fits, middles) - _explained(_came_late(fits), middles)
        return cls(tuple(spans), in_line, whose, len({fit.sighting for fit in fits}))


def _explained(fits: Sequence[Fit], at: npt.NDArray[np.float64]) -> Counts:
    """The number of slates that each offset explains. The holders of a card follow each other, so that no
    slate counts twice."""
    lows, highs = np.sort([fit.low for fit in fits]), np.sort([fit.high for fit in fits])
    return (np.searchsorted(lows, at) - np.searchsorted(highs, at)).astype(np.float32)


def _came_late(fits: Sequence[Fit]) -> list[Fit]:
    """The fits whose person arrived long after those photographed around them, by the slates that have one
    possible person whatever the clock says."""
    sure = only_fits(fits)
    queue = ArrivalOrder.of((fit.sighting, fit.low) for fit in sure)
    if queue is None:
        return []
    known = {fit.sighting for fit in sure}
    return [fit for fit in fits if fit.sighting not in known and queue.is_late(fit.sighting, fit.low)]


def _plausible(fits: Sequence[Fit]) -> list[Span]:
    """Offsets that explain nearly all slates, from each change of a card's holder to the next."""
    edges = np.unique([edge for fit in fits for edge in (fit.low, fit.high)])
    explained = _explained(fits, (edges[:-1] + edges[1:]) / 2)
    places = np.flatnonzero(
        explained >= _NEARLY_ALL * explained.max() - misses(len({fit.sighting for fit in fits})) / 2
    )
    chunk = np.array_split(places, min(len(places), _MOST_TRIED))
    return [(float(edges[group[0]]), float(edges[group[-1] + 1])) for group in chunk]


def _nearly_best(clocks: Sequence[OffsetCandidates]) -> list[list[Span]]:
    """For each clock the offsets with which all clocks together explain nearly the most slates and people."""
    if not 2 <= len(clocks) <= _MOST_CLOCKS:
        return [_single_clock_spans(clock) for clock in clocks]
    chosen = [int(np.argmax(clock.slates + clock.people.sum(1))) for clock in clocks]
    enough = _climb(clocks, chosen) - misses(sum(clock.count for clock in clocks))
    most = [np.full(len(clock.spans), -1.0, np.float32) for clock in clocks]
    for first, other in combinations(range(len(clocks)), 2):
        together = _by_two(clocks, chosen, first, other)
        most[first] = np.maximum(most[first], together.max(1))
        most[other] = np.maximum(most[other], together.max(0))
    return [_near(enough, *first) for first in zip(clocks, most, strict=True)]


def _single_clock_spans(clock: OffsetCandidates) -> list[Span]:
    found = clock.slates + clock.people.sum(1)
    return _near(float(found.max()) - misses(clock.count), clock, found)


def _climb(clocks: Sequence[OffsetCandidates], chosen: list[int]) -> float:
    """The most that can be explained by coordinate ascent, two clocks at a time; `chosen` is left at that
    maximum."""
    best = -1.0
    for _ in range(_ROUNDS):
        before = best
        for first, other in combinations(range(len(clocks)), 2):
            together = _by_two(clocks, chosen, first, other)
            if together.max() > best:
                best = float(together.max())
                chosen[first], chosen[other] = map(int, np.unravel_index(together.argmax(), together.shape))
        if best == before:
            break
    return best


def _by_two(clocks: Sequence[OffsetCandidates], chosen: Sequence[int], first: int, other: int) -> Counts:
    """Slates and people explained by each pair of offsets of two clocks, with the others as chosen."""
    rest = [
        (clock, at)
        for n, (clock, at) in enumerate(zip(clocks, chosen, strict=True))
        if n not in (first, other)
    ]
    free = np.ones(clocks[first].people.shape[1], np.float32)
    for clock, at in rest:
        free *= 1 - clock.people[at]
    mine, other_people = clocks[first].people * free, clocks[other].people * free
    by_one, by_other = clocks[first].slates + mine.sum(1), clocks[other].slates + other_people.sum(1)
    by_rest = np.float32(sum(clock.slates[at] for clock, at in rest) + len(free) - free.sum())
    explained: Counts = by_one[:, None] + by_other[None, :] - mine @ other_people.T + by_rest
    return explained


def _near(enough: float, clock: OffsetCandidates, explained: Counts) -> list[Span]:
    """The spans of a clock that explain nearly the most, adjoining ones joined."""
    joined: list[Span] = []
    for (low, high), found in zip(clock.spans, explained, strict=True):
        if found < enough:
            continue
        if joined and joined[-1][1] == low:
            joined[-1] = joined[-1][0], high
        else:
            joined.append((low, high))
    return joined
