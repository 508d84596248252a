"""What each part of matching buys: wrong names and loose frames on simulated days without it.

Run: python -m tests.bench.bench_ablation [--days 10] [--people 300] [--seed 0] [--only PART,…] [--jobs 2]

For each part that is switched off, on each kind of day: wrong names more in 100,000 frames / loose frames
more of 100, than with all parts. A part that buys less than 1 and less than 0.2 on every kind of day goes.

On a day on which a part never answers otherwise than what stands in its place, it is not matched again.

The whole table, days of 150 people with seeds from 990000 on, which nothing was tuned on (67 days of `all`
and `faults`, 16 to 23 of the others; u.: in uniform). It was made before two of its rows went and slates that
do not read came to end runs. Several parts buy nothing here by themselves. Without a dozen of them together,
536 such days had 196 names wrong for 146: they stand in for one another. Drift, empty runs and warnings
change no name on one day. 89,343 frames of `all` and `faults` by the rules since gave the same picture:

                                         all     uniform       cards      faults        real    real, u.
    frames                            80,070      19,669      28,317      82,275      25,541      25,541
    all parts: wrong, loose          5 17.29     0 24.59    24 10.79      0 9.74     0 12.13     0 28.66
    looks                         +11 +52.32  +31 +45.67  -64 +56.69  +26 +57.55   +0 +73.69   +0 +57.15
    the look of a slate's frame    +0 +23.80   +0 +22.54  -85 +27.03   +0 +30.86   +0 +66.03   +0 +52.26
    pauses                          +2 +0.98   +0 +11.52    +0 +1.32   +10 +1.80    +0 +2.24   +0 +11.68
    lengths of runs                 +0 +0.43   +10 +3.23    +0 +0.42    +0 +0.40   +27 +2.66   +0 +15.62
    the day's own rates             +0 +0.07    +0 +0.46    +0 +0.06    +0 +0.06    +0 +0.13    +0 -1.73
    slates shown meanwhile          +0 -0.10    +0 -0.13    +0 -0.31    +0 -0.39   +27 -0.25    +0 -0.25
    missing counters                +0 -0.02    +0 -0.13    +0 -0.01    +0 -0.03    +0 -0.04    +0 -0.20
    an empty backdrop               +0 +0.00    +0 +0.00    +0 +0.00    +0 +0.00    +0 +0.00    +0 +0.00
    misfired flashes                +0 +0.03    +0 +0.03    +0 -0.02    +0 +0.05   +27 +0.01    +0 +0.61
    stand-ins weighed together      +0 +0.12    +0 +1.28    +0 +0.04    +0 +0.22    +0 +2.02   +0 +14.42
    stand-ins, their prior         +37 -0.26   +20 -1.27   +49 -0.23   +43 -0.24   +31 -2.29   +27 -8.61
    who was there stays            +45 -0.08   +56 -0.66   +42 -0.04   +60 -0.17  +176 -0.35  +497 -4.17
    a later change                  +0 +0.05    +0 +0.15    +0 +0.08    +0 +0.06    +0 +0.51    +0 +0.31
    another's tail slate claims     +0 +0.00    +0 +0.00    +0 +0.00    +0 +0.00    +0 +0.00    +0 +0.00
    left and back                   +0 -0.09    +0 -0.47    +0 -0.06    +0 -0.37    +0 -0.14    +0 -1.35
    upside down: the nearer side    +0 +1.75    +0 +1.61    +0 +1.83    +0 +1.97    +0 +3.19    +0 +2.59
    interleaved parts               +0 +0.00    +0 +0.00    +0 +0.00  +106 -0.18    +0 +0.00    +0 +0.00
    clock slates                    +0 +0.00    +0 +0.00  -85 +17.67    +0 +8.02    +0 +0.00    +0 +0.00
    slates shown, for clocks        +0 +6.64    +0 +8.75    +0 +1.58    +0 +0.71    +0 +0.16    +0 +0.26
    clocks that were set            +0 +0.06    +0 +0.31    +0 +0.55    +0 +0.82    +0 +0.00    +0 +0.00
    clocks doubted by waits*        +0 +0.00    +0 +0.00   +88 -0.89   +21 -0.04    +0 +0.00    +0 +0.00
    drift                           +0 +0.00    +0 +0.00    +0 +0.00    +0 +0.00    +0 +0.00    +0 +0.00
    cards recorded late             +0 -0.08    +0 -0.09  +233 -0.85    +0 -0.21    +0 +0.00    +0 +0.00
    empty runs                      +0 +0.00    +0 +0.00    +0 +0.00    +0 +0.00    +0 +0.00    +0 +0.00
    heads and tails of two          +0 +1.89    +0 +1.65    +0 +2.23    +0 +2.20    +0 +4.31    +0 +3.16
    the right slate at once         +0 +0.17    +0 +0.08    +0 +0.17    +0 +0.13    +0 +0.00    +0 +0.00
    slates to other people          +0 +0.01    +0 +2.41    +0 +0.02    +0 +0.17    +0 +0.09    +0 +1.52
    runs of two left out            +0 -0.04    +0 -0.19    +0 -0.03    +0 -0.06    +0 -0.09    +0 -1.78
    measured up to a pause          +9 -0.24    +0 -0.16    +0 -0.19    +0 -0.30   +59 -1.22    +0 -3.00
    interruptions                   +0 +0.12    +0 +0.37    +0 +0.17    +0 +0.18    +0 +0.15    +4 +0.79
    quick changes                   +0 -0.06    +0 -0.53    +0 -0.06    +0 -0.04    +0 +0.00    +0 +0.00
    mixed parts, their clocks       +0 +0.00    +0 +0.00    +0 +0.00   +66 -0.08    +0 +0.00    +0 +0.00
    the counter's order             +0 +2.69    +0 +0.04    +0 +1.22   +26 +1.92    +0 +0.00    +0 +0.00
    warnings                        +0 +0.00    +0 +0.00    +0 +0.00    +0 +0.00    +0 +0.00    +0 +0.00

    * By how long people seemed to have waited. Any long break leaves a clock open now: of 599,390 frames of
      `cards`, `clock` and `faults` as many were wrong, and 0.02 to 0.06 of 100 fewer loose.

**One by one.** What the table shows to buy little was taken out by itself, on 536 days with seeds from 990000
on (631,473 frames), and where that left a doubt on 800 more from 976000 on and on 200 with every accident
twice as often (922,181 and 232,716 frames). Wrong names more, and loose frames more of 100 in the rows of
`bench_days`, from and to:

                                          536 days        800 days   twice  loose
    out:
    a gap of the counter is a sign              +0              +0          -0.23 -0.01
    a slate that does not read may be a badge   +0                          -0.07 +0.15
      (within 7 s of a portrait it is one: with that, 0.1 fewer are loose, and 0 more wrong)
    shown meanwhile: within 20 s, now 10        +0                          -0.18 -0.07
    a clock was rather set forward              +0                          +0.00 +0.00
    looks tell where others are 1.4 as far      +0                          +0.00 +0.00
    stays:
    runs of two left out                        -8              +4     +11  -2.06 -0.01
    another's tail slate claims                 +0             +20          -0.01 +0.00
    left and back                               +5             +11          -1.12 -0.00
    slates shown meanwhile                      +7              +6          -0.39 -0.10
    quick changes                               +0              +5          -0.33 +0.00
    the right slate at once                     +0              +0          +0.00 +0.19
    misfired flashes                            +7                          +0.03 +0.36
    the day's own rates, 0.05 instead           +8                          -3.05 +0.61
    the day's own rates, 0.03 instead          +43                          -7.71 -0.03
    interruptions                               +1                          +0.12 +0.65
    a later change                              +0                          +0.05 +0.45
    only the first of two may be a stand-in    +15                          -3.12 -0.05
    who looks alike is as near, too            +15                          -2.73 -0.04
    looks and changes elsewhere up to 50        +3                          -0.24 -0.02
    a card on two occasions                   +128                          -0.23 +0.00
    a slate soon after a card changed hands    +26                          -0.54 -0.05
    arrivals on time for nine in ten            +0                          +0.00 +0.00
      (without, 546 of 15,991 people less were suggested first)

With all that went, 147 names were wrong for 146 on the 536 days, and 171 for 171 on the 800; loose frames
fell in each row. `bench_days` has the days that none of this was tuned on. What buys little here and
stays guards a case that happens, in `tests/matching`:

    an empty backdrop         test_empty_backdrop: the screens offer to set it aside; test_flash_misfires: the
                              light is tested, and somebody dressed alike steps in without a slate
    empty runs, warnings      test_empty_backdrop, test_name_warnings: what the screens say of a run
    quick changes             test_flash_misfires: somebody steps in at once on a day without quick changes
    slates shown meanwhile    test_change_points: nobody stopped for long, only the station tells
    the right slate at once   test_change_points; without it 0.6 more frames of 100 are loose where badges
                              are worn that do not read
    turned at once            test_name_runs: a slate turned the right way at once is no tail slate
    drift                     test_camera_clocks, test_clock_offset: a week of days
    how long the last run is  test_change_points: the next person has just stepped in, more frames will follow
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import replace
from typing import Any

import numpy as np

from onsite.matching import (
    camera_clocks,
    change_points,
    clock_offset,
    day_looks,
    day_statistics,
    forgotten_slates,
    likelihood_ratios,
    match_frames,
    name_runs,
    shooting_order,
)
from onsite.matching.change_points import _Search, _ways
from onsite.matching.day_looks import DayLooks
from onsite.matching.day_statistics import DayStatistics
from onsite.matching.likelihood_ratios import LaneLikelihoods
from onsite.matching.looks import LaneLooks
from onsite.matching.match_frames import match
from onsite.matching.name_runs import NamedRun
from onsite.simulator.accident_days.score_simulated_match import Score, score
from onsite.simulator.accident_days.simulate import BY_BODY, REAL_SET, TOGETHER, simulate
from onsite.simulator.accident_days.simulated_door import CARDS_AGAIN, TIED_LATE

Patch = tuple[Any, str, Any]
"""A module or class, the name of a rule in it, and what stands there instead."""


def gives(value: Any) -> Callable[..., Any]:
    """A rule that always gives the same."""
    return lambda *_, **__: value


def changes(place: int) -> Callable[..., Any]:
    """A rule that gives one of its arguments unchanged."""
    return lambda *given, **__: given[place]


def _ones(_: Any, values: Any, *__: Any, **___: Any) -> Any:
    return np.ones(np.shape(values))


def _no_slate_look(lane: LaneLikelihoods, _: Any) -> Any:
    return np.zeros(lane.coordinates.shape[1])


def _by_no_order(lanes: Any, slates: Any, evidence: Any) -> Any:
    return forgotten_slates.forgotten_slates(lanes, slates, replace(evidence, arrived={}))


def _all_loose(run: Any, *_: Any) -> list[Any]:
    return [NamedRun(run.frames, doubt="two people's slates")]


def _as_one(_lane: Any, piece: Any, clock: Any, *_: Any) -> list[Any]:
    return [(piece, clock)]


PARTS: Mapping[str, tuple[Patch, ...]] = {
    "looks": ((DayLooks, "likelihood_ratio", _ones),),
    "the look of a slate's frame": ((LaneLikelihoods, "slate_look", _no_slate_look),),
    "looks learnt from the day": ((day_looks, "_FEWEST", 10**9),),
    "colours that nobody else wears": ((day_looks, "_STILL", 1e-5),),
    "long steps count for less": ((day_looks, "_LONGEST_STEP", 1e9),),
    "the run farthest apart": ((day_looks, "_unspoilt", np.concatenate),),
    "pauses": ((DayStatistics, "pause_likelihood_ratio", _ones),),
    "interruptions": ((day_statistics, "_INTERRUPTED", 1e-9),),
    "quick changes": ((day_statistics, "_POSSIBLE", 0.0),),
    "lengths of runs": ((DayStatistics, "lengths_likelihood_ratio", _ones),),
    "the order of arrival": ((likelihood_ratios, "forgotten_slates", _by_no_order),),
    "runs without a slate": ((forgotten_slates, "_OPEN", 1.0),),
    "few come at once": ((change_points, "_AT_ONCE", 1.0),),
    "left and back": ((likelihood_ratios, "_occasions", lambda lanes, _: [{} for _ in lanes]),),
    "stand-ins": ((change_points, "_ways", lambda length: _ways(length)[:length]),),
    "somebody after nobody": (
        (_Search, "came_after_nobody", property(lambda self: [False] * len(self.open))),
    ),
    "who came earlier looks alike": ((change_points, "_unlike_before", gives(1.0)),),
    "slates shown meanwhile": ((likelihood_ratios, "_calls", gives(([], []))),),
    "an empty backdrop": ((LaneLooks, "nobody", gives(False)),),
    "misfired flashes": ((likelihood_ratios, "flash_misfires", gives(frozenset())),),
    "interleaved parts": ((likelihood_ratios, "interleaved_places", gives(frozenset())),),
    "mixed parts, their clocks": ((match_frames, "_trusted", changes(0)),),
    "another's tail slate claims": ((name_runs, "_is_anothers_tail", gives(False)),),
    "upside down: the nearer side": ((name_runs, "_nearer", gives(None)),),
    "heads and tails of two": ((name_runs, "_divided", _all_loose),),
    "clock slates": ((camera_clocks, "clock_slate_time", gives(None)),),
    "slates shown, for clocks": ((clock_offset, "_by_slates_shown", gives(None)),),
    "clocks that were set": ((camera_clocks, "_changes", gives([])),),
    "clocks doubted after breaks": ((camera_clocks, "_doubted", _as_one),),
    "drift": ((clock_offset, "_drift", gives((0.0, 0.0))),),
    "cards recorded late": ((match_frames, "doubt_late_records", changes(1)),),
    "the counter's order": ((shooting_order, "_chains", gives([])),),
    "empty runs": ((match_frames, "_with_nobody", changes(0)),),
    "warnings": ((match_frames, "_with_warnings", changes(0)),),
}

DAYS: Mapping[str, Mapping[str, Any]] = {
    "clean": {},
    "all": {"accidents": TOGETHER},
    "uniform": {"accidents": TOGETHER, "uniform": True},
    "clock": {"accidents": TOGETHER, "clock_slates": 1},
    "cards": {"accidents": {**TOGETHER, CARDS_AGAIN: 1.0, TIED_LATE: 0.01}, "clock_slates": 1},
    "faults": {"accidents": {**TOGETHER, **dict.fromkeys(BY_BODY, 0.5)}, "clock_slates": 2},
    "real": {"accidents": REAL_SET, "still": False},
}
"""Kinds of days: no accident; all of them; all in one gown; with a clock slate a camera; cards used again and
recorded late; every second camera with each kind of fault; sets not still."""


@contextmanager
def without(patches: Sequence[Patch]) -> Iterator[None]:
    """Matching without a part."""
    kept = [(place, name, getattr(place, name, None)) for place, name, _ in patches]
    for place, name, instead in patches:
        setattr(place, name, instead)
    try:
        yield
    finally:
        for place, name, was in kept:
            delattr(place, name) if was is None else setattr(place, name, was)


def play(job: tuple[str, int, int, tuple[str, ...]]) -> dict[str, Score]:
    """The scores of one day: with all parts (under the empty name) and without each."""
    kind, seed, people, parts = job
    day = simulate(seed, people, **DAYS[kind])
    found = {}
    for part in ("", *parts):
        with without(PARTS[part] if part else ()):
            found[part] = score(day, match(day.evidence))
    return found


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--days", type=int, default=10, help="of each kind")
    parser.add_argument("--people", type=int, default=300)
    parser.add_argument("--seed", type=int, default=0, help="of the first day")
    parser.add_argument("--only", default="", help="parts, with commas between")
    parser.add_argument("--jobs", type=int, default=2)
    asked = parser.parse_args()
    parts = tuple(asked.only.split(",")) if asked.only else tuple(PARTS)
    seeds = range(asked.seed, asked.seed + asked.days)
    jobs = [(kind, seed, asked.people, parts) for kind in DAYS for seed in seeds]
    totals = {kind: dict.fromkeys(("", *parts), Score()) for kind in DAYS}
    with ProcessPoolExecutor(asked.jobs) as pool:
        for job, found in zip(jobs, pool.map(play, jobs), strict=True):
            for part, result in found.items():
                totals[job[0]][part] += result
    print(f"{'':<32}" + "".join(f"{kind:>12}" for kind in DAYS))
    print(f"{'frames':<32}" + "".join(f"{totals[kind][''].frames:>12}" for kind in DAYS))
    for part in ("", *parts):
        cells = "".join(f"{_cell(totals[kind], part):>12}" for kind in DAYS)
        print(f"{part or 'all parts':<32}{cells}")


def _cell(scores: Mapping[str, Score], part: str) -> str:
    """Wrong names in 100,000 and loose frames of 100; without a part what these are more."""
    found, whole = scores[part], scores[""]
    frames = max(whole.frames, 1)
    if not part:
        return f"{found.wrong * 1e5 / frames:.0f} {found.loose * 100 / frames:.2f}"
    wrong, loose = found.wrong - whole.wrong, found.loose - whole.loose
    return f"{wrong * 1e5 / frames:+.0f} {loose * 100 / frames:+.2f}"


if __name__ == "__main__":
    main()
