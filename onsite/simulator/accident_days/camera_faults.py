"""Bodies: what a camera writes about an exposure, and what goes wrong with clock, counter, card and file."""

from __future__ import annotations

import random
from bisect import bisect_right
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from onsite.core.file_counter import LAST_COUNTER

HOUR, DAY = 3600.0, 86_400.0  # in seconds


@dataclass
class Body:
    """A body and where its files come from. Times are seconds since 1970 UTC.

    `error` is by how much its clock is fast when the day begins, `drift` how much more it gets in a second;
    `jumps` are moments and by how much the clock is set on then. `counts_from` are moments from which it
    counts from a number. `cards` are moments and the folder from which on frames come; frames out of the
    folder `missing` are not there yet.
    """

    number: int
    opens: float
    error: float = 0.0
    drift: float = 0.0
    jumps: list[tuple[float, float]] = field(default_factory=list)
    counts_from: list[tuple[float, int]] = field(default_factory=list)
    subseconds: bool = True
    prefix: str = "IMG_"
    camera: int = 0
    counted: bool = True
    sure: bool = True
    cards: list[tuple[float, str]] = field(default_factory=list)
    missing: str | None = None
    copied_again: float = 0.0
    backdrop: float = 50.0
    struck: list[str] = field(default_factory=list)

    def clock(self, at: float) -> float:
        """What the camera's clock says at a true time."""
        told = (
            at
            + self.error
            + self.drift * (at - self.opens)
            + sum(by for when, by in self.jumps if when <= at)
        )
        return round(told, 2) if self.subseconds else float(int(told))

    def source(self, at: float) -> str:
        place = bisect_right([when for when, _ in self.cards], at)
        return self.cards[place - 1][1] if place else f"card-{self.number}"

    def counters(self, times: Sequence[float]) -> list[int]:
        """The counter of every exposure."""
        found: list[int] = []
        resets = sorted(self.counts_from)
        now = 0
        for at in times:
            now = 1 if now == LAST_COUNTER else now + 1
            while resets and resets[0][0] <= at:
                now = resets.pop(0)[1]
            found.append(now)
        return found


def bodies(number: int, opens: float, rng: random.Random) -> list[Body]:
    """Bodies with nothing wrong: clocks within a minute, counters far from their end."""
    return [
        Body(
            camera + 1,
            opens,
            error=rng.gauss(0, 20),
            counts_from=[(0.0, rng.randint(1, 3000))],
            subseconds=rng.random() < 0.7,
            prefix=f"_{chr(ord('A') + camera)}CM",
            camera=camera + 1,
            backdrop=rng.choice((48.0, 53.0, 62.0, 88.0, 12.0)),
        )
        for camera in range(number)
    ]


Fault = Callable[[Sequence[Body], Body, Sequence[float], random.Random], None]
"""Given all bodies, the one it strikes, and the true times of its exposures."""


def clock_hours(_: Sequence[Body], body: Body, __: Sequence[float], rng: random.Random) -> None:
    """Off by hours: another time zone, summer time never set."""
    body.error += HOUR * rng.choice((-9, -6, -2, -1, 1, 1, 2, 7))


def clock_day(_: Sequence[Body], body: Body, __: Sequence[float], rng: random.Random) -> None:
    """Off by a day, or by very many."""
    body.error += DAY * rng.choice((-1, 1, 1, -365, -4018)) + rng.gauss(0, 600)


def clock_drift(_: Sequence[Body], body: Body, __: Sequence[float], rng: random.Random) -> None:
    """Two seconds a day since it was set, months ago."""
    ahead = rng.choice((-1, 1))
    body.drift += ahead * 2.0 / DAY
    body.error += ahead * 2.0 * rng.uniform(30, 400)


def clock_jump(_: Sequence[Body], body: Body, times: Sequence[float], rng: random.Random) -> None:
    """The battery is changed and the clock starts anew, or is set by hand: back or forward."""
    by = rng.choice((-4018 * DAY, rng.uniform(-3, -0.2) * HOUR, rng.uniform(0.2, 3) * HOUR, 300.0, -40.0))
    body.jumps.append((_moment(times, rng), by))


def summer_time(_: Sequence[Body], body: Body, times: Sequence[float], rng: random.Random) -> None:
    """The clock goes an hour on or back by itself, or somebody sees that it is wrong."""
    body.jumps.append((_moment(times, rng), rng.choice((-HOUR, HOUR))))


