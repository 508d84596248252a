"""A simulated day: evidence as ingest and the door would make it, and the truth apart.

    day = simulate(seed=3, accidents={"forgotten": 0.05, "clock_hours": 1.0})
    score(day, match(day.evidence))

The same seed, people, accidents and uniform make the same day.
"""

from __future__ import annotations

import random
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from onsite.matching.evidence import Evidence, FrameEvidence, Shown, Symbol
from onsite.slate.code import new_shoot_mark
from tests.matching.simulated.accidents import AT_THE_SET
from tests.matching.simulated.cameras import FAULTS, KIN, Body, bodies, evident
from tests.matching.simulated.door import AT_THE_DOOR, TIED_LATE, Door, door, showings, struck
from tests.matching.simulated.looks import look, parts_of
from tests.matching.simulated.people import Draft, draft
from tests.matching.simulated.truth import DayTruth, Truth
from tests.matching.simulated.turns import Shot, Turn, What

OPENS = 1_781_334_000.0
"""09:00 in Vienna on 13 June 2026."""
MIDNIGHT = "over_midnight"
"""The day begins in the evening."""
EVERY = (*AT_THE_SET, *AT_THE_DOOR, *FAULTS, MIDNIGHT)
"""All accidents by name."""
BY_BODY = frozenset(FAULTS)
"""Their rates are by body: 1 strikes each."""

ALONE = {name: 1.0 if name in BY_BODY or name == MIDNIGHT else 0.05 for name in EVERY}
"""The rate of an accident looked at by itself: 5 in 100 people; what can happen to a camera happens."""
TOGETHER = {
    name: 0.15 if name in BY_BODY else 0.3 if name == MIDNIGHT else 0.01
    for name in EVERY
    if name != TIED_LATE
}
"""Rates of all at once: each strikes 1 in 100 people or 15 in 100 bodies, so about one person in four has an
accident and few have two. Cards tied late are left out: then the records themselves are wrong."""

LOG_DAYS = 0.4
"""Of days, on which slates shown are logged."""
SHOWN_AND_FORGOTTEN = 0.6
"""Of turns without a slate, on such days, whose slate was shown all the same."""


@dataclass(frozen=True)
class Simulated:
    """A day: what is known of it, and what is true."""

    seed: int
    evidence: Evidence
    truth: DayTruth


@dataclass(frozen=True, slots=True)
class _Staged:
    """A shot at its time, in the turn with that number."""

    at: float
    number: int
    turn: Turn
    shot: Shot


def simulate(
    seed: int,
    people: int = 300,
    accidents: Mapping[str, float] | None = None,
    uniform: bool = False,
    cameras: int | None = None,
) -> Simulated:
    """A day of so many people on the roster, on 1 to 4 cameras. `accidents` gives the rates of what happens:
    shares of the people, or of the bodies (`BY_BODY`). Raises KeyError for an accident that is not known."""
    rates = {name: rate for name, rate in (accidents or {}).items() if rate > 0}
    if unknown := sorted(set(rates) - set(EVERY)):
        raise KeyError(f"no such accident: {', '.join(unknown)}")
    rng = random.Random(f"day/{seed}")
    fewest = 2 if any(rates.get(name, 0) >= 0.05 for name in ("both_cameras", "same_model")) else 1
    number = cameras or max(rng.choices((1, 2, 3, 4), (2, 5, 2, 1))[0], fewest)
    late = rng.random() < rates.get(MIDNIGHT, 0.0)
    opens = OPENS + (11 * 3600.0 if late else 0.0)
    mark = new_shoot_mark(random.Random(f"mark/{seed}"))
    day = draft(seed, people, number)
    _strike(day, rates)
    staged = _stage(day, opens, rng)
    first: dict[int, float] = {}
    last: dict[int, float] = {}
    for one in sorted((one for lane in staged for one in lane), key=lambda one: one.at):
        first.setdefault(one.turn.person, one.at)
        last[one.turn.person] = one.at
    desk = door(day, mark, first, last, rates)
    everybody = bodies(number, opens, random.Random(f"bodies/{seed}"))
    _fail(everybody, staged, rates, random.Random(f"faults/{seed}"))
    frames, truth = _develop(everybody, staged, desk, seed, uniform)
    evidence = Evidence(
        shoot=mark,
        frames=frames,
        people=list(range(1, people + 1)),
        codes={code: person for person, code in desk.codes.items()},
        arrived=desk.arrived,
        cards=desk.cards,
        shown=_shown(everybody, staged, seed),
    )
    return Simulated(seed, evidence, truth)


def _strike(day: Draft, rates: Mapping[str, float]) -> None:
    for name, strike in AT_THE_SET.items():
        rng = random.Random(f"{name}/{day.seed}")
        for person in sorted(struck(day.people, rates.get(name, 0.0), rng)):
            turns = [turn for turn in day.turns_of(person) if turn.portraits]
            if turns:
                turn = rng.choice(turns)
                turn.struck.append(name)
                strike(day, turn, rng)


