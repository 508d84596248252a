"""Who comes to which camera, in what order, and whom an accident strikes. No clock yet."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass, replace

from onsite.demo.accidents import AT_THE_SET, AccidentKind, share
from onsite.demo.people import InventedPerson, invent_walk_in


@dataclass(frozen=True, slots=True)
class Visit:
    """Somebody's time before a camera. `struck` is the accident of this visit, if any."""

    guest: InventedPerson
    struck: AccidentKind | None = None
    walk_in: bool = False
    outfit: int = 0
    holds_card: bool = False

    @property
    def plain(self) -> bool:
        return self.struck is None and not self.walk_in and self.outfit == 0


@dataclass(frozen=True, slots=True)
class VisitPlan:
    """The queue of every camera, and those who do not stand in one."""

    queues: tuple[tuple[Visit, ...], ...]
    never_came: tuple[InventedPerson, ...]
    never_shot: tuple[InventedPerson, ...]


def plan_visits(guests: Sequence[InventedPerson], cameras: int, rng: random.Random) -> VisitPlan:
    """Deals people to cameras and accidents to people.

    Accidents at the set strike every other visit of a queue at most, so that each stands between two plain
    visits and shows by itself what the rules make of it.
    """
    people = len(guests)
    missing = share(people, least=2, per_hundred=3.0)
    out = rng.sample(range(people), missing + share(people))
    never_came = tuple(guests[i] for i in out[:missing])
    never_shot = tuple(guests[i] for i in out[missing:])
    coming = [guest for i, guest in enumerate(guests) if i not in set(out)]
    taken = {(guest.name, guest.group) for guest in guests}
    walk_ins = [invent_walk_in(i + 1, rng, taken) for i in range(share(people))]
    visits = _with_walk_ins([Visit(guest) for guest in _by_arrival(coming, rng)], walk_ins, rng)
    dealt = _deal_accidents([visits[i::cameras] for i in range(cameras)], share(people), rng)
    queues = [_second_looks(_hand_out_cards(queue, rng), rng) for queue in dealt]
    return VisitPlan(tuple(tuple(queue) for queue in queues), never_came, never_shot)


def _by_arrival(guests: list[InventedPerson], rng: random.Random) -> list[InventedPerson]:
    """By their slot, some minutes early or late; those without one at any time."""
    minutes = {guest.key: _minutes(guest.slot) for guest in guests if guest.slot}
    span = (min(minutes.values()), max(minutes.values())) if minutes else (0, 0)
    wanted = {g.key: minutes.get(g.key, rng.uniform(*span)) + rng.gauss(0, 4) for g in guests}
    return sorted(guests, key=lambda guest: wanted[guest.key])


def _minutes(slot: str) -> int:
    hours, minutes = slot.split(":")
    return int(hours) * 60 + int(minutes)


def _with_walk_ins(visits: list[Visit], walk_ins: list[InventedPerson], rng: random.Random) -> list[Visit]:
    for guest in walk_ins:
        place = rng.randint(len(visits) // 4, len(visits))
        visits.insert(place, Visit(guest, walk_in=True, holds_card=True))
    return visits


def _deal_accidents(queues: list[list[Visit]], times: int, rng: random.Random) -> list[list[Visit]]:
    places = [(q, i) for q, queue in enumerate(queues) for i in range(1, len(queue), 2) if queue[i].plain]
    rng.shuffle(places)
    for kind in AT_THE_SET * times:
        fitting = [
            (q, i) for q, i in places if kind is not AccidentKind.COMES_BACK or i < len(queues[q]) // 2
        ]
        if not fitting:
            continue
        q, i = fitting[0]
        places.remove((q, i))
        queues[q][i] = replace(queues[q][i], struck=kind)
    return queues


def _hand_out_cards(queue: list[Visit], rng: random.Random) -> list[Visit]:
    """One plain visitor in ten has no ticket and gets a deck card, and so do an early and a late one."""
    plain = [i for i, visit in enumerate(queue) if visit.plain]
    quarter = len(plain) // 4
    holders = {i for i in plain if rng.random() < 0.1}
    if quarter:
        holders |= {rng.choice(plain[:quarter]), rng.choice(plain[-quarter:])}
    return [replace(visit, holds_card=True) if i in holders else visit for i, visit in enumerate(queue)]


def _second_looks(queue: list[Visit], rng: random.Random) -> list[Visit]:
    """Puts the second visit of everybody who comes back at least two others later."""
    for first in [visit for visit in queue if visit.struck is AccidentKind.COMES_BACK]:
        earliest = queue.index(first) + 3
        queue.insert(rng.randint(min(earliest, len(queue)), len(queue)), Visit(first.guest, outfit=1))
    return queue
