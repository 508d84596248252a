"""A slate shown again, for a look or by mistake, takes no name away that it does not itself contradict."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from onsite.matching.evidence import FrameKind, SlateShown
from onsite.matching.match_frames import match
from onsite.simulator.accident_days.simulate import TOGETHER, Simulated, simulate

DAYS = 50
SHOWINGS = 6
"""On each day: of somebody drawn at random, at a time drawn from the whole day."""


def names(day: Simulated, *again: SlateShown) -> dict[int, int | None]:
    evidence = replace(day.evidence, slates_shown=[*day.evidence.slates_shown, *again])
    return {
        verdict.frame: verdict.person
        for verdict in match(evidence).verdicts
        if verdict.kind is FrameKind.NAMED
    }


def names_lost(seed: int, people: int, clock_slates: int) -> list[str]:
    """What slates shown again, all on the same day, took away on a day with every accident, in words. A slate
    shown at a set while somebody else is before its camera contradicts their name itself."""
    day = simulate(seed, people, TOGETHER, clock_slates=clock_slates)
    rng = random.Random(seed)
    times = [fact.at for fact in day.truth.frames.values()]
    photographed = sorted({person for frame in day.truth.frames.values() for person in frame.on})
    again = [
        SlateShown(
            rng.uniform(min(times), max(times)),
            rng.choice(photographed),
            rng.choice(("door-1", "set-1", "set-2")),
        )
        for _ in range(SHOWINGS)
    ]
    now = names(day, *again)
    return [
        f"seed {seed}: frame {frame}"
        for frame, whose in names(day).items()
        if now.get(frame) != whose
        and all(abs(day.truth.frames[frame].at - slate.at) > 600 for slate in again)
    ]


@pytest.mark.parametrize("clock_slates", [0, 1])
@pytest.mark.parametrize("seed", [1, 2])
def test_a_slate_shown_again_takes_no_name_away(seed: int, clock_slates: int) -> None:
    assert names_lost(seed, 40, clock_slates) == []


@pytest.mark.long
@pytest.mark.parametrize("seed", range(100, 100 + DAYS))
def test_a_slate_shown_again_takes_no_name_away_on_any_day(seed: int) -> None:
    assert names_lost(seed, 120, seed % 2) == []
