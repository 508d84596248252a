"""A day to test with: people, codes, a deck and a story, all from one seed."""

from __future__ import annotations

import random
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from zoneinfo import ZoneInfo

from onsite.core.codes import new_code
from onsite.simulator.invented_people import InventedPerson, invent_people
from onsite.simulator.simulated_day import CARDS, SimulatedDay, simulate_day

OPENS = datetime(2026, 6, 13, 9, 0, tzinfo=ZoneInfo("Europe/Vienna"))


@dataclass(frozen=True)
class Invented:
    guests: list[InventedPerson]
    codes: dict[str, str]
    cards: dict[str, str]
    day: SimulatedDay


@lru_cache(maxsize=16)
def invented(people: int = 40, seed: int = 1) -> Invented:
    guests = invent_people(people, seed)
    rng = random.Random(seed)
    taken: set[str] = set()
    holders = [guest.key for guest in guests] + [str(number + 1) for number in range(CARDS)]
    issued = {}
    for holder in holders:
        issued[holder] = new_code("ACDE", taken, rng)
        taken.add(issued[holder])
    codes = {guest.key: issued[guest.key] for guest in guests}
    cards = {card: code for card, code in issued.items() if card not in codes}
    return Invented(guests, codes, cards, simulate_day(guests, codes, cards, seed, OPENS))
