"""How often slates are forgotten on a day, and the pauses that say so."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from onsite.matching.day_statistics import SELDOM
from onsite.matching.likelihood_ratios import share_without_slates
from onsite.matching.match_frames import match
from onsite.matching.slate_status import slate_observations
from tests.matching.days import Day


def share(day: Day) -> float:
    """The prior probability of somebody without a slate in a run."""
    evidence = day.evidence()
    slates = [slate_observations(lane, evidence) for lane in match(evidence).lanes]
    return share_without_slates(slates, evidence)


def test_where_everybody_has_a_slate_hardly_anybody_else_came() -> None:
    assert share(Day().people(range(1, 60))) < 0.01


def test_whoever_arrived_and_has_no_slate_is_in_one_of_the_runs() -> None:
    """By hand: 1 person, and 29 runs that a slate opens."""
    day = Day().people(range(1, 15)).person(15, "forgotten").people(range(16, 31))
    assert 1 / 31 < share(day) < 1 / 31 + 0.01


def test_a_slate_that_does_not_read_explains_them_better() -> None:
    forgotten = Day().people(range(1, 15)).person(15, "forgotten").people(range(16, 30))
    unread = Day().people(range(1, 15)).person(15, "unread").people(range(16, 30))
    assert share(unread) < share(forgotten)


def test_whoever_came_after_everybody_photographed_still_waits() -> None:
    day = Day().people(range(1, 30))
    waiting = Day().people(range(1, 30))
    for person in range(40, 60):
        waiting.arrive(person)
        waiting.arrived[person] = waiting.now
    assert share(waiting) == share(day)


def test_where_nobody_was_checked_in_a_few_are_taken_to_have_forgotten_it() -> None:
    day = Day().people(range(1, 30))
    day.arrived.clear()
    assert SELDOM <= share(day) < 1.5 * SELDOM


@given(st.lists(st.sampled_from(["head", "forgotten", "unread", "tail"]), min_size=1, max_size=12))
def test_the_share_is_a_probability(slates: list[str]) -> None:
    day = Day()
    for person, slate in enumerate(slates, 1):
        day.person(person, slate)
    assert 0.0 < share(day) < 1.0
