"""Where slates were probably forgotten, by the order of arrival."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from onsite.matching.forgotten_slates import forgotten_slates
from onsite.matching.match_frames import match
from onsite.matching.slate_status import slate_observations
from tests.matching.days import Day


def shares(day: Day) -> dict[int, float]:
    """The prior probability of somebody without a slate, by frame."""
    evidence = day.evidence()
    lanes = match(evidence).lanes
    slates = [slate_observations(lane, evidence) for lane in lanes]
    found = forgotten_slates(lanes, slates, evidence)
    return {
        frame.id: float(share)
        for lane, some in zip(lanes, found, strict=True)
        for frame, share in zip(lane.frames, some, strict=True)
    }


def test_where_everybody_has_a_slate_hardly_anybody_else_came() -> None:
    day = Day().people(range(1, 30))
    found = shares(day)
    assert max(found[i] for i in set(day.truth) - day.slates) < 0.01


def test_whoever_has_no_slate_is_likeliest_beside_those_who_arrived_with_them() -> None:
    day = Day().people(range(1, 15)).person(15, "forgotten").people(range(16, 30))
    found = shares(day)
    there = found[day.ids(14)[0]]
    assert there == max(found[i] for person in range(1, 30) for i in day.ids(person))
    assert there > 5 * found[day.ids(2)[0]]


def test_a_slate_that_does_not_read_explains_them_better() -> None:
    forgotten = Day().people(range(1, 15)).person(15, "forgotten").people(range(16, 30))
    unread = Day().people(range(1, 15)).person(15, "unread").people(range(16, 30))
    assert shares(unread)[unread.ids(14)[0]] < shares(forgotten)[forgotten.ids(14)[0]]
    assert shares(unread)[unread.ids(15)[0]] > 5 * shares(unread)[unread.ids(14)[0]]


def test_where_nobody_was_checked_in_the_share_is_the_same_everywhere() -> None:
    day = Day().people(range(1, 15))
    day.arrived.clear()
    assert len(set(shares(day).values())) == 1


@given(st.lists(st.sampled_from(["head", "forgotten", "unread", "tail"]), min_size=1, max_size=12))
def test_each_share_is_a_probability(slates: list[str]) -> None:
    day = Day()
    for person, slate in enumerate(slates, 1):
        day.person(person, slate)
    assert all(0.0 < share < 1.0 for share in shares(day).values())