def _stage(day: Draft, opens: float, rng: random.Random) -> list[list[_Staged]]:
    """The turns of every camera on the clock, with a lunch break. Nobody is before two cameras at once."""
    clocks = [opens + rng.uniform(0, 120) for _ in day.queues]
    lunch = [opens + rng.uniform(3, 4) * 3600 for _ in day.queues]
    rest = [list(queue) for queue in day.queues]
    staged: list[list[_Staged]] = [[] for _ in day.queues]
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
            staged[camera].append(_Staged(now, number, turn, shot))
        clocks[camera] = busy[turn.person] = now
        number += 1
    return staged


def _fail(
    everybody: Sequence[Body],
    staged: Sequence[Sequence[_Staged]],
    rates: Mapping[str, float],
    rng: random.Random,
) -> None:
    """Strikes bodies with faults, each with one of a kind at most."""
    for name, fault in sorted(FAULTS.items(), key=lambda _: rng.random()):
        if name == "same_model":
            continue
        for body, lane in zip(everybody, staged, strict=True):
            kin = {KIN[done] for done in body.struck}
            if rng.random() < rates.get(name, 0.0) and KIN[name] not in kin and lane:
                body.struck.append(name)
                fault(everybody, body, [one.at for one in lane], rng)
    if rng.random() < rates.get("same_model", 0.0):
        FAULTS["same_model"](everybody, everybody[0], (), rng)


def _develop(
    everybody: Sequence[Body],
    staged: Sequence[Sequence[_Staged]],
    desk: Door,
    seed: int,
    uniform: bool,
) -> tuple[list[FrameEvidence], DayTruth]:
    frames: list[FrameEvidence] = []
    truth: dict[int, Truth] = {}
    order: list[list[int]] = []
    for body, lane in zip(everybody, staged, strict=True):
        rng = np.random.default_rng([seed, body.number, 77])
        counters = body.counters([one.at for one in lane])
        kept = [
            (counter, one)
            for counter, one in zip(counters, lane, strict=True)
            if not one.shot.deleted and (body.missing is None or body.source(one.at) != body.missing)
        ]
        with_slate = _with_slate(one for _, one in kept)
        mine: list[int] = []
        for counter, one in kept:
            ident = body.number * 100_000 + len(mine) + 1
            frame = evident(body, ident, one.at, counter, **_seen(one, body, desk, seed, uniform, rng))
            fact = Truth(
                body.number,
                one.number,
                one.at,
                one.shot.what,
                frozenset(one.shot.on),
                one.number not in with_slate or not one.shot.on,
                one.turn.swapped_with,
                (*one.turn.struck, *body.struck),
            )
            frames.append(frame)
            truth[ident] = fact
            mine.append(ident)
        again = int(len(mine) * body.copied_again)
        copies = [
            replace(frame, id=frame.id + 50_000, source=f"turned-{body.number}")
            for frame in frames[len(frames) - len(mine) :][:again]
        ]
        frames += copies
        truth |= {copy.id: truth[copy.id - 50_000] for copy in copies}
        with_copies = {copy.id for copy in copies}
        order.append([i for one in mine for i in (one, one + 50_000) if i == one or i in with_copies])
    return frames, DayTruth(truth, order)


def _with_slate(lane: Iterable[_Staged]) -> set[int]:
    """The numbers of turns with a slate that is here and reads."""
    readable: dict[int, bool] = {}
    found = set()
    for one in lane:
        if id(one.shot) not in readable:
            readable |= {id(shot): True for shot in one.turn.readable()}
        if readable.get(id(one.shot)):
            found.add(one.number)
    return found


def _seen(
    one: _Staged, body: Body, desk: Door, seed: int, uniform: bool, rng: np.random.Generator
) -> dict[str, object]:
    """What looking at a frame's picture gives."""
    shot = one.shot
    if not shot.looked_at:
        return {"seen": False}
    symbols = tuple(
        Symbol(desk.slate_of(slip.of) if slip.of is not None else slip.text, slip.turned)
        for slip in shot.slips
    )
    backdrop = body.backdrop + float(rng.normal(0, 0.6))
    light = 1.0 + 0.03 * float(np.sin((one.at - body.opens) / 5000 + body.number))
    if not shot.lit:
        light, backdrop = light * 0.3, max(backdrop * float(rng.uniform(0.25, 0.5)), 1.0)
    parts = tuple(part for worn in shot.worn for part in parts_of(seed, worn.person, worn.outfit, uniform))
    nobody = not parts or shot.like_backdrop
    seen = bytes(192) if nobody else look(parts, rng, light, shot.what is What.SLATE)
    return {"symbols": symbols, "look": seen, "backdrop": round(backdrop, 1)}


def _shown(everybody: Sequence[Body], staged: Sequence[Sequence[_Staged]], seed: int) -> list[Shown]:
    rng = random.Random(f"shown/{seed}")
    if rng.random() > LOG_DAYS:
        return []
    due: dict[int, tuple[float, int, int]] = {}
    for body, lane in zip(everybody, staged, strict=True):
        for one in lane:
            if one.number not in due:
                held = [slip.of for shot in one.turn.slates for slip in shot.slips if slip.of is not None]
                if held or rng.random() < SHOWN_AND_FORGOTTEN:
                    due[one.number] = (one.at, held[0] if held else one.turn.person, body.number)
    return sorted(showings(list(due.values()), rng), key=lambda showing: (showing.at, showing.person))
