"""The plan of the invented day: who comes to which camera and when, and which accidents happen."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from enum import StrEnum

from onsite.simulator.invented_people import InventedPerson, invent_walk_in


@dataclass(frozen=True, slots=True)
class Visit:
    """A person's session at a camera. `struck` is the accident of this visit, if any."""

    guest: InventedPerson
    struck: AccidentKind | None = None
    walk_in: bool = False
    outfit: int = 0
    holds_card: bool = False

    @property
    def plain(self) -> bool:
        """Whether nothing about the visit is unusual."""
        return self.struck is None and not self.walk_in and self.outfit == 0


@dataclass(frozen=True, slots=True)
class VisitPlan:
    """The queue of every camera, and the people who were not photographed."""

    queues: tuple[tuple[Visit, ...], ...]
    never_came: tuple[InventedPerson, ...]
    never_shot: tuple[InventedPerson, ...]


def plan_visits(guests: Sequence[InventedPerson], cameras: int, rng: random.Random) -> VisitPlan:
    """Distribute people over cameras and accidents over people.

    At most every other visit of a queue has an accident at the set, so that each stands between two plain
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
    """Guests in order of arrival: by slot, some minutes early or late; without a slot at a random time."""
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
    """Give a deck card to one plain visitor in ten, and to one early and one late visitor in any case."""
    plain = [i for i, visit in enumerate(queue) if visit.plain]
    quarter = len(plain) // 4
    holders = {i for i in plain if rng.random() < 0.1}
    if quarter:
        holders |= {rng.choice(plain[:quarter]), rng.choice(plain[-quarter:])}
    return [replace(visit, holds_card=True) if i in holders else visit for i, visit in enumerate(queue)]


def _second_looks(queue: list[Visit], rng: random.Random) -> list[Visit]:
    """Insert the second visit of everybody who comes back, at least two visits after the first."""
    for first in [visit for visit in queue if visit.struck is AccidentKind.COMES_BACK]:
        earliest = queue.index(first) + 3
        queue.insert(rng.randint(min(earliest, len(queue)), len(queue)), Visit(first.guest, outfit=1))
    return queue


class AccidentKind(StrEnum):
    """An accident. The value is its description, in which `{who}` and `{where}` are filled in."""

    FORGOTTEN = "{who} stepped in without a slate ({where})"
    UNREADABLE = "{who} held up a slate that does not read ({where})"
    TAIL = "{who} held the slate upside down after the portraits, and none before ({where})"
    TWICE = "the slate of {who} was shot twice in a row ({where})"
    COMES_BACK = "{who} came back later in other clothes ({where})"
    BADGE = "{who} wears a badge with a QR code of something else ({where})"
    OTHER_SHOOT = "{who} held up a ticket of another shoot ({where})"
    WALK_IN = "{who} was on no list and came in with a deck card ({where})"
    CARD_AGAIN = "one deck card served several people: {who}"
    TESTS = "test shots of the empty backdrop and a grey card ({where})"
    ROLLOVER = "the file counter rolled over from 9999 to 0001 ({where})"
    NEVER_CAME = "{who} never arrived"
    NEVER_SHOT = "{who} arrived and was never photographed"


AT_THE_SET = (
    AccidentKind.COMES_BACK,
    AccidentKind.FORGOTTEN,
    AccidentKind.UNREADABLE,
    AccidentKind.TAIL,
    AccidentKind.TWICE,
    AccidentKind.BADGE,
    AccidentKind.OTHER_SHOOT,
)
"""Accidents of one person's visit; the first are assigned first where a day is too short for all."""


@dataclass(frozen=True, slots=True)
class Accident:
    """An accident that happened: its kind, the key of its person, or None, and a line to print."""

    kind: AccidentKind
    person: str | None
    description: str


def accident(kind: AccidentKind, person: str | None = None, who: str = "", where: str = "") -> Accident:
    """An accident with `who` and `where` filled into its description."""
    parts = kind.value.replace("{where}", where)
    return Accident(kind, person, parts.replace("{who}", who))


def share(people: int, least: int = 1, per_hundred: float = 2.0) -> int:
    """How often an accident happens among `people`: about 2 in 100, at least `least`, at most 1 in 10."""
    return min(max(least, round(people * per_hundred / 100)), people // 10)


CLOSING = timedelta(hours=9)
"""Time from opening to closing; people who are left come on the next day."""

TESTS_EVERY = 60
"""Visits between two light checks; a shorter queue has one in its middle."""


@dataclass(frozen=True, slots=True)
class StagedVisit:
    """A visit with the times of its frames; `visit` is None for test shots. Times are UTC, in order."""

    visit: Visit | None
    slates: tuple[datetime, ...]
    portraits: tuple[datetime, ...]

    @property
    def start(self) -> datetime:
        return min(self.slates + self.portraits)

    @property
    def end(self) -> datetime:
        return max(self.slates + self.portraits)


def timetable(queue: tuple[Visit, ...], opens: datetime, rng: random.Random) -> list[StagedVisit]:
    """The times of every frame of a camera's queue from `opens` on.

    Test shots come before, in the middle and regularly. About two minutes a person: the slate, then portraits
    some seconds apart, then a change of people (common practice, no source).
    """
    return list(_stage(queue, opens, rng))


def _stage(queue: tuple[Visit, ...], opens: datetime, rng: random.Random) -> Iterator[StagedVisit]:
    opens = opens.astimezone(UTC)
    tests = _Clock(opens - timedelta(minutes=4), rng)
    yield StagedVisit(None, (), tuple(tests.after(5, 20) for _ in range(3)))
    clock = _Clock(opens + timedelta(seconds=rng.uniform(0, 30)), rng)
    for i, visit in enumerate(queue):
        if i and (i % TESTS_EVERY == 0 or (len(queue) < TESTS_EVERY and i == len(queue) // 2)):
            yield StagedVisit(None, (), tuple(clock.after(12, 25) for _ in range(2)))
        if clock.now - opens > CLOSING:
            opens += timedelta(days=1)
            clock.now = opens
        clock.after(20, 60)
        yield _visit(visit, clock, rng)


def _visit(visit: Visit, clock: _Clock, rng: random.Random) -> StagedVisit:
    number = rng.randint(4, 8) if visit.outfit == 0 else rng.randint(3, 5)
    before = {AccidentKind.FORGOTTEN: 0, AccidentKind.TAIL: 0, AccidentKind.TWICE: 2}.get(
        visit.struck or AccidentKind.TESTS, 1
    )
    slates = [clock.after(3, 6) for _ in range(before)]
    portraits = tuple(clock.after(4, 14) for _ in range(number))
    if visit.struck is AccidentKind.TAIL:
        slates.append(clock.after(4, 8))
    return StagedVisit(visit, tuple(slates), portraits)


class _Clock:
    """A clock that moves on by random times, in hundredths of a second as cameras write them."""

    def __init__(self, now: datetime, rng: random.Random) -> None:
        self.now = now.astimezone(UTC).replace(microsecond=0)
        self._rng = rng

    def after(self, least: float, most: float) -> datetime:
        """Move on by between `least` and `most` seconds and return the time."""
        self.now += timedelta(milliseconds=10 * round(100 * self._rng.uniform(least, most)))
        return self.now
