"""The turns of all cameras on the clock."""

from __future__ import annotations

import random
from dataclasses import dataclass

from onsite.simulator.accident_days.simulated_queues import Draft
from onsite.simulator.accident_days.simulated_turns import Shot, Turn


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
