"""How often the likeliest person is suggested first, beside the best guess that the simulated days allow.

Run: python -m tests.bench.bench_best_guess [--days 20] [--people 150] [--seed 0] [--learn 20] [--kind all]

The best guess is told whatever a slate can tell, and everything about everybody else. Where a loose run has a
slate of its person, or that slate was shown at the set right before, it is right. Else it knows who has no
slate all day, who was photographed before and after on that camera, and from further days how far the places
of neighbours in the order of arrival lie apart, as the simulator draws them. All its guesses of a day are
weighed together, so that nobody is twice on set: the marginals of the assignment, by R. Sinkhorn's scaling
("A relationship between arbitrary positive matrices and doubly stochastic matrices", 1964). No rule that
sees only the evidence can be expected to do better.

`--days 24 --learn 16 --seed 1400000` printed of 580 loose runs, of 387 of which a slate can tell:

| of 100 | right one first: ours | best guess | among three: ours | best guess |
| --- | ---: | ---: | ---: | ---: |
| all loose runs | 69.5 | 78.6 | 83.4 | 89.7 |
| the 193 of which no slate tells | 30.1 | 35.8 | 61.7 | 68.9 |
"""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from statistics import median

import numpy as np
from numpy.typing import NDArray

from onsite.matching.match_frames import match
from onsite.simulator.accident_days.score_simulated_match import loose_runs
from onsite.simulator.accident_days.simulate import Simulated, simulate
from onsite.simulator.accident_days.simulated_frames import Truth
from tests.bench.bench_ablation import DAYS

BESIDE = 4
"""People before and after whose places count, as in `onsite.matching.suggestions`."""
FARTHEST = 40
"""Places by which a person is off, from which on all are as likely."""
SHOWN_BEFORE = 60.0
"""Seconds before a turn in which a slate shown at the set belongs to it."""


@dataclass(frozen=True)
class Queues:
    """What is true of a day's order: everybody's place among the arrivals, and who follows whom."""

    place: dict[int, int]
    turns: list[list[Truth]]
    """The first frame of each turn of one person, by camera."""

    @classmethod
    def of(cls, day: Simulated) -> Queues:
        arrived = day.evidence.arrived
        order = sorted(arrived, key=lambda person: (arrived[person], person))
        turns = []
        for lane in day.truth.order:
            facts = [day.truth.frames[ident] for ident in lane]
            first = {fact.turn: fact for fact in reversed(facts) if len(fact.on) == 1}
            turns.append(sorted(first.values(), key=lambda fact: fact.at))
        return cls({person: place for place, person in enumerate(order)}, turns)

    def expected(self, turn: Truth, known: set[int]) -> float | None:
        """The middle of the places of the known people photographed right before and after a turn."""
        places = [
            (other.at, self.place[person])
            for other in self.turns[turn.body - 1]
            for person in other.on & known
            if person in self.place and not other.on & turn.on
        ]
        before = [place for at, place in places if at < turn.at][-BESIDE:]
        after = [place for at, place in places if at > turn.at][:BESIDE]
        sides = [median(side) for side in (before, after) if side]
        return sum(sides) / len(sides) if sides else None


def offsets(day: Simulated) -> Iterator[int]:
    """How many places each person is off those of the neighbours."""
    queues = Queues.of(day)
    for turn in (turn for lane in queues.turns for turn in lane):
        expected = queues.expected(turn, set(queues.place))
        for person in turn.on & queues.place.keys():
            if expected is not None:
                yield round(queues.place[person] - expected)


def chances(seen: Counter[int]) -> NDArray[np.float64]:
    """The share of each offset from -`FARTHEST` to `FARTHEST`, smoothed over three places."""
    found = np.array([seen[off] for off in range(-FARTHEST, FARTHEST + 1)], np.float64) + 0.1
    return np.convolve(found / found.sum(), np.full(3, 1 / 3), mode="same")


