"""How rare a value is: worked by hand, and what must hold whatever was observed."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from onsite.matching.day_statistics import EmpiricalDistribution

POSITIVE = st.floats(0.01, 1000.0)


def test_nine_pauses_by_hand() -> None:
    """One more on either side is allowed for: ten places."""
    pauses = EmpiricalDistribution(range(1, 10))
    assert pauses.at_most(3) == 4 / 10
    assert pauses.at_least(3) == 8 / 10


@given(st.lists(POSITIVE, min_size=1, max_size=30), POSITIVE, POSITIVE)
def test_larger_is_rarer_above_and_commoner_below(values: list[float], one: float, other: float) -> None:
    rarity, small, large = EmpiricalDistribution(values), min(one, other), max(one, other)
    assert 0.0 < rarity.at_least(large) <= rarity.at_least(small) <= 1.0
    assert 0.0 < rarity.at_most(small) <= rarity.at_most(large) <= 1.0


@given(st.lists(POSITIVE, min_size=1, max_size=30))
def test_half_of_the_smallest_and_twice_the_largest_are_much_rarer(values: list[float]) -> None:
    rarity = EmpiricalDistribution(values)
    assert rarity.at_most(min(values) / 2) <= rarity.at_most(min(values)) / 32
    assert rarity.at_least(max(values) * 2) <= rarity.at_least(max(values)) / 32
