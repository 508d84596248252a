"""What speaks against a name is told beside it."""

from __future__ import annotations

from onsite.matching.match_frames import BEFORE_ARRIVAL, LOOKS_OTHER
from tests.matching.days import Day, code, names, verdicts


def test_somebody_photographed_before_they_arrived_keeps_the_name_with_a_doubt() -> None:
    day = Day(log_shown=True).people(range(1, 12))
    day.arrived[5] = day.now + 3600.0
    found = verdicts(day.evidence())
    assert names(found, day.ids(5)) == [5] * 5
    assert {found[frame].doubt for frame in day.ids(5)} == {BEFORE_ARRIVAL}
    assert {found[frame].doubt for frame in day.ids(6)} == {""}


def test_another_person_under_somebodys_card_is_told_where_both_are_seen() -> None:
    """Twelve holds up the card of three, who was there before."""
    day = Day().people(range(1, 12)).arrive(12)
    day.now += 40
    day.slate(12, code(3))
    day.portraits(12)
    found = verdicts(day.evidence())
    assert {found[frame].doubt for frame in (*day.ids(3), *day.ids(12))} == {LOOKS_OTHER}
    assert {found[frame].doubt for frame in day.ids(4)} == {""}


def test_somebody_who_comes_back_in_the_same_clothes_raises_no_doubt() -> None:
    day = Day().people(range(1, 12)).person(3).person(12)
    found = verdicts(day.evidence())
    assert {found[frame].doubt for frame in day.ids(3)} == {""}