def guesses(day: Simulated, loose: Sequence[Truth], chance: NDArray[np.float64]) -> list[list[int]]:
    """The people of each of these turns, the likeliest first."""
    queues = Queues.of(day)
    known = {person for fact in day.truth.frames.values() if not fact.slateless for person in fact.on}
    left = sorted(queues.place.keys() - known)
    if not loose or not left:
        return [[] for _ in loose]
    weights = np.empty((len(loose) + 1, len(left)))
    for row, turn in enumerate(loose):
        expected = queues.expected(turn, known)
        off = [0.0 if expected is None else queues.place[person] - expected for person in left]
        weights[row] = chance[np.clip(np.round(off), -FARTHEST, FARTHEST).astype(int) + FARTHEST]
    weights[-1] = np.mean(weights[:-1])  # whoever arrived and was never photographed
    share = np.append(np.ones(len(loose)), max(len(left) - len(loose), 0.1))
    for _ in range(100):
        weights *= (share / weights.sum(axis=1))[:, None]
        weights /= weights.sum(axis=0)
    return [[left[column] for column in np.argsort(-row, kind="stable")] for row in weights[:-1]]


def play(day: Simulated, chance: NDArray[np.float64]) -> Counter[str]:
    """Of the day's loose runs: how many, and how often the right one is first and among three, ours and by
    the best guess."""
    verdicts = {verdict.frame: verdict for verdict in match(day.evidence).verdicts}
    runs = list(loose_runs(day, verdicts))
    facts = [day.truth.frames[run.frame] for run in runs]
    told = [not fact.slateless or _is_shown(day, fact) for fact in facts]
    open_turns = {(fact.body, fact.turn): fact for fact, known in zip(facts, told, strict=True) if not known}
    guessed = dict(zip(open_turns, guesses(day, list(open_turns.values()), chance), strict=True))
    count: Counter[str] = Counter(runs=len(runs), told=sum(told))
    for run, fact, known in zip(runs, facts, told, strict=True):
        ours = [suggestion.person for suggestion in run.suggestions]
        best = sorted(fact.on) if known else guessed[fact.body, fact.turn]
        for who, ranked in (("ours", ours), ("best", best)):
            count[f"{who} first"] += bool(fact.on & set(ranked[:1]))
            count[f"{who} among"] += bool(fact.on & set(ranked[:3]))
        if not known:
            count["open, ours first"] += bool(fact.on & set(ours[:1]))
            count["open, best first"] += bool(fact.on & set(best[:1]))
            count["open, ours among"] += bool(fact.on & set(ours[:3]))
            count["open, best among"] += bool(fact.on & set(best[:3]))
    return count


def _is_shown(day: Simulated, fact: Truth) -> bool:
    return any(
        shown.person in fact.on and 0 <= fact.at - shown.at < SHOWN_BEFORE
        for shown in day.evidence.slates_shown
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--days", type=int, default=20)
    parser.add_argument("--people", type=int, default=150)
    parser.add_argument("--seed", type=int, default=0, help="of the first day")
    parser.add_argument("--learn", type=int, default=20, help="further days that the offsets are taken from")
    parser.add_argument("--kind", choices=list(DAYS), default="all")
    asked = parser.parse_args()
    learnt = range(asked.seed + asked.days, asked.seed + asked.days + asked.learn)
    seen = Counter(
        off for seed in learnt for off in offsets(simulate(seed, asked.people, **DAYS[asked.kind]))
    )
    total: Counter[str] = Counter()
    for seed in range(asked.seed, asked.seed + asked.days):
        total += play(simulate(seed, asked.people, **DAYS[asked.kind]), chances(seen))
    print(f"{total['runs']} loose runs of {asked.days} days, {total['told']} of which a slate can tell")
    for what, number in sorted(total.items()):
        whole = total["runs"] - total["told"] * what.startswith("open")
        print(f"{what:<20}{number:>6}{100 * number / max(whole, 1):>7.1f} of 100")


if __name__ == "__main__":
    main()
