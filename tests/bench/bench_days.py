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
| clean | 17,168 | 0 | 0.01 | 0 | 100 | 100 |
| all at once | 18,252 | 0 | 24.39 | 5.52 | 80 | 89 |
| all at once, in uniform | 18,252 | 0 | 25.93 | 5.52 | 82 | 90 |
| all at once, one clock slate a camera | 18,272 | 0 | 9.21 | 5.52 | 65 | 85 |
| the same, in uniform | 18,272 | 7 | 10.90 | 5.52 | 72 | 89 |
| real sets | 17,718 | 0 | 11.94 | 7.40 | 65 | 90 |
| real sets, in uniform | 17,718 | 1 | 15.49 | 7.40 | 75 | 93 |

What is left wrong is of one kind: within 15 seconds somebody dressed alike takes over without a slate.

The odds below which a name stands (`change_points.SURE`) buy this, on 60 days a row of 150 people, seeds from
1,900,000 on, wrong names / loose frames of 100, of 66,281 to 68,803 (without a slate are 7.7; of real sets
7.2):

| odds | all at once | in uniform | one clock slate | real sets | in uniform |
| ---: | ---: | ---: | ---: | ---: | ---: |
| 1 in 40 | 33 / 18.4 | 65 / 18.6 | 41 / 9.5 | 38 / 8.1 | 51 / 8.6 |
| 1 in 130 | 5 / 18.6 | 40 / 19.2 | 13 / 9.8 | 20 / 9.7 | 19 / 10.9 |
| 1 in 400 | 2 / 18.9 | 22 / 20.4 | 4 / 10.1 | 18 / 12.2 | 9 / 16.5 |
| 1 in 1,300 | 0 / 19.5 | 0 / 24.5 | 2 / 10.8 | 7 / 17.1 | 1 / 28.9 |

**The last change.** A clock is doubted before its first measurement, too; where two clocks are interleaved,
no deck card that was several people's is anybody's; late records of cards go by one condition; an
upside-down slate of which looks do not tell whose frames are meant names nobody; suggestions go by the odds
from both slates of a run, and by looks after a slate that does not read. Before and after, 60 days of 150
people a row, seeds from 2,300,000 on, which were looked at once. `cards` and `faults` are kinds of
`bench_ablation`:

| days | frames | wrong, before | after | loose, before | after | right one first, before | after |
| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: |
| all at once | 67,674 | 6 | 6 | 17.34 | 17.33 | 71.9 | 73.3 |
| in uniform | 67,674 | 0 | 6 | 18.65 | 18.61 | 74.8 | 76.1 |
| cards | 67,815 | 12 | 12 | 10.88 | 11.16 | 58.8 | 61.9 |
| faults | 76,009 | 188 | 16 | 11.54 | 11.84 | 59.7 | 62.2 |
| one clock slate a camera | 67,815 | 6 | 6 | 9.42 | 9.42 | 56.2 | 59.5 |
| the same, in uniform | 67,815 | 0 | 6 | 10.94 | 10.91 | 64.2 | 67.0 |
| real sets | 66,318 | 1 | 1 | 11.86 | 11.79 | 74.8 | 79.4 |
| real sets, in uniform | 66,318 | 7 | 7 | 16.32 | 16.25 | 82.1 | 86.3 |

On the 1,240 days with seeds from 2,000,000 on, on which this was found, 165 names were wrong before and 63
are, of 1,417,248. Before that, some fifteen rules were taken out (`bench_ablation`), which moved 101 wrong
names of 1,477,723 to 126.

In the course of a day, of the frames of the last five minutes (20 days of all accidents, each cut off at
eight moments), 9.5 of 100 were loose before this change; of 7,884 three were wrong.
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
