from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onsite.matching.evidence import FrameKind
from onsite.matching.suggestions import Arrivals, Hint, LooseRun, suggest_people
from tests.matching.days import NINE, Day, verdicts


def test_the_one_who_arrived_among_the_neighbours_comes_first() -> None:
    arrivals = Arrivals({1: 100.0, 2: 200.0, 3: 300.0, 4: 50.0, 5: 400.0}, with_frames={1, 3})
    first, *_ = suggest_people(arrivals, LooseRun([1], [3], 400.0))
    assert first.person == 2
    assert any("arrived with" in reason for reason in first.reasons)


def test_one_odd_neighbour_does_not_move_the_place() -> None:
    """Somebody who let everybody go first stands among the neighbours: by hand, the middle one counts."""
    arrivals = Arrivals({person: 10.0 * person for person in range(1, 50)}, with_frames=())
    assert arrivals.expected([20, 1, 18], [22, 23, 49]) == (17 + 22) / 2


def test_somebody_who_arrived_much_later_is_not_suggested() -> None:
    arrivals = Arrivals({1: 100.0, 2: 9000.0}, with_frames={1})
    assert suggest_people(arrivals, LooseRun([1], [], 400.0)) == ()


def test_a_slate_shown_just_then_outweighs_waiting() -> None:
    arrivals = Arrivals({2: 100.0, 3: 200.0}, with_frames=())
    ranked = suggest_people(arrivals, LooseRun(moment=400.0, shown=[2]))
    assert [suggestion.person for suggestion in ranked] == [2, 3]


def test_a_slate_that_was_photographed_points_to_nobody_else() -> None:
    arrivals = Arrivals({2: 100.0, 3: 200.0}, with_frames={2})
    ranked = suggest_people(arrivals, LooseRun(moment=400.0, shown=[2, 3]))
    assert [suggestion.person for suggestion in ranked] == [3, 2]


def test_suggestions_are_ranked_and_only_loose_frames_have_them() -> None:
    day = Day().people(range(1, 10)).person(10, "unread").people(range(11, 14))
    for verdict in verdicts(day.evidence()).values():
        scores = [suggestion.score for suggestion in verdict.suggestions]
        assert scores == sorted(scores, reverse=True)
        assert not scores or verdict.kind is FrameKind.LOOSE


def test_so_many_points_make_a_person_e_times_as_likely_and_somebody_else_is_a_choice() -> None:
    """By hand: for two persons 24 and 12 points more than for somebody else: shares of e squared, e and 1."""
    hints = [Hint(1, "a slate points to them", 44), Hint(2, "another does", 32)]
    first, second = suggest_people(Arrivals({}, ()), LooseRun(hints=hints))
    whole = math.e**2 + math.e + 1
    assert first.certainty == pytest.approx(math.e**2 / whole, abs=1e-4)
    assert second.certainty == pytest.approx(math.e / whole, abs=1e-4)


@given(st.lists(st.tuples(st.integers(1, 9), st.integers(0, 90)), max_size=8))
def test_the_better_ranked_is_the_likelier_and_all_leave_room_for_somebody_else(
    hints: list[tuple[int, int]],
) -> None:
    pointed = [Hint(person, f"{person} {score}", score) for person, score in hints]
    chances = [found.certainty for found in suggest_people(Arrivals({}, ()), LooseRun(hints=pointed))]
    assert chances == sorted(chances, reverse=True)
    assert sum(chances) <= 1.0 + 1e-6 * len(chances)  # each is rounded to six places


def test_the_right_person_is_suggested_on_a_wrong_clock() -> None:
    day = Day(clock_off=-3780.0, log_shown=True).people(range(1, 10)).person(10, "unread")
    day.people(range(11, 14))
    day.arrived[50] = NINE + 7200.0  # much later
    found = verdicts(day.evidence())
    assert found[day.ids(10)[0]].suggestions[0].person == 10
    assert 50 not in [suggestion.person for suggestion in found[day.ids(10)[0]].suggestions]
