"""What each part of matching buys: wrong names and loose frames on simulated days without it.

Run: python -m tests.bench.bench_ablation [--days 10] [--people 300] [--seed 0] [--only PART,…] [--jobs 2]

For each part that is switched off, on each kind of day: wrong names more in 100,000 frames / loose frames
more of 100, than with all parts. A part that buys less than 1 and less than 0.2 on every kind of day goes.

16 days a row of 150 people, seeds from 1,750,000 on (three minutes on two cores). Of 17,124 frames of clean
days, which are not shown, 0.03 of 100 were loose; 23 more without looks, 0.5 without pauses, 0.4 without
lengths of runs.

                                             all     uniform       clock       cards      faults        real
    frames                                 19919       19919       19957       19957       18283       17652
    all parts                            0 17.59     0 19.08     0 10.30     0 12.41     0 10.49    23 12.07
    looks                              +0 +30.60   +0 +29.11   +0 +33.37   +0 +33.57   +0 +35.05  -23 +65.60
    the look of a slate's frame        +0 +19.57   +0 +19.32   +0 +20.64   +0 +20.87   +0 +22.63  -23 +56.64
    looks learnt from the day           +0 +0.19    +0 +0.49    +0 +0.12    +0 +0.15    +0 +0.12    +0 +1.03
    colours that nobody else wears      +0 +0.12    +0 +0.07    +0 +0.08    +0 +0.08    +0 +0.19   +23 -0.36
    long steps count for less           +0 -0.01    +0 -0.07    +0 +0.01    +0 -0.03    +0 +0.06    +6 +0.14
    the run farthest apart              +0 +0.01    +0 +0.00    +0 +0.02    +0 +0.02    +0 +0.09    +6 -0.15
    pauses                              +0 +2.16   +0 +16.86    +0 +2.27    +0 +2.31    +0 +2.60   -11 +5.77
    interruptions                       +0 +0.11    +0 +0.24    +0 +0.11    +0 +0.12    +0 +0.08    +0 +0.23
    quick changes                       +0 -0.01    +0 -0.04    +0 -0.01    +0 -0.02    +0 -0.03    +0 +0.00
    lengths of runs                     +0 +1.14    +0 +7.93    +0 +1.11    +0 +1.08    +0 +1.35    +0 +8.74
    who arrived without a slate         +0 -0.03    +0 -0.48    +0 -0.07    +0 -0.05    +0 -0.05    +6 -1.52
    runs without a slate                +0 -0.01    +0 +0.88    +0 +0.00    +0 +0.03    +0 +0.00    +0 +0.20
    few come at once                    +0 +0.81    +0 +8.11    +0 +0.67    +0 +0.69    +0 +1.03    +0 +6.19
    stand-ins                          +45 -0.27    +5 -0.73   +35 -0.30   +30 -0.27   +38 -0.25  +153 -1.63
    who came earlier looks alike        +0 +0.24    +0 +0.35    +0 +0.23    +0 +0.23    +0 +0.25    +0 +1.22
    an empty backdrop                   +0 +0.00    +0 +0.00    +0 +0.00    +0 +0.00    +0 +0.00    +0 +0.00
    interleaved parts                 +141 -0.90  +136 -0.78  +140 -0.90  +311 -1.01  +224 -0.92    +0 +0.00
    upside down: the nearer side        +0 +0.75    +0 +0.72    +0 +0.78    +0 +0.78    +0 +0.90    +0 +1.44
    heads and tails of two              +0 +1.88    +0 +1.83    +0 +2.28    +0 +1.94    +0 +2.02    +0 +3.99
    clock slates                        +0 +0.00    +0 +0.00    +0 +7.26   +0 +19.99    +0 +6.62    +0 +0.00
    slates shown, for clocks            +0 +1.95    +0 +1.93    +0 +0.00    +0 +0.50    +0 +0.00    +0 +0.00
    clocks that were set                +0 +0.00    +0 +0.00    +0 +0.00    +0 +0.00    +0 +0.20    +0 +0.00
    clocks doubted after breaks         +0 +0.00    +0 +0.00    +0 +0.00   +75 -0.08  +372 -0.42    +0 +0.00
    drift                               +0 +0.00    +0 +0.00    +0 +0.00    +0 +0.00    +0 +0.00    +0 +0.00
    cards recorded late                 +0 -0.03    +0 -0.03    +0 -0.07  +236 -1.03    +0 -0.16    +0 +0.00
    the counter's order                 +0 +2.38    +0 +2.31    +0 +3.23    +0 +3.16    +0 +6.34    +0 +0.00
    empty runs                          +0 +0.00    +0 +0.00    +0 +0.00    +0 +0.00    +0 +0.00    +0 +0.00
    warnings                            +0 +0.00    +0 +0.00    +0 +0.00    +0 +0.00    +0 +0.00    +0 +0.00

Gone, as they bought less on all these days: a misfired flash told by the backdrop, somebody else's slate
shown at the station meanwhile, whether the slate's person has another one, an empty frame as a pause, breaks
within which nobody can have changed places, the order of arrival as the prior of each run, the tail slate of
one of several others, clocks of interleaved parts, contradicting clock slates and slates shown, a missing
memory card as the sign of a clock that was set, the time of frames that have none by their counter.
What buys little here and stays guards a case that happens:

    quick changes             without them 28 names more are wrong on 420 other days (seeds from 1,600,000 on)
    the run farthest apart    the same, 6
    an empty backdrop         the same, 15; test_empty_backdrop: the screens offer to set it aside
    long steps                the same, 19
    empty runs, warnings      test_empty_backdrop, test_name_warnings: what the screens say of a run
    drift, clocks that were   test_camera_clocks, test_clock_offset: a week of days, a battery changed
    set, doubted
"""