def counter_rolls_over(_: Sequence[Body], body: Body, times: Sequence[float], rng: random.Random) -> None:
    """From 9999 to 1 in the middle of the day."""
    body.counts_from = [(0.0, LAST_COUNTER - int(len(times) * rng.uniform(0.1, 0.9)))]


def counter_restarts(_: Sequence[Body], body: Body, times: Sequence[float], rng: random.Random) -> None:
    """A new card, and the camera counts from 1 on each."""
    body.counts_from = [(0.0, 1), (_moment(times, rng), 1)]
    body.cards = [(body.counts_from[-1][0], f"card-{body.number}-new")]


def counter_reset(_: Sequence[Body], body: Body, times: Sequence[float], rng: random.Random) -> None:
    """Set back to some number, once or twice, on the same card."""
    body.counts_from += [
        (_moment(times, rng), rng.choice((1, 1, rng.randint(1, 3000)))) for _ in range(rng.randint(1, 2))
    ]


def second_card(_: Sequence[Body], body: Body, times: Sequence[float], rng: random.Random) -> None:
    """A second card from the middle of the day, found later and read in from another folder."""
    body.cards = [(_moment(times, rng), f"card-{body.number}-second")]


def card_missing(_: Sequence[Body], body: Body, times: Sequence[float], rng: random.Random) -> None:
    """A card for some of the day, perhaps from the middle of somebody's run, that nobody has found yet."""
    start, end = sorted(rng.sample(range(len(times)), 2)) if len(times) > 1 else (0, 0)
    body.missing = f"card-{body.number}-lost"
    body.cards = [(times[start], body.missing), (times[end], f"card-{body.number}-third")]


def read_twice(_: Sequence[Body], body: Body, times: Sequence[float], rng: random.Random) -> None:
    """A card read in half, then again whole from another folder. The frames read first keep their folder."""
    body.cards = [(_moment(times, rng), f"copy-of-card-{body.number}")]


def copied_again(_: Sequence[Body], body: Body, __: Sequence[float], rng: random.Random) -> None:
    """The card read in, and then copies of half or all of it that a viewer has written anew when turning them
    upright: other bytes, so they are frames of their own."""
    body.copied_again = rng.choice((0.5, 1.0))


def renamed(_: Sequence[Body], body: Body, __: Sequence[float], ___: random.Random) -> None:
    """The tether program has named the files: no counters."""
    body.counted = False


def same_model(everybody: Sequence[Body], _: Body, __: Sequence[float], rng: random.Random) -> None:
    """Two bodies of one model that write no serial number, with equal file names: one camera as far as files
    tell, from two folders."""
    if len(everybody) < 2:
        return
    first, other = rng.sample(list(everybody), 2)
    other.camera, other.prefix = first.camera, first.prefix
    other.counts_from = [(0.0, first.counts_from[0][1])]
    first.sure = other.sure = False


CLOCKS = (clock_hours, clock_day, clock_drift, clock_jump, summer_time)
COUNTERS = (counter_rolls_over, counter_restarts, counter_reset, renamed)
CARDS = (second_card, card_missing, read_twice, copied_again)
FAULTS: Mapping[str, Fault] = {fault.__name__: fault for fault in (*CLOCKS, *COUNTERS, *CARDS, same_model)}
"""By name."""

KIN: Mapping[str, str] = {
    fault.__name__: kin
    for kin, faults in (("clock", CLOCKS), ("counter", COUNTERS), ("card", CARDS))
    for fault in faults
}
"""What an accident is of: one body suffers one of a kind."""


def _moment(times: Sequence[float], rng: random.Random) -> float:
    """Just before some exposure in the middle of the day, in one case of three in the middle of a run."""
    if len(times) < 10:
        return times[-1] if times else 0.0
    place = rng.randrange(len(times) // 5, len(times) * 4 // 5)
    if rng.random() < 2 / 3:  # changed while nobody stands there
        near = range(place, min(place + 15, len(times)))
        place = max(near, key=lambda i: times[i] - times[i - 1])
    return times[place] - 0.3


def evident(body: Body, ident: int, at: float, counter: int) -> dict[str, Any]:
    """What a frame's file tells: these fields of a `FrameEvidence`."""
    return {
        "camera": body.camera,
        "name": f"{body.prefix}{counter:04d}" if body.counted else f"portrait-{ident}",
        "taken": body.clock(at),
        "counter": counter if body.counted else None,
        "source": body.source(at),
        "sure_body": body.sure,
    }
