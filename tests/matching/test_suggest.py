from __future__ import annotations

from days import NINE, Day, verdicts

from onsite.matching.evidence import FrameKind, Shown
from onsite.matching.suggest import Arrivals, suggest


def test_the_one_who_arrived_between_the_neighbours_comes_first() -> None:
    arrivals = Arrivals({1: 100.0, 2: 200.0, 3: 300.0, 4: 50.0}, with_frames={1, 3})
    first, *_ = suggest(arrivals, 400.0, 1, 3, (), ())
    assert first.person == 2
    assert any("between" in reason for reason in first.reasons)


def test_somebody_who_arrived_later_is_not_suggested() -> None:
    arrivals = Arrivals({1: 100.0, 2: 900.0}, with_frames={1})
    assert suggest(arrivals, 400.0, 1, None, (), ()) == ()


def test_a_slate_shown_just_then_outweighs_waiting() -> None:
    arrivals = Arrivals({2: 100.0, 3: 200.0}, with_frames=())
    ranked = suggest(arrivals, 400.0, None, None, (), [Shown(350.0, 2)])
    assert [suggestion.person for suggestion in ranked] == [2, 3]


def test_suggestions_are_ranked_and_only_loose_frames_have_them() -> None:
    day = Day().people(range(1, 10)).person(10, "unread").people(range(11, 14))
    for verdict in verdicts(day.evidence()).values():
        scores = [suggestion.score for suggestion in verdict.suggestions]
        assert scores == sorted(scores, reverse=True)
        assert not scores or verdict.kind is FrameKind.LOOSE


def test_the_right_person_is_suggested_on_a_wrong_clock() -> None:
    day = Day(clock_off=-3780.0, log_shown=True).people(range(1, 10)).person(10, "unread")
    day.people(range(11, 14))
    day.arrived[50] = NINE + 7200.0  # much later
    found = verdicts(day.evidence())
    assert found[day.ids(10)[0]].suggestions[0].person == 10
    assert 50 not in [suggestion.person for suggestion in found[day.ids(10)[0]].suggestions]
