"""Who comes to which camera and in what order, before anything goes wrong, and then when."""

from __future__ import annotations

import random
from dataclasses import dataclass

from onsite.simulator.accident_days.simulated_turns import Shot, Turn, turn

NEVER_CAME = 0.03  # of the people on the list. Own choice
NEVER_SHOT = 0.02  # of the people on the list: they went home before their turn. Own choice
GROUPS = range(1, 13)  # people who come together, such as a choir's basses


@dataclass
class Draft:
    """A day in the making: the turns of every camera in order, and `groups` of people who come together.

    `never_shot` arrive and go again. People are numbers from 1.
    """

    seed: int
    people: int
    queues: list[list[Turn]]
    groups: list[list[int]]
    never_shot: list[int]

    def queue_of(self, wanted: Turn) -> list[Turn] | None:
        return next((queue for queue in self.queues if any(queued is wanted for queued in queue)), None)

    def following(self, wanted: Turn) -> Turn | None:
        """The next turn on the same camera."""
        queue = self.queue_of(wanted)
        if queue is None:
            return None
        place = _place(queue, wanted) + 1
        return queue[place] if place < len(queue) else None

    def partner(self, wanted: Turn, rng: random.Random) -> int | None:
        """Somebody else who stands in the same queue nearby."""
        queue = self.queue_of(wanted)
        if queue is None:
            return None
        place = _place(queue, wanted)
        near = [later.person for later in queue[place + 1 : place + 9] if later.person != wanted.person]
        return rng.choice(near) if near else None

    def turns_of(self, person: int) -> list[Turn]:
        return [queued for queue in self.queues for queued in queue if queued.person == person]

    def put(self, new: Turn, beside: Turn, later: int, camera: int | None = None) -> None:
        """Puts a turn into a queue, so many turns `later` than another (0: right before it)."""
        queue = self.queue_of(beside)
        assert queue is not None
        place = _place(queue, beside) + later
        target = queue if camera is None else self.queues[camera]
        target.insert(min(place, len(target)), new)

    def take_out(self, wanted: Turn) -> None:
        queue = self.queue_of(wanted)
        if queue is not None:
            del queue[_place(queue, wanted)]


def _place(queue: list[Turn], wanted: Turn) -> int:
    return next(place for place, queued in enumerate(queue) if queued is wanted)


def draft(seed: int, people: int, cameras: int) -> Draft:
    """Everybody's first turn, dealt to the cameras; some on the roster never come, or never get a turn."""
    rng = random.Random(f"people/{seed}")
    everybody = list(range(1, people + 1))
    rng.shuffle(everybody)
    away = round(NEVER_CAME * people)
    unshot = round(NEVER_SHOT * people)
    never_shot, coming = everybody[away : away + unshot], everybody[away + unshot :]
    groups: list[list[int]] = []
    rest = list(coming)
    while rest:
        size = rng.choice(GROUPS) if rng.random() < 0.5 else 1
        groups.append(rest[:size])
        rest = rest[size:]
    queues: list[list[Turn]] = [[] for _ in range(cameras)]
    for number, person in enumerate(_roughly(coming, rng)):
        camera = number % cameras if rng.random() < 0.8 else rng.randrange(cameras)
        queues[camera].append(turn(person, rng))
    return Draft(seed, people, queues, groups, never_shot)


def _roughly(people: list[int], rng: random.Random) -> list[int]:
    """Turns follow the order of arrival: most stand within a place or two, some let others go first."""
    places = {
        person: place + rng.gauss(0, 1.5) + (rng.uniform(3, 12) if rng.random() < 0.07 else 0)
        for place, person in enumerate(people)
    }
    return sorted(people, key=lambda person: places[person])


@dataclass(frozen=True, slots=True)
class Staged:
    """A shot at its true time, in seconds since 1970 UTC, and its turn, which has a number of its own."""

    at: float
    number: int
    turn: Turn
    shot: Shot


def stage(day: Draft, opens: float, rng: random.Random) -> list[list[Staged]]:
    """For each camera its shots in order, with a lunch break. Nobody is before two cameras at once."""
    clocks = [opens + rng.uniform(0, 120) for _ in day.queues]
    lunch = [opens + rng.uniform(3, 4) * 3600 for _ in day.queues]
    rest = [list(queue) for queue in day.queues]
    staged: list[list[Staged]] = [[] for _ in day.queues]
    busy: dict[int, float] = {}
    number = 0
    while any(rest):
        camera = min((c for c, queue in enumerate(rest) if queue), key=lambda c: clocks[c])
        turn = rest[camera].pop(0)
        now = clocks[camera]
        if now > lunch[camera]:
            now, lunch[camera] = now + rng.uniform(2000, 3600), float("inf")
        for place, shot in enumerate(turn.shots):
            now += shot.after
            if place == 0:
                now = max(now, busy.get(turn.person, 0.0) + 20.0)
            staged[camera].append(Staged(now, number, turn, shot))
        clocks[camera] = busy[turn.person] = now
        number += 1
    return staged
