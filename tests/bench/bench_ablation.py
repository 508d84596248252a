"""What each part of matching buys: wrong names and loose frames on simulated days without it.

Run: python -m tests.bench.bench_ablation [--days 10] [--people 300] [--seed 0] [--only PART,…] [--jobs 2]

For each part that is switched off, on each kind of day: wrong names more in 100,000 frames / loose frames
more of 100, than with all parts. A part that buys less than 1 and less than 0.2 on every kind of day goes.

16 days a row of 150 people, seeds from 1,750,000 on, which nothing was tuned on. Of 17,124 frames of clean
days, which are not shown, 0.04 of 100 were loose; 19 more without looks, 0.3 without lengths of runs:

                                          all    uniform      clock      cards     faults       real
    frames                              19919      19919      19957      19957      18283      17652
    all parts                         0 17.63    0 19.65    0 10.42    0 12.33    0 10.66   23 11.90
    looks                           +0 +26.84  +0 +24.82  +0 +28.76  +0 +28.40 +27 +30.72 -23 +60.65
    the look of a slate's frame     +0 +16.23  +0 +14.92  +0 +16.99  +0 +16.81  +0 +19.88 -23 +46.91
    looks learnt from the day        +0 +0.21   +0 +0.50   +0 +0.24   +0 +0.20   +0 +0.25   +0 +0.42
    colours that nobody else wears   +0 +0.16   +0 -0.33   +0 +0.12   +0 +0.15   +0 +0.27  +11 -0.33
    long steps count for less        +0 -0.04   +0 -0.15   +0 -0.01   +0 -0.03   +0 +0.10   +0 +0.23
    the run farthest apart           +0 -0.02   +0 -0.10   +0 +0.02   +0 +0.02   +0 +0.02   +0 +0.02
    pauses                           +0 +1.63  +45 +8.47   +0 +1.80   +0 +1.80   +0 +1.96   -6 +2.74
    interruptions                    +0 +0.15   +0 +0.13   +0 +0.18   +0 +0.19   +0 +0.07   +0 +0.31
    quick changes                    +0 -0.06   +0 -0.14   +0 -0.06   +0 -0.07   +0 -0.07   +0 +0.00
    lengths of runs                  +0 +0.93   +0 +5.89   +0 +0.99   +0 +0.99   +0 +0.97   +0 +7.20
    the order of arrival             +0 -0.07   +0 -0.35   +0 -0.04   +0 -0.07   +0 -0.21   +6 -0.79
    runs without a slate             +0 +0.10   +0 +1.67   +0 +0.10   +0 +0.10   +0 +0.10   +0 +0.50
    few come at once                 +0 +0.79   +0 +6.83   +0 +0.94   +0 +0.90   +0 +1.53   +0 +5.38
    left and back                    +0 -0.04   +0 -0.64   +0 -0.08   +0 -0.08   +0 -0.14   +0 -0.25
    stand-ins                       +60 -0.23  +10 -0.82  +60 -0.26  +60 -0.28  +55 -0.19 +136 -1.40
    somebody after nobody            +0 +0.00   +0 +0.00   +0 +0.00   +0 +0.00   +0 +0.00   +0 -0.03
    who came earlier looks alike     +0 +0.18   +0 +0.26   +0 +0.20   +0 +0.17   +0 +0.14   +0 +1.23
    slates shown meanwhile           +0 -0.03   +0 -0.05   +0 -0.10   +0 -0.12   +0 -0.27   +0 +0.04
    an empty backdrop                +0 +0.00   +0 +0.00   +0 +0.00   +0 +0.00   +0 +0.00   +0 +0.00
    misfired flashes                 +0 -0.04   +0 +0.04   +0 -0.04   +0 -0.03   +0 -0.05   +0 -0.14
    interleaved parts              +166 -0.97 +136 -0.96 +165 -0.97 +311 -1.01 +224 -1.00   +0 +0.00
    mixed parts, their clocks        +0 +0.00   +0 +0.00   +0 +0.00   +0 -0.12   +0 +0.00   +0 +0.00
    another's tail slate claims      +0 -0.03   +0 -0.03   +0 -0.03   +0 -0.03   +0 +0.01   +0 +0.00
    upside down: the nearer side     +0 +1.36   +0 +1.25   +0 +1.50   +0 +1.42   +0 +1.70   +0 +3.03
    heads and tails of two           +0 +1.96   +0 +1.83   +0 +2.30   +0 +2.02   +0 +2.07   +0 +4.11
    clock slates                     +0 +0.00   +0 +0.00   +0 +7.15  +0 +20.13   +0 +6.79   +0 +0.00
    slates shown, for clocks         +0 +1.89   +0 +1.85   +0 +0.00   +0 +0.50   +0 +0.00   +0 +0.22
    clocks that were set             +0 +0.00   +0 +0.00   +0 +0.00   +0 +0.00   +0 +0.70   +0 +0.00
    clocks doubted after breaks      +0 +0.00   +0 +0.00   +0 +0.00  +75 -0.08   +0 +0.00   +0 +0.00
    drift                            +0 +0.00   +0 +0.00   +0 +0.00   +0 +0.00   +0 +0.00   +0 +0.00
    cards recorded late              +0 -0.03   +0 -0.03   +0 -0.07 +236 -0.79   +0 -0.09   +0 +0.00
    the counter's order              +0 +2.41   +0 +2.39   +0 +3.28   +0 +3.21   +0 +7.21   +0 +0.00
    empty runs                       +0 +0.00   +0 +0.00   +0 +0.00   +0 +0.00   +0 +0.00   +0 +0.00
    warnings                         +0 +0.00   +0 +0.00   +0 +0.00   +0 +0.00   +0 +0.00   +0 +0.00

Where people without a slate are expected by the order of arrival buys nothing on days with every accident. On
days on which everybody has a slate it does: with the same share everywhere, a long pause takes the name
from frames that look the same (`test_change_points`), and 9 of 361 frames of a small clean day were loose.
What buys little here and stays guards a case that happens, in `tests/matching`:

    an empty backdrop         test_empty_backdrop: the screens offer to set it aside; test_flash_misfires: the
    somebody after nobody     light is tested, and somebody dressed alike steps in without a slate
    empty runs, warnings      test_empty_backdrop, test_name_warnings: what the screens say of a run
    quick changes             test_flash_misfires: somebody steps in at once on a day without quick changes
    the run farthest apart    test_flash_misfires, test_day_looks: somebody else held a slate, on a small day
    slates shown meanwhile    test_change_points: nobody stopped for long, only the station tells
    left and back             test_change_points: the slate was shot, its person left and came back later
    another's tail slate      test_name_runs: one of several others' claims frames, too
    drift, clocks that were   test_camera_clocks, test_clock_offset: a week of days, a battery changed
    set, doubted, mixed up
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from typing import Any

import numpy as np

from onsite.matching import (
    camera_clocks,
    change_points,
    clock_offset,
    day_looks,
    day_statistics,
    likelihood_ratios,
    match_frames,
    name_runs,
    shooting_order,
)
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
    "who arrived without a slate": ((likelihood_ratios, "share_without_slates", gives(0.03)),),
    "runs without a slate": ((likelihood_ratios, "_OPEN", 1.0),),
    "few come at once": ((change_points, "_AT_ONCE", 1.0),),
    "stand-ins": ((change_points, "_STANDS_IN", 1e-12),),
    "who came earlier looks alike": ((change_points, "_unlike_before", gives(1.0)),),
    "an empty backdrop": ((LaneLooks, "nobody", gives(False)),),
    "interleaved parts": ((likelihood_ratios, "interleaved_places", gives(frozenset())),),
    "upside down: the nearer side": ((name_runs, "_CLEARLY", 1e9),),
    "heads and tails of two": ((name_runs, "_divided", _all_loose),),
    "clock slates": ((camera_clocks, "clock_slate_time", gives(None)),),
    "slates shown, for clocks": ((clock_offset, "_by_slates_shown", gives(None)),),
    "clocks that were set": ((camera_clocks, "_changes", gives([])),),
    "clocks doubted after breaks": ((camera_clocks, "_doubted", _as_one),),
    "drift": ((clock_offset, "_drift", gives(0.0)),),
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
