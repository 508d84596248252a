"""What happens at the door of the invented day: arrivals, and deck cards that go from hand to hand."""

from __future__ import annotations

import heapq
import random
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from onsite.demo.people import InventedPerson
from onsite.demo.timetable import Staged

CARDS = 12
"""Deck cards enough for any day that this package invents."""


@dataclass(frozen=True, slots=True)
class SimulatedArrival:
    """An arrival at `at` (UTC, whole seconds). A walk-in comes with all that the door writes down."""

    at: datetime
    person: str
    walk_in: InventedPerson | None
    card: str | None
    station: str


def check_ins(staged: Sequence[Staged], cards: Sequence[str], rng: random.Random) -> list[SimulatedArrival]:
    """One arrival for everybody who is photographed, in order of time, 3 to 25 minutes before.

    A deck card comes back to the door after the visit and is the next to be handed out again. Raises
    ValueError when there are not enough `cards`.
    """
    first: dict[str, tuple[datetime, Staged]] = {}
    for stage in staged:
        if stage.visit and stage.visit.outfit == 0:
            waits = rng.uniform(3, 8) if stage.visit.holds_card else rng.uniform(3, 25)
            at = (stage.start - timedelta(minutes=waits)).replace(microsecond=0)
            first[stage.visit.guest.key] = (at, stage)
    arrivals = sorted(first.values(), key=lambda arrival: arrival[0])
    hand = _Deck(cards)
    return [_arrival(at, stage, hand, rng) for at, stage in arrivals]


def _arrival(at: datetime, stage: Staged, deck: _Deck, rng: random.Random) -> SimulatedArrival:
    visit = stage.visit
    assert visit is not None
    card = deck.hand_out(at, stage.end + timedelta(minutes=1)) if visit.holds_card else None
    guest = visit.guest
    return SimulatedArrival(
        at, guest.key, guest if visit.walk_in else None, card, rng.choice(("door-1", "door-2"))
    )


class _Deck:
    """A pile of cards: the last one back is on top."""

    def __init__(self, cards: Sequence[str]) -> None:
        self._pile = list(reversed(cards))
        self._out: list[tuple[datetime, str]] = []

    def hand_out(self, at: datetime, back: datetime) -> str:
        while self._out and self._out[0][0] < at:
            self._pile.append(heapq.heappop(self._out)[1])
        if not self._pile:
            raise ValueError("a deck too small for this day")
        card = self._pile.pop()
        heapq.heappush(self._out, (back, card))
        return card
