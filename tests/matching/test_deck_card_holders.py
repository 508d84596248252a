"""A deck card that changed hands before the door recorded it, or whose clock is off by a little."""

from __future__ import annotations

from tests.matching.days import Day, card, names, verdicts

ANA, BO = 20, 21
"""Who had the card first, and who got it then."""


def shown(day: Day, person: int) -> Day:
    """A turn with the card."""
    day.arrive(person)
    day.now += 40
    day.slate(person, card(1))
    return day.portraits(person)


def test_each_holder_has_a_turn_of_their_own() -> None:
    day = Day().clock_slate().people(range(1, 7)).tie(1, ANA)
    shown(day, ANA).people(range(7, 13)).tie(1, BO)
    found = verdicts(shown(day, BO).evidence())
    assert names(found, [*day.ids(ANA), *day.ids(BO)]) == [ANA] * 5 + [BO] * 5


def test_a_record_made_too_late_leaves_the_second_turn_open() -> None:
    day = Day().clock_slate().people(range(1, 7)).tie(1, ANA)
    shown(shown(day, ANA).people(range(7, 13)), BO).tie(1, BO)
    found = verdicts(day.evidence())
    assert names(found, [*day.ids(ANA), *day.ids(BO)]) == [ANA] * 5 + ["loose"] * 5


def test_a_record_made_too_early_leaves_the_first_turn_open() -> None:
    day = Day().clock_slate().people(range(1, 7)).tie(1, ANA)
    day.now += 60
    day.tie(1, BO)
    found = verdicts(shown(shown(day, ANA).people(range(7, 20)), BO).evidence())
    assert names(found, [*day.ids(ANA), *day.ids(BO)]) == ["loose"] * 5 + [BO] * 5


def test_somebody_with_two_turns_keeps_both_where_the_others_have_theirs() -> None:
    day = Day().clock_slate().people(range(1, 7)).tie(1, ANA)
    shown(shown(day, ANA).people(range(7, 13)), ANA).people(range(13, 16)).tie(1, BO)
    found = verdicts(shown(day, BO).evidence())
    assert names(found, [*day.ids(ANA), *day.ids(BO)]) == [ANA] * 10 + [BO] * 5


def test_a_slate_soon_after_the_record_stays_open_where_the_holder_before_has_none() -> None:
    """As where a clock was set forward by five minutes."""
    day = Day().clock_slate().people(range(1, 7)).tie(1, ANA)
    day.arrive(ANA)
    day.now += 900
    day.tie(1, BO)
    found = verdicts(shown(day, BO).people(range(7, 13)).evidence())
    assert names(found, day.ids(BO)) == ["loose"] * 5
    assert {ANA, BO} <= {suggestion.person for suggestion in found[day.ids(BO)[0]].suggestions}
