"""What each part of matching buys: wrong names and loose frames on simulated days without it.

Run: python -m tests.bench.bench_ablation [--days 10] [--people 300] [--seed 0] [--only PART,…] [--jobs 2]

For each part that is switched off, on each kind of day: wrong names more in 100,000 frames / loose frames
more of 100, than with all parts. A part that buys less than 1 and less than 0.2 on every kind of day goes.

`--days 6 --people 150 --seed 820001` printed this (7,700 frames a kind; clean days left out). Parts that
printed +0.0 / +0.00 everywhere, or less: slates shown meanwhile, far too many frames, an empty backdrop,
missing counters, frames not looked at, misfired flashes, another's tail slate, a slate turned at once,
interleaved parts, clocks that were set or doubted, either clock, drift, cards recorded late, a camera on its
side, empty runs, warnings. Of these, misfired
flashes and slates turned at once buy 1.7 of 100 each where they strike 20 in 100 people; the others are rare
on these days, say something to people, or hold a promise that a test names.

                                             all           uniform             clock              real
    all parts                         0.0 / 22.05       0.0 / 24.34       0.0 / 10.14       0.0 / 15.16
    looks                           +0.0 / +48.14     +0.0 / +46.36     +0.0 / +58.83     +0.0 / +70.91
    the look of a slate's frame     +0.0 / +17.69     +0.0 / +17.73     +0.0 / +24.08     +0.0 / +64.81
    pauses                           +0.0 / +0.30      +0.0 / +8.07      +0.0 / +0.54      +0.0 / +2.81
    lengths of runs                  +0.0 / +0.29    +104.7 / +1.58      +0.0 / +0.48      +0.0 / +3.90
    the day's own rates              +0.0 / -0.01      +0.0 / +0.24      +0.0 / -0.01      +0.0 / -0.09
    stand-ins weighed together       +0.0 / +0.48      +0.0 / +0.62      +0.0 / +0.41      +0.0 / +2.34
    stand-ins, their prior          +52.3 / -0.35     +65.4 / -1.40     +52.3 / -0.39     +45.0 / -4.47
    who was there stays             +78.5 / -0.04    +301.0 / -0.85     +65.3 / -0.03    +195.2 / -0.57
    a later change                   +0.0 / +0.00      +0.0 / +0.16      +0.0 / +0.00      +0.0 / +0.48
    left and back                    +0.0 / -0.29    +104.7 / -0.55      +0.0 / -0.29      +0.0 / -0.15
    upside down: the nearer side     +0.0 / +1.70      +0.0 / +1.70      +0.0 / +1.78      +0.0 / +3.38
    monotone chains                  +0.0 / +0.00      +0.0 / +0.00      +0.0 / +2.68      +0.0 / +0.00
    clock slates                     +0.0 / +0.00      +0.0 / +0.00     +0.0 / +11.88      +0.0 / +0.00
    slates shown, for clocks         +0.0 / +0.10      +0.0 / +0.10      +0.0 / -0.05      +0.0 / +0.32

Not among the parts, since they buy nothing there: the look against the only side of an upside-down slate, and
people without frames shared out among loose runs (72.1 of 100 right first without that, 68.9 with it).
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import replace
from typing import Any

from onsite.matching import (
    camera_clocks,
    change_points,
    clock_offset,
    likelihood_ratios,
    match_frames,
    name_runs,
    shooting_order,
    slate_status,
)
from onsite.matching.change_points import _SegmentSearch
from onsite.matching.day_statistics import DayStatistics, day_statistics
from onsite.matching.likelihood_ratios import OFTEN, LaneLikelihoods
from onsite.matching.match_frames import match
from onsite.simulator.accident_days.accident_rates import REAL_SET, TOGETHER
from onsite.simulator.accident_days.score_simulated_match import Score, score
from onsite.simulator.accident_days.simulate import simulate

Patch = tuple[Any, str, Any]
"""A module or class, the name of a rule in it, and what stands there instead."""


def gives(value: Any) -> Callable[..., Any]:
    """A rule that always gives the same."""
    return lambda *_, **__: value


def changes(place: int) -> Callable[..., Any]:
    """A rule that gives one of its arguments unchanged."""
    return lambda *given, **__: given[place]


def _without_most(*given: Any) -> DayStatistics:
    return replace(day_statistics(*given), many=10**9)


def _as_one(_lane: Any, piece: Any, *_: Any) -> list[Any]:
    return [piece]


PARTS: Mapping[str, tuple[Patch, ...]] = {
    "looks": (
        (LaneLikelihoods, "colour_likelihood_ratio", gives(1.0)),
        (LaneLikelihoods, "slate_likelihood_ratio", gives(1.0)),
    ),
    "the look of a slate's frame": ((LaneLikelihoods, "slate_likelihood_ratio", gives(1.0)),),
    "pauses": ((LaneLikelihoods, "pause_likelihood_ratio", gives(1.0)),),
    "lengths of runs": ((DayStatistics, "lengths_likelihood_ratio", gives(1.0)),),
    "the day's own rates": ((name_runs, "_often", gives((OFTEN, OFTEN))),),
    "slates shown meanwhile": ((name_runs, "_meanwhile", gives([])),),
    "far too many frames": ((match_frames, "day_statistics", _without_most),),
    "missing counters": ((LaneLikelihoods, "missing", gives(False)),),
    "frames not looked at": ((_SegmentSearch, "_unseen", gives(0.0)),),
    "an empty backdrop": ((LaneLikelihoods, "nobody", gives(False)),),
    "misfired flashes": ((match_frames, "flash_misfires", gives(frozenset())),),
    "stand-ins weighed together": ((_SegmentSearch, "_with_last", gives(None)),),
    "stand-ins, their prior": ((change_points, "_SUBSTITUTION_PRIOR", 0.0),),
    "who was there stays": ((change_points, "_STAYS", 0.0),),
    "a later change": ((_SegmentSearch, "_later", gives(1.0)),),
    "another's tail slate follows": ((change_points, "_DIVIDED", 0.0),),
    "another's tail slate claims": ((name_runs, "_contested", changes(3)),),
    "left and back": ((match_frames, "_again", gives(frozenset())),),
    "upside down: the nearer side": ((name_runs, "_nearer", gives(None)),),
    "upside down: turned at once": ((name_runs, "_same_upright", gives(False)),),
    "interleaved parts": ((likelihood_ratios, "interleaved_places", gives(frozenset())),),
    "monotone chains": ((shooting_order, "order_by_chains", gives(None)),),
    "clock slates": ((camera_clocks, "clock_slate_time", gives(None)),),
    "slates shown, for clocks": ((clock_offset, "_by_slates_shown", gives(None)),),
    "clocks that were set": ((camera_clocks, "_best_cut", gives(None)),),
    "clocks doubted by waits": ((camera_clocks, "_doubted", _as_one),),
    "either clock around a break": ((slate_status, "_clocks_around", gives(())),),
    "drift": ((clock_offset, "_drift", gives((0.0, 0.0))),),
    "cards recorded late": ((match_frames, "doubt_double_turns", changes(2)),),
    "a camera on its side": ((slate_status, "_sideways", gives(0)),),
    "empty runs": ((match_frames, "doubt_empty_runs", changes(0)),),
    "warnings": ((match_frames, "with_warnings", changes(3)),),
}

DAYS: Mapping[str, Mapping[str, Any]] = {
    "clean": {},
    "all": {"accidents": TOGETHER},
    "uniform": {"accidents": TOGETHER, "uniform": True},
    "clock": {"accidents": TOGETHER, "clock_slates": 1},
    "real": {"accidents": REAL_SET, "still": False},
}
"""Kinds of days: no accident; all of them; all in one gown; with a clock slate a camera; sets not still."""


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
    found = {"": score(day, match(day.evidence))}
    for part in parts:
        with without(PARTS[part]):
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
    print(f"{'':<30}" + "".join(f"{kind:>18}" for kind in DAYS) + f"{'right first':>13}")
    for part in ("", *parts):
        cells = "".join(f"{_cell(totals[kind], part):>18}" for kind in DAYS)
        first = sum(totals[kind][part].first for kind in DAYS)
        runs = sum(totals[kind][part].loose_runs for kind in DAYS)
        print(f"{part or 'all parts':<30}{cells}{100 * first / max(runs, 1):>13.1f}")


def _cell(scores: Mapping[str, Score], part: str) -> str:
    """Wrong names in 100,000 and loose frames of 100; without a part what these are more."""
    found, whole = scores[part], scores[""]
    frames = max(whole.frames, 1)
    if not part:
        return f"{found.wrong * 1e5 / frames:.1f} / {found.loose * 100 / frames:.2f}"
    wrong, loose = found.wrong - whole.wrong, found.loose - whole.loose
    return f"{wrong * 1e5 / frames:+.1f} / {loose * 100 / frames:+.2f}"


if __name__ == "__main__":
    main()
