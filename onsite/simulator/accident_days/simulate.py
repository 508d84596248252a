"""A simulated day: evidence as ingest and the door would make it, and the truth apart.

    day = simulate(seed=3, accidents={"forgotten": 0.05, "clock_hours": 1.0})
    score(day, match(day.evidence))

The same arguments make the same day. `drawn_day.draw_day` draws what `plan_day` planned.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from onsite.core.codes import new_shoot_mark
from onsite.matching.evidence import Evidence, FrameEvidence, SlateShown
from onsite.simulator.accident_days.accidents_on_set import AT_THE_SET
from onsite.simulator.accident_days.camera_faults import FAULTS, KIN, Body, bodies
from onsite.simulator.accident_days.simulated_door import (
    AT_THE_DOOR,
    CARDS_AGAIN,
    TIED_LATE,
    Door,
    door,
    showings,
    struck,
)
from onsite.simulator.accident_days.simulated_frames import DayTruth, Studio, Truth, with_clock_slates
from onsite.simulator.accident_days.simulated_queues import Draft, Staged, draft, stage
from onsite.simulator.accident_days.simulated_set_conditions import vary_conditions

MIDNIGHT = "over_midnight"
"""The day begins in the evening."""
EVERY = (*AT_THE_SET, *AT_THE_DOOR, *FAULTS, MIDNIGHT)

BY_BODY = frozenset(FAULTS)
"""Their rates are by body: 1 strikes each."""
BY_DAY = frozenset((CARDS_AGAIN, MIDNIGHT))
"""Their rates are by day. Those of all others are by person."""

ALONE = {name: 1.0 if name in BY_BODY | BY_DAY else 0.05 for name in EVERY}
"""The rate of an accident looked at by itself: 5 in 100 people; what can happen to a camera happens."""
TOGETHER = {
    name: 0.15 if name in BY_BODY else 0.4 if name in BY_DAY else 0.01 for name in EVERY if name != TIED_LATE
}
"""Rates of all at once: each strikes 1 in 100 people, 15 in 100 bodies, or 4 in 10 days. So about one person
in four has an accident, and few have two. Cards tied late are left out: then the records themselves err."""

REAL_SET: Mapping[str, float] = {
    "forgotten": 0.04,
    "unreadable": 0.02,
    "second_look": 0.03,
    "tail": 0.02,
    "upside_down": 0.02,
    "twice": 0.02,
    "quick_change": 0.02,
    "two_people": 0.02,
    "long_pause": 0.03,
    "light_test": 0.03,
    "helper": 0.02,
    "flash_failed": 0.02,
    "deleted": 0.02,
}
"""Rates of accidents on a set that is not still, by person: about one in four has one."""


OPENS = 1_781_334_000.0
"""09:00 in Vienna on 13 June 2026."""
EVENING = 11 * 3600.0
"""Seconds later, on days that go over midnight."""
CAMERAS = {1: 2, 2: 5, 3: 2, 4: 1}
"""How many cameras, and on how many of ten days."""


@dataclass(frozen=True)
class PlannedDay:
    """What happened on a day, from which evidence or pictures are made."""

    seed: int
    mark: str
    people: int
    uniform: bool
    lanes: Sequence[Sequence[Staged]]
    """The shots of each camera in order."""
    bodies: Sequence[Body]
    """The camera bodies, in the same order."""
    door: Door
    shown: Sequence[SlateShown]


@dataclass(frozen=True)
class Simulated:
    """A day: what is known of it, and what is true."""

    seed: int
    evidence: Evidence
    truth: DayTruth


def plan_day(
    seed: int,
    people: int = 300,
    accidents: Mapping[str, float] | None = None,
    uniform: bool = False,
    cameras: int | None = None,
    still: bool = True,
) -> PlannedDay:
    """A day of so many people on the roster, on 1 to 4 cameras. `accidents` gives the rates of what happens:
    shares of the people, of the bodies (`BY_BODY`), or of days (`BY_DAY`). Unless it is `still`, framing,
    light and what people wear and hold change from frame to frame. Raises KeyError for an unknown one."""
    rates = {name: rate for name, rate in (accidents or {}).items() if rate > 0}
    if unknown := sorted(set(rates) - set(EVERY)):
        raise KeyError(f"no such accident: {', '.join(unknown)}")
    rng = random.Random(f"day/{seed}")
    number = cameras or rng.choices(list(CAMERAS), list(CAMERAS.values()))[0]
    if cameras is None and {"both_cameras", "same_model"} & rates.keys():
        number = max(number, 2)
    opens = OPENS + (EVENING if rng.random() < rates.get(MIDNIGHT, 0.0) else 0.0)
    again = rng.random() < rates.get(CARDS_AGAIN, 0.0) or TIED_LATE in rates
    mark = new_shoot_mark(random.Random(f"mark/{seed}"))
    day = draft(seed, people, number)
    _strike(day, rates)
    if not still:
        vary_conditions(day)
    staged = stage(day, opens, rng)
    desk = door(day, mark, *_ends(staged), rates, again)
    everybody = bodies(number, opens, random.Random(f"bodies/{seed}"))
    _fail(everybody, staged, rates, random.Random(f"faults/{seed}"))
    shown = showings(staged, random.Random(f"shown/{seed}"))
    return PlannedDay(seed, mark, people, uniform, staged, everybody, desk, shown)


def simulate(
    seed: int,
    people: int = 300,
    accidents: Mapping[str, float] | None = None,
    uniform: bool = False,
    cameras: int | None = None,
    still: bool = True,
    clock_slates: int = 0,
) -> Simulated:
    """The same day as evidence in numbers, as ingest and the door would make it; see `plan_day`.

    Each camera photographs so many clock slates: one in the morning, a second in the evening.
    """
    plan = plan_day(seed, people, accidents, uniform, cameras, still)
    frames: list[FrameEvidence] = []
    truth: dict[int, Truth] = {}
    order: list[list[int]] = []
    for body, lane in zip(plan.bodies, plan.lanes, strict=True):
        made, facts = Studio(seed, uniform, plan.door).develop(body, lane)
        if clock_slates and lane:
            made, facts = with_clock_slates(body, lane, made, facts, plan.mark, clock_slates)
        frames += made
        truth |= facts
        order.append([frame.id for frame in made])
    evidence = Evidence(
        shoot=plan.mark,
        frames=frames,
        codes={code: person for person, code in plan.door.codes.items()},
        arrived=plan.door.arrived,
        cards=plan.door.cards,
        slates_shown=plan.shown,
    )
    return Simulated(seed, evidence, DayTruth(truth, order))


def _strike(day: Draft, rates: Mapping[str, float]) -> None:
    """Accidents strike people of the roster; those who do not come are spared."""
    for name, strike in AT_THE_SET.items():
        rng = random.Random(f"{name}/{day.seed}")
        for person in sorted(struck(day.people, rates.get(name, 0.0), rng)):
            turns = [turn for turn in day.turns_of(person) if turn.portraits]
            if turns:
                turn = rng.choice(turns)
                turn.struck.append(name)
                strike(day, turn, rng)


def _ends(staged: Sequence[Sequence[Staged]]) -> tuple[dict[int, float], dict[int, float]]:
    """The times of everybody's first and last shots."""
    first: dict[int, float] = {}
    last: dict[int, float] = {}
    for shot in sorted((shot for lane in staged for shot in lane), key=lambda shot: shot.at):
        first.setdefault(shot.turn.person, shot.at)
        last[shot.turn.person] = shot.at
    return first, last


def _fail(
    everybody: Sequence[Body],
    staged: Sequence[Sequence[Staged]],
    rates: Mapping[str, float],
    rng: random.Random,
) -> None:
    """Strikes bodies with faults, each with one of a kind at most."""
    for name in sorted(KIN, key=lambda _: rng.random()):
        for body, lane in zip(everybody, staged, strict=True):
            spared = KIN[name] in {KIN[done] for done in body.struck}
            if rng.random() < rates.get(name, 0.0) and not spared and lane:
                body.struck.append(name)
                FAULTS[name](everybody, body, [shot.at for shot in lane], rng)
    if rng.random() < rates.get("same_model", 0.0):
        FAULTS["same_model"](everybody, everybody[0], (), rng)
