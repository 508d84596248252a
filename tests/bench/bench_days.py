"""How matching does on simulated days: wrong names, loose frames, suggestions, for each accident and for all.

Run: python -m tests.bench.bench_days [--days 20] [--people 300] [--seed 0] [--only NAME] [--uniform]
                                      [--clock-slates N] [--jobs 2] [--show N] [--show-loose N]

One row for a clean day, one for each accident alone (it strikes 5 in 100 people; what can happen to a camera
happens to every camera), one for all together, one for all together in uniform (rates: `TOGETHER`), and two
for sets on which framing, light and clothes change from frame to frame (`bench_real_sets` draws such days).
`--only` takes names of rows, separated by commas. `--uniform` puts everybody in one gown in all rows.
`--show` prints the frames around the first wrong names: the seed, the accidents, and each frame with truth
and verdict; `--show-loose` does the same for loose frames whose run has a slate. Its column `look` is the
colour distance to the frame before (`accident_days/simulated_looks.py` has typical values).

Days have the seeds from `--seed` on, the same for every row.

Measured on 300 people a day, 8 days a row, seeds from 810001 on, which nothing was tuned on. All accidents
together strike 1 in 100 people each, and 15 in 100 cameras and 4 in 10 days for those of clocks, cards and
files, so that about one person in four has one. Without a clock slate, cards that are used again stay loose:

| days | frames | wrong | loose, of 100 | without a slate, of 100 | right one first, of 100 | among three |
| --- | ---: | ---: | ---: | ---: | ---: | ---: |
| clean | 17,168 | 0 | 0.00 | 0 | - | - |
| all at once | 18,252 | 0 | 24.54 | 5.52 | 75 | 82 |
| all at once, in uniform | 18,252 | 0 | 26.92 | 5.52 | 76 | 83 |
| all at once, one clock slate a camera | 18,272 | 0 | 9.57 | 5.52 | 66 | 82 |
| the same, in uniform | 18,272 | 7 | 12.58 | 5.52 | 72 | 85 |
| real sets | 17,718 | 0 | 13.47 | 7.40 | 67 | 88 |
| real sets, in uniform | 17,718 | 7 | 32.61 | 7.40 | 74 | 88 |

What is left wrong is of one kind: within 15 seconds somebody dressed alike takes over without a slate.

The odds below which a name stands (`change_points.SURE`) buy this, on 8 days a row of 300 people, seeds from
810001 on, wrong names / loose frames of 100 (cards are used once; without a slate are 5.5, 5.5 and 7.4):

| odds | all at once | in uniform | real sets |
| ---: | ---: | ---: | ---: |
| 1 in 100 | 0 / 5.5 | 7 / 7.0 | 8 / 11.0 |
| 3 in 1,000 | 0 / 5.9 | 7 / 9.1 | 0 / 13.5 |
| 1 in 1,000 | 0 / 6.3 | 7 / 13.9 | 0 / 18.1 |
| 3 in 10,000 | 0 / 7.5 | 7 / 24.6 | 0 / 27.2 |

**Every part earns its place.** The last change: cards recorded late (`slate_status`), clocks by optimal
partitioning, the shooting order in one pass, and suggestions weighed over all loose runs. Before and after,
60 days of 150 people a row, seeds from 1,600,000 on, which nothing was tuned on. `cards` and `faults` are
kinds of `bench_ablation`. Wrong in sum 88 and 40 of 553,993:

| days | frames | wrong, before | after | loose, before | after | no slate | right one first, before | after |
| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: |
| all at once | 69,483 | 1 | 1 | 16.99 | 16.80 | 7.28 | 1,037 of 1,667 | 1,148 of 1,648 |
| in uniform | 69,483 | 6 | 6 | 20.97 | 20.79 | 7.28 | 1,492 of 2,227 | 1,619 of 2,213 |
| cards | 69,627 | 49 | 1 | 12.28 | 11.76 | 7.27 | 919 of 1,534 | 919 of 1,461 |
| faults | 73,980 | 9 | 9 | 9.50 | 9.11 | 7.38 | 883 of 1,427 | 884 of 1,395 |
| one clock slate a camera | 69,627 | 1 | 1 | 9.74 | 9.55 | 7.27 | 466 of 1,046 | 527 of 1,015 |
| the same, in uniform | 69,627 | 6 | 6 | 14.02 | 13.85 | 7.27 | 960 of 1,639 | 1,028 of 1,612 |
| real sets | 66,083 | 7 | 7 | 11.98 | 11.98 | 6.98 | 1,074 of 1,542 | 1,113 of 1,541 |
| real sets, in uniform | 66,083 | 9 | 9 | 28.72 | 28.72 | 6.98 | 3,018 of 3,824 | 3,163 of 3,823 |

**A plainer search for changes.** One stated prior in place of the day's own rates, values of our own beside
the day's in place of a switch, and without stand-ins weighed apart, later changes, missing counters, misfired
flashes and badges (240 lines and 25 constants less), 67 days a row, seeds from 990000 on, wrong in sum 196
for 146:

| days | wrong: rules | plainer | loose, of 100: rules | plainer |
| --- | ---: | ---: | ---: | ---: |
| all at once | 5 | 6 | 17.29 | 17.51 |
| in uniform | 9 | 12 | 20.93 | 21.25 |
| cards | 114 | 120 | 10.35 | 10.43 |
| faults | 0 | 1 | 9.75 | 9.57 |
| one clock slate a camera | 5 | 6 | 9.03 | 9.12 |
| the same, in uniform | 13 | 20 | 13.11 | 13.30 |
| real sets | 0 | 16 | 12.67 | 12.90 |
| real sets, in uniform | 0 | 15 | 30.99 | 26.38 |

On the 736 days that it was last mended on it had named 153 wrongly for 149. The rules stayed.

**Rules or one sequence model.** A hidden Markov model of each camera (states for the slate's owner, a
stand-in, somebody else, the owner of a coming tail slate; rates by EM, names from the posteriors of the
forward-backward algorithm, standing at 0.999) did this on the same days as the rules:

| days | frames | wrong: rules | model | loose, of 100: rules | model | without a slate |
| --- | ---: | ---: | ---: | ---: | ---: | ---: |
| clean | 17,168 | 0 | 0 | 0.00 | 0.03 | 0 |
| all at once | 18,252 | 0 | 0 | 24.54 | 24.76 | 5.52 |
| the same, cards used once | 18,252 | 0 | 0 | 5.88 | 5.89 | 5.52 |
| in uniform | 18,252 | 0 | 0 | 26.92 | 26.72 | 5.52 |
| the same, cards used once | 18,252 | 7 | 7 | 9.10 | 7.98 | 5.52 |
| every accident twice as often | 17,334 | 0 | 0 | 38.17 | 38.55 | 10.98 |
| one clock slate a camera | 18,272 | 0 | 0 | 9.57 | 9.71 | 5.52 |
| the same, in uniform | 18,272 | 7 | 7 | 12.58 | 11.88 | 5.52 |
| real sets | 17,718 | 0 | 8 | 13.47 | 13.85 | 7.40 |
| real sets, in uniform | 17,718 | 7 | 7 | 32.61 | 24.70 | 7.40 |

All 29 wrong names of the model, and the 21 of the rules, are turns of that one kind. The model leaves fewer
loose where looks tell little, and names one turn more wrongly; its code was as long as the rules' (3,859
lines of the package, and 3,654). The rules stayed.
"""

