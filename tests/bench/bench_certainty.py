"""How often names and suggestions of each certainty are right: reliability tables.

Run: python -m tests.bench.bench_certainty [--days 10] [--people 300] [--seed 0] [--jobs 2]

After A. H. Murphy and R. L. Winkler, "Reliability of Subjective Probability Forecasts of Precipitation and
Temperature", Applied Statistics 26 (1977): forecasts are grouped by the probability they gave, and each
group's mean is held against the share that came true. Days are those of `bench_ablation`, and some in one
gown on sets that are not still. A frame whose person holds another's card all day is left out: the certainty
is that of the slate's person being there.

Names on 1,240 days of 150 people (all kinds, seeds from 2,000,000 on; clocks and cards were mended on the
last 480 of them):

    names                  number  not so  said, of 100  right, of 100
    from 99 %               24561       6        99.760         99.976
    from 99.8 %             75799      24        99.862         99.968
    from 99.9 %            222750       0        99.934        100.000
    from 99.95 %           708974      33        99.958         99.995

Wrong names come by turns, so on few days the shares vary: on 12 days of each kind, seeds from 1,760,000 on,
ten of 1,713 from 99 % are wrong. Suggestions on these, since they go by the odds from both slates of a run,
and by looks after a slate that does not read; and before:

    suggestions            number  said, of 100  right, of 100     before, said  right
    from 0 %                 4185         0.316          0.573            0.318  0.362
    from 1 %                 4635         4.134          1.855            4.218  2.494
    from 10 %                1480        14.071         12.297           14.014 13.002
    from 20 %                 694        24.331         25.793           24.780 26.645
    from 30 %                 348        34.286         33.333           34.778 37.116
    from 40 %                 279        46.053         48.387           46.211 46.927
    from 50 %                 136        54.362         66.176           54.100 41.830
    from 60 %                 163        65.202         69.325           64.756 58.947
    from 70 %                 141        75.402         76.596           75.556 78.488
    from 80 %                 407        85.109         90.418           84.803 88.486
    from 90 %                 855        95.254         92.632           95.391 91.566
    from 99 %                 402        99.639         99.254           99.629 99.458
"""

from __future__ import annotations

import argparse
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor

from onsite.matching.evidence import FrameVerdict
from onsite.matching.match_frames import match
from onsite.simulator.accident_days.score_simulated_match import loose_runs
from onsite.simulator.accident_days.simulate import REAL_SET, Simulated, simulate
from tests.bench.bench_ablation import DAYS

KINDS = {**DAYS, "real, in uniform": {"accidents": REAL_SET, "still": False, "uniform": True}}
OF_NAMES = 0.0, 0.99, 0.998, 0.999, 0.9995, 0.9998, 1.0
OF_SUGGESTIONS = 0.0, 0.01, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.99, 1.01
"""Bounds of the groups."""

Forecast = tuple[float, bool]
"""A probability, and whether it came true."""


def play(job: tuple[str, int, int]) -> tuple[list[Forecast], list[Forecast]]:
    """The forecasts of a day: of its names, by frame, and of its suggestions, by loose run."""
    kind, seed, people = job
    day = simulate(seed, people, **KINDS[kind])
    verdicts = {verdict.frame: verdict for verdict in match(day.evidence).verdicts}
    names = [
        (verdict.certainty, verdict.person in fact.on)
        for frame, verdict in verdicts.items()
        if verdict.certainty is not None and (fact := day.truth.frames[frame]).swapped_with is None
    ]
    return names, list(_suggested(day, verdicts))


def _suggested(day: Simulated, verdicts: Mapping[int, FrameVerdict]) -> Iterator[Forecast]:
    for first in loose_runs(day, verdicts):
        for suggestion in first.suggestions:
            yield suggestion.certainty, suggestion.person in day.truth.frames[first.frame].on


def table(what: str, forecasts: Sequence[Forecast], bounds: Sequence[float]) -> Iterator[str]:
    """A reliability table: a line for each group of forecasts."""
    groups: defaultdict[int, list[Forecast]] = defaultdict(list)
    for forecast in forecasts:
        groups[sum(bound <= forecast[0] for bound in bounds) - 1].append(forecast)
    yield f"{what:<20}{'number':>9}{'not so':>8}{'said, of 100':>14}{'right, of 100':>15}"
    for group in sorted(groups):
        number, right = len(groups[group]), sum(came for _, came in groups[group])
        said = sum(chance for chance, _ in groups[group]) / number
        cells = f"{number:>9}{number - right:>8}{100 * said:>14.3f}{100 * right / number:>15.3f}"
        yield f"{f'from {100 * bounds[group]:g} %':<20}{cells}"


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--days", type=int, default=10, help="of each kind")
    parser.add_argument("--people", type=int, default=300)
    parser.add_argument("--seed", type=int, default=0, help="of the first day")
    parser.add_argument("--jobs", type=int, default=2)
    asked = parser.parse_args()
    seeds = range(asked.seed, asked.seed + asked.days)
    jobs = [(kind, seed, asked.people) for kind in KINDS for seed in seeds]
    names: list[Forecast] = []
    suggestions: list[Forecast] = []
    with ProcessPoolExecutor(asked.jobs) as pool:
        for of_names, of_suggestions in pool.map(play, jobs):
            names += of_names
            suggestions += of_suggestions
    print("\n".join(table("names", names, OF_NAMES)))
    print("\n".join(table("suggestions", suggestions, OF_SUGGESTIONS)))


if __name__ == "__main__":
    main()