from __future__ import annotations

import argparse
import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from typing import Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # one process to a core: threads would only wait

import numpy as np

from onsite.matching import (
    camera_clocks,
    change_points,
    clock_offset,
    day_statistics,
    likelihood_ratios,
    looks,
    match_frames,
    name_runs,
    shooting_order,
)
from onsite.matching.day_statistics import DayStatistics
from onsite.matching.likelihood_ratios import LaneLikelihoods
from onsite.matching.looks import DayLooks, LaneLooks
from onsite.matching.match_frames import match
from onsite.matching.name_runs import FrameName, Names
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


def _all_loose(run: Any, *_: Any) -> Names:
    return dict.fromkeys(run.frames, FrameName(run.frames[0], doubt="two people's slates"))


def _as_one(_lane: Any, piece: Any, clock: Any, *_: Any) -> list[Any]:
    return [(piece, clock)]


PARTS: Mapping[str, tuple[Patch, ...]] = {
    "looks": ((DayLooks, "likelihood_ratio", _ones),),
    "the look of a slate's frame": ((LaneLikelihoods, "slate_look", _no_slate_look),),
    "looks learnt from the day": ((looks, "_FEWEST", 10**9),),
    "colours that nobody else wears": ((looks, "_STILL", 1e-5),),
    "long steps count for less": ((looks, "_LONGEST_STEP", 1e9),),
    "the run farthest apart": ((looks, "_unspoilt", np.concatenate),),
    "pauses": ((DayStatistics, "pause_likelihood_ratio", _ones),),
    "interruptions": ((day_statistics, "_INTERRUPTED", 1e-9),),
    "quick changes": ((day_statistics, "SELDOM", 0.0),),
    "lengths of runs": ((DayStatistics, "lengths_likelihood_ratio", _ones),),
    "who arrived without a slate": ((likelihood_ratios, "share_without_slates", gives(0.03)),),
    "runs without a slate": ((likelihood_ratios, "_OPEN", 1.0),),
    "few come at once": ((change_points, "_AT_ONCE", 1.0),),
    "stand-ins": ((change_points, "_stands_in", gives(range(0))),),
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