from __future__ import annotations

import argparse
import math
import time
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from datetime import UTC, datetime

from onsite.core.colour_signature import unpack_signatures
from onsite.matching.evidence import FrameEvidence, FrameVerdict
from onsite.matching.looks import distances
from onsite.matching.match_frames import MatchResult, match
from onsite.simulator.accident_days.score_simulated_match import Score, needlessly_loose, score, wrong_frames
from onsite.simulator.accident_days.simulate import ALONE, REAL_SET, TOGETHER, Simulated, simulate
from onsite.simulator.accident_days.simulated_frames import Truth

AROUND = 6
"""Frames shown before and after a wrong one."""

CLEAN, ALL, ALL_UNIFORM = "clean", "all", "all in uniform"
REAL, REAL_UNIFORM = "real sets", "real sets in uniform"


@dataclass(frozen=True, slots=True)
class Row:
    """A row of the table: what happens on its days."""

    name: str
    rates: Mapping[str, float]
    uniform: bool
    still: bool = True


def rows(uniform: bool) -> list[Row]:
    return [
        Row(CLEAN, {}, uniform),
        *(Row(name, {name: rate}, uniform) for name, rate in ALONE.items()),
        Row(ALL, TOGETHER, uniform),
        Row(ALL_UNIFORM, TOGETHER, True),
        Row(REAL, REAL_SET, uniform, still=False),
        Row(REAL_UNIFORM, REAL_SET, True, still=False),
    ]


