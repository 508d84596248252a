"""When every frame of the invented day is taken: a queue of visits on a clock."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from onsite.demo.accidents import AccidentKind
from onsite.demo.plan import Visit

CLOSING = timedelta(hours=9)
"""The set closes so long after it opened and opens again the next day."""

TESTS_EVERY = 60
"""Visits between two light checks; a shorter queue has one in its middle."""


@dataclass(frozen=True, slots=True)
class Staged:
    """A visit on the clock, or, with `visit` None, test shots. All times are UTC, in order."""

    visit: Visit | None
    slates: tuple[datetime, ...]
    portraits: tuple[datetime, ...]

    @property
    def start(self) -> datetime:
        return min(self.slates + self.portraits)

    @property
    def end(self) -> datetime:
        return max(self.slates + self.portraits)


def timetable(queue: tuple[Visit, ...], opens: datetime, rng: random.Random) -> list[Staged]:
    """The queue of one camera from `opens` on, test shots before, in the middle and every so often.

    About two minutes a person: the slate, then portraits some seconds apart, then a change of people. These
    figures are common practice, no source.
    """
    return list(_stage(queue, opens, rng))


def _stage(queue: tuple[Visit, ...], opens: datetime, rng: random.Random) -> Iterator[Staged]:
    opens = opens.astimezone(UTC)
    tests = _Clock(opens - timedelta(minutes=4), rng)
    yield Staged(None, (), tuple(tests.after(5, 20) for _ in range(3)))
    clock = _Clock(opens + timedelta(seconds=rng.uniform(0, 30)), rng)
    for i, visit in enumerate(queue):
        if i and (i % TESTS_EVERY == 0 or (len(queue) < TESTS_EVERY and i == len(queue) // 2)):
            yield Staged(None, (), tuple(clock.after(12, 25) for _ in range(2)))
        if clock.now - opens > CLOSING:
            opens += timedelta(days=1)
            clock.now = opens
        clock.after(20, 60)
        yield _visit(visit, clock, rng)


def _visit(visit: Visit, clock: _Clock, rng: random.Random) -> Staged:
    number = rng.randint(4, 8) if visit.outfit == 0 else rng.randint(3, 5)
    before = {AccidentKind.FORGOTTEN: 0, AccidentKind.TAIL: 0, AccidentKind.TWICE: 2}.get(
        visit.struck or AccidentKind.TESTS, 1
    )
    slates = [clock.after(3, 6) for _ in range(before)]
    portraits = tuple(clock.after(4, 14) for _ in range(number))
    if visit.struck is AccidentKind.TAIL:
        slates.append(clock.after(4, 8))
    return Staged(visit, tuple(slates), portraits)


class _Clock:
    """Goes forward by a random time; cameras stamp hundredths of a second."""

    def __init__(self, now: datetime, rng: random.Random) -> None:
        self.now = now.astimezone(UTC).replace(microsecond=0)
        self._rng = rng

    def after(self, least: float, most: float) -> datetime:
        """Moves on by between `least` and `most` seconds."""
        self.now += timedelta(milliseconds=10 * round(100 * self._rng.uniform(least, most)))
        return self.now
