from __future__ import annotations

import math
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onsite.matching.evidence import FrameKind, Suggestion
from onsite.matching.suggestions import (
    POINTED,
    Arrivals,
    Hint,
    UnnamedRun,
    score_from_odds,
    suggest_people,
)
from tests.matching.days import NINE, Day, verdicts


def suggested(arrivals: Arrivals, run: UnnamedRun) -> tuple[Suggestion, ...]:
    (found,) = suggest_people(arrivals, [run])
    return found


def test_the_one_who_arrived_among_the_neighbours_comes_first() -> None:
    arrivals = Arrivals({1: 100.0, 2: 200.0, 3: 300.0, 4: 50.0, 5: 400.0}, with_frames={1, 3})
    first, *_ = suggested(arrivals, UnnamedRun([1], [3], 400.0))
    assert first.person == 2
    assert any("arrived with" in reason for reason in first.reasons)


def test_one_odd_neighbour_does_not_move_the_place() -> None:
    """Somebody who let everybody go first stands among the neighbours: by hand, the middle one counts."""
    arrivals = Arrivals({person: 10.0 * person for person in range(1, 50)})
    assert arrivals.expected([20, 1, 18], [22, 23, 49]) == (17 + 22) / 2


def test_somebody_who_arrived_much_later_is_not_suggested() -> None:
    arrivals = Arrivals({1: 100.0, 2: 9000.0}, with_frames={1})
    assert suggested(arrivals, UnnamedRun([1], [], 400.0)) == ()


def test_a_slate_shown_just_then_outweighs_waiting() -> None:
    arrivals = Arrivals({2: 100.0, 3: 200.0})
    ranked = suggested(arrivals, UnnamedRun(moment=400.0, shown=[2]))
    assert [suggestion.person for suggestion in ranked] == [2, 3]


def test_a_slate_that_was_photographed_points_to_nobody_else() -> None:
    arrivals = Arrivals({2: 100.0, 3: 200.0}, with_frames={2})
    ranked = suggested(arrivals, UnnamedRun(moment=400.0, shown=[2, 3]))
    assert [suggestion.person for suggestion in ranked] == [3, 2]


def test_nobody_is_likely_on_two_runs() -> None:
    """By the order of arrival each is the likeliest on both; a slate says who the first is."""
    arrivals = Arrivals({person: 10.0 * person for person in range(1, 30)}, {*range(1, 15), *range(17, 30)})
    both = UnnamedRun([14], [17], 1000.0)
    first, _ = suggested(arrivals, both)
    told = UnnamedRun([14], [17], 1000.0, [Hint(first.person, "their slate", POINTED, True)])
    one, other = suggest_people(arrivals, [told, both])
    assert one[0].person == first.person
    assert {other[0].person, one[0].person} == {15, 16}
    assert other[0].certainty > 0.9


def test_the_day_shows_how_much_the_order_of_arrival_tells() -> None:
    """Where everybody was photographed in that order, the nearest is likelier than where they were not."""
    arrived = {person: 10.0 * person for person in range(1, 100)}
    in_order = [person for person in range(1, 100) if person not in (50, 60)]
    shuffled = random.Random(5).sample(in_order, len(in_order))
    run = UnnamedRun([48, 49], [51, 52], 10_000.0)
    chances = [
        next(s.certainty for s in suggested(Arrivals(arrived, in_order, [lane]), run) if s.person == 50)
        for lane in (in_order, shuffled)
    ]
    assert chances[0] > chances[1] + 0.2


def test_suggestions_are_ranked_and_only_loose_frames_have_them() -> None:
    day = Day().people(range(1, 10)).person(10, "unread").people(range(11, 14))
    for verdict in verdicts(day.evidence()).values():
        chances = [suggestion.certainty for suggestion in verdict.suggestions]
        assert chances == sorted(chances, reverse=True)
        assert not chances or verdict.kind is FrameKind.LOOSE


def test_weights_are_shares_and_somebody_else_is_a_choice() -> None:
    """By hand: weights of 5 and 1, and 0.02 for somebody else."""
    hints = [Hint(1, "a slate points to them", 5.0), Hint(2, "another does")]
    first, second = suggested(Arrivals({}), UnnamedRun(hints=hints))
    assert first.certainty == pytest.approx(5 / 6.02, abs=1e-4)
    assert second.certainty == pytest.approx(1 / 6.02, abs=1e-4)


def test_the_slates_person_is_less_likely_the_likelier_somebody_else_is() -> None:
    assert score_from_odds(0.01) == pytest.approx(100.0)  # 100 to 1
    assert score_from_odds(0.0) > score_from_odds(0.01) > score_from_odds(100.0) > 0.0
    assert score_from_odds(math.inf) > 0.0  # where two parts of the day are mixed up, the slate still tells


def test_of_several_who_have_frames_the_one_in_place_comes_first() -> None:
    arrivals = Arrivals({person: 10.0 * person for person in range(1, 90)}, range(1, 90))
    held = [Hint(person, "a deck card", POINTED, True) for person in (20, 50, 80)]
    ranked = suggested(arrivals, UnnamedRun([49], [51], 1000.0, held))
    assert ranked[0].person == 50


runs = st.lists(
    st.builds(
        UnnamedRun,
        before=st.lists(st.integers(1, 30), max_size=3),
        after=st.lists(st.integers(1, 30), max_size=3),
        moment=st.none() | st.floats(0, 400),
        hints=st.lists(
            st.builds(Hint, st.integers(1, 30), st.just("a hint"), st.floats(0.1, 300)), max_size=3
        ),
        shown=st.sets(st.integers(1, 30), max_size=2),
    ),
    max_size=6,
)


@given(runs, st.sets(st.integers(1, 25)))
def test_each_run_has_one_person_and_whoever_has_no_frames_one_run_at_most(
    loose: list[UnnamedRun], with_frames: set[int]
) -> None:
    found = suggest_people(Arrivals({p: 10.0 * p for p in range(1, 26)}, with_frames), loose)
    assert len(found) == len(loose)
    on: dict[int, float] = {}
    for suggestions in found:
        chances = [suggestion.certainty for suggestion in suggestions]
        assert chances == sorted(chances, reverse=True)
        assert sum(chances) <= 1.0 + 1e-5  # each is rounded to six places
        for suggestion in suggestions:
            on[suggestion.person] = on.get(suggestion.person, 0.0) + suggestion.certainty
    waiting = set(range(1, 26)) - with_frames
    assert all(total < 1.1 for person, total in on.items() if person in waiting)


def test_the_right_person_is_suggested_on_a_wrong_clock() -> None:
    day = Day(clock_off=-3780.0, log_shown=True).people(range(1, 10)).person(10, "unread")
    day.people(range(11, 14))
    day.arrived[50] = NINE + 7200.0  # much later
    found = verdicts(day.evidence())
    assert found[day.ids(10)[0]].suggestions[0].person == 10
    assert 50 not in [suggestion.person for suggestion in found[day.ids(10)[0]].suggestions]