@dataclass(frozen=True, slots=True)
class Outcome:
    """Result of one day: its score, the seconds that matching took, and the wrong or loose
    frames to print."""

    score: Score
    seconds: float
    told: tuple[str, ...]


def play(job: tuple[Row, int, int, int, int, int]) -> Outcome:
    """Match a row's day of that seed and number of people; describe up to `wrong` wrong names and `loose`
    loose frames. Each camera photographs so many clock slates."""
    row, seed, people, wrong, loose, clock_slates = job
    day = simulate(seed, people, row.rates, row.uniform, still=row.still, clock_slates=clock_slates)
    begun = time.perf_counter()
    found = match(day.evidence)
    seconds = time.perf_counter() - begun
    told = [
        *tell(f"wrong: {row.name}", day, found, wrong_frames(day, found), wrong),
        *tell(f"loose: {row.name}", day, found, needlessly_loose(day, found), loose),
    ]
    return Outcome(score(day, found), seconds, tuple(told))


def tell(what: str, day: Simulated, found: MatchResult, wanted: Sequence[int], most: int) -> Iterator[str]:
    """Describe the first of the `wanted` frames, one a turn, with the frames around them."""
    verdicts = {verdict.frame: verdict for verdict in found.verdicts}
    frames = {frame.id: frame for frame in day.evidence.frames}
    shown: set[tuple[int, int]] = set()
    for ident in wanted if most else ():
        fact = day.truth.frames[ident]
        if (fact.body, fact.turn) in shown or len(shown) >= most:
            continue
        shown.add((fact.body, fact.turn))
        lane = day.truth.order[fact.body - 1]
        place = lane.index(ident)
        near = lane[max(place - AROUND, 0) : place + AROUND + 1]
        where = f"seed {day.seed}, camera {fact.body} of {len(day.truth.order)}, frame {ident}"
        struck = ", ".join(fact.struck) or "none"
        lines = _lines(near, ident, frames, day.truth.frames, verdicts)
        yield "\n".join([f"{what}, {where}; accidents here: {struck}", *lines])


