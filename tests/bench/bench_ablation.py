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
from collections.abc import Callable, Generator, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import replace
from typing import Any

from onsite.matching import (
    camera_clocks,
    change_points,
    clock_offset,
    colour_distance,
    day_statistics,
    likelihood_ratios,
    match_frames,
    name_runs,
    shooting_order,
    slate_status,
)
from onsite.matching.change_points import _SegmentSearch
from onsite.matching.colour_distance import ColourStatistics, colour_statistics
from onsite.matching.day_statistics import DayStatistics
from onsite.matching.empirical_distribution import EmpiricalDistribution
from onsite.matching.likelihood_ratios import OFTEN, LaneLikelihoods
from onsite.matching.match_frames import match
from onsite.simulator.accident_days.accident_rates import BY_BODY, REAL_SET, TOGETHER
from onsite.simulator.accident_days.score_simulated_match import Score, score
from onsite.simulator.accident_days.simulate import Simulated, simulate
from onsite.simulator.accident_days.simulated_door import CARDS_AGAIN, TIED_LATE

Patch = tuple[Any, str, Any]
"""A module or class, the name of a rule in it, and what stands there instead."""


def gives(value: Any) -> Callable[..., Any]:
    """A rule that always gives the same."""
    return lambda *_, **__: value


def changes(place: int) -> Callable[..., Any]:
    """A rule that gives one of its arguments unchanged."""
    return lambda *given, **__: given[place]


def _statistics(**instead: Any) -> Callable[..., DayStatistics]:
    def made(*given: Any) -> DayStatistics:
        return replace(day_statistics.day_statistics(*given), **instead)

    return made


def _colours(change: Callable[[ColourStatistics], ColourStatistics]) -> Callable[..., ColourStatistics]:
    return lambda *given: change(colour_statistics(*given))


def _as_they_are(distances: Any, _: Any) -> EmpiricalDistribution:
    return EmpiricalDistribution(distances)


def _all_loose(lane: Any, run: Any, *_: Any) -> list[Any]:
    return name_runs._unnamed(lane, run, "two people's slates", ())


def _own_clocks(lane: Any, _: Any) -> Any:
    return lane.clocks


def _one_order(frames: Any, *_: Any) -> tuple[Any, Any]:
    return frames, []


def _one_epoch(frames: Any, *_: Any) -> list[Any]:
    return [frames]


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
    "far too many frames": ((match_frames, "day_statistics", _statistics(many=10**9)),),
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
    "heads and tails of two": ((name_runs, "_divided", _all_loose),),
    "the right slate at once": ((change_points, "_AT_ONCE", 1e9),),
    "two frames surer than one": (
        (day_statistics, "colour_statistics", _colours(lambda c: replace(c, frame_pair=c.single_frame))),
    ),
    "neighbours in the queue": (
        (day_statistics, "colour_statistics", _colours(lambda c: replace(c, near=EmpiricalDistribution(())))),
    ),
    "slates to other people": (
        (day_statistics, "colour_statistics", _colours(lambda c: replace(c, others_held=c.others))),
    ),
    "runs of two left out": ((colour_distance, "_within_run", _as_they_are),),
    "measured up to a pause": ((day_statistics, "_calm", changes(1)),),
    "interruptions": ((day_statistics, "_INTERRUPTED", 0.0),),
    "quick changes": ((day_statistics, "_POSSIBLE", 0.0),),
    "mixed parts, their clocks": ((match_frames, "_trusted", _own_clocks),),
    "the counter's order": ((shooting_order, "_settle", _one_order),),
    "counters begun again": ((shooting_order, "_epochs", _one_epoch),),
    "warnings": ((match_frames, "with_warnings", changes(3)),),
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


class Watch:
    """Rules that note whether their answer ever differs from what the ablation puts in their place."""

    def __init__(self) -> None:
        self.speaks: set[str] = set()

    def patches(self, parts: Sequence[str]) -> Iterator[Patch]:
        watched: dict[tuple[Any, str], list[tuple[str, Any]]] = {}
        for part in parts:
            for place, name, instead in PARTS[part]:
                if callable(instead):
                    watched.setdefault((place, name), []).append((part, instead))
                else:
                    self.speaks.add(part)
        for (place, name), others in watched.items():
            yield place, name, self._watched(getattr(place, name), others)

    def _watched(self, rule: Callable[..., Any], others: Sequence[tuple[str, Any]]) -> Callable[..., Any]:
        def asked(*given: Any, **more: Any) -> Any:
            answer = rule(*given, **more)
            answer = list(answer) if isinstance(answer, Generator) else answer
            for part, instead in others:
                if part not in self.speaks and not _is_same(answer, instead(*given, **more)):
                    self.speaks.add(part)
            return answer

        return asked


def _is_same(answer: Any, other: Any) -> bool:
    both_sequences = isinstance(answer, list | tuple) and isinstance(other, list | tuple)
    return list(answer) == list(other) if both_sequences else bool(answer == other)


def play(job: tuple[str, int, int, tuple[str, ...]]) -> dict[str, Score]:
    """The scores of one day: with all parts (under the empty name) and without each. A day on which a part
    says nothing is not matched again without it."""
    kind, seed, people, parts = job
    day = simulate(seed, people, **DAYS[kind])
    watch = Watch()
    with without(list(watch.patches(parts))):
        whole = score(day, match(day.evidence))
    found = dict.fromkeys(("", *parts), whole)
    for part in parts:
        if part in watch.speaks:
            found[part] = _without(day, part)
    return found


def _without(day: Simulated, part: str) -> Score:
    with without(PARTS[part]):
        return score(day, match(day.evidence))


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
