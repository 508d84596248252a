"""How strongly somebody is suggested."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from onsite.matching.evidence import Suggestion
from onsite.tui.reconcile.suggestion_lines import strengths


def suggested(*scores: int) -> list[Suggestion]:
    return [Suggestion(person, score, ("a reason",)) for person, score in enumerate(scores, 1)]


def test_the_first_is_strong_where_the_evidence_points_there_and_to_nobody_else_as_much() -> None:
    assert [strength.is_strong for strength in strengths(suggested(90, 20, 10))] == [True, False, False]
    assert not strengths(suggested(60, 60))[0].is_strong  # two as likely
    assert not strengths(suggested(45))[0].is_strong  # the order of arrival alone


def test_nobody_is_no_strength() -> None:
    assert strengths([]) == []
    assert [strength.share for strength in strengths(suggested(0, 0))] == [0.0, 0.0]


@given(st.lists(st.integers(-5, 200), max_size=5))
def test_shares_add_up_to_one_and_one_at_most_is_strong(scores: list[int]) -> None:
    found = strengths(suggested(*scores))
    total = sum(strength.share for strength in found)
    assert abs(total - (1 if any(score > 0 for score in scores) else 0)) < 1e-9
    assert sum(strength.is_strong for strength in found) <= 1