def _lines(
    near: Sequence[int],
    wrong: int,
    frames: Mapping[int, FrameEvidence],
    truth: Mapping[int, Truth],
    verdicts: Mapping[int, FrameVerdict],
) -> Iterator[str]:
    yield f"    {'frame':>7} {'true time':>11} {'pause':>6} {'look':>5} {'counter':>7}  {'truth':<20} verdict"
    for number, ident in enumerate(near):
        frame, fact, verdict = frames[ident], truth[ident], verdicts[ident]
        pause = fact.at - truth[near[number - 1]].at if number else 0.0
        on = "+".join(map(str, sorted(fact.on))) or "nobody"
        symbols = ", ".join(f"{symbol.text or 'unread'}/{symbol.turned}" for symbol in frame.symbols)
        empty = " (empty)" if unpack_signatures([frame.look]).empty[0] else ""
        clock = f"{datetime.fromtimestamp(fact.at, UTC):%H:%M:%S.%f}"[:-4]
        what = f"{fact.what} {on}{empty}"
        yield (
            f"  {'>' if ident == wrong else ' '} {ident:>7} {clock} {pause:>6.1f}"
            f" {_changed(near, number, frames):>5} {frame.counter or '':>7}  {what:<20}"
            f" {verdict.kind} {verdict.person or ''} {verdict.how} {verdict.doubt}"
            + (f" [{symbols}]" if symbols else "")
        )


def _changed(near: Sequence[int], number: int, frames: Mapping[int, FrameEvidence]) -> str:
    """Colour distance to the frame before, where both have a signature."""
    looks = [frames[ident].look for ident in near[max(number - 1, 0) : number + 1]]
    if len(looks) < 2 or None in looks:
        return ""
    first, other = unpack_signatures(looks).roots()
    return f"{math.sqrt(2) * distances(first, other):.2f}"  # Hellinger's


HEAD = (
    f"{'':<22}{'frames':>8}{'wrong':>7}{'/100k':>7}{'swapped':>9}{'doubted':>9}{'loose %':>9}"
    f"{'no slate %':>12}{'beyond %':>10}{'runs':>6}{'first %':>9}{'among 3 %':>11}{'lost':>6}{'s':>7}"
)


def line(name: str, total: Score, seconds: float) -> str:
    frames, runs = max(total.frames, 1), max(total.loose_runs, 1)
    return (
        f"{name:<22}{total.frames:>8}{total.wrong:>7}{total.wrong * 100_000 / frames:>7.0f}{total.swapped:>9}"
        f"{total.swapped_doubted:>9}{total.loose * 100 / frames:>9.2f}{total.slateless * 100 / frames:>12.2f}"
        f"{total.beyond * 100 / frames:>10.2f}{total.loose_runs:>6}{total.first * 100 / runs:>9.0f}"
        f"{total.among * 100 / runs:>11.0f}{total.lost:>6}{seconds:>7.2f}"
    )


def arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--days", type=int, default=20)
    parser.add_argument("--people", type=int, default=300)
    parser.add_argument("--seed", type=int, default=0, help="of the first day")
    parser.add_argument("--only", default="", help="rows, with commas between")
    parser.add_argument("--uniform", action="store_true")
    parser.add_argument("--clock-slates", type=int, default=0, help="of each camera: 1 early, 2 late as well")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--show", type=int, default=0, help="so many wrong frames of each day")
    parser.add_argument(
        "--show-loose", type=int, default=0, help="so many needlessly loose frames of each day"
    )
    return parser.parse_args()


def main() -> None:
    asked = arguments()
    known = {row.name: row for row in rows(asked.uniform)}
    names = asked.only.split(",") if asked.only else list(known)
    if unknown := [name for name in names if name not in known]:
        raise SystemExit(f"No such row: {', '.join(unknown)}. There are: {', '.join(known)}")
    seeds = range(asked.seed, asked.seed + asked.days)
    told: list[str] = []
    print(HEAD)
    with ProcessPoolExecutor(asked.jobs) as pool:
        for name in names:
            shown = asked.show, asked.show_loose, asked.clock_slates
            jobs = [(known[name], seed, asked.people, *shown) for seed in seeds]
            outcomes = list(pool.map(play, jobs))
            total = sum((outcome.score for outcome in outcomes), Score())
            print(line(name, total, sum(outcome.seconds for outcome in outcomes)), flush=True)
            told += [text for outcome in outcomes for text in outcome.told]
    for text in told:
        print(f"\n{text}")


if __name__ == "__main__":
    main()
