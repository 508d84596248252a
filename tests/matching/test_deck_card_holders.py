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


def test_a_record_made_too_late_leaves_the_turns_before_it_open() -> None:
    day = Day().clock_slate().people(range(1, 7)).tie(1, ANA)
    shown(shown(day, ANA).people(range(7, 13)), BO).tie(1, BO)
    found = verdicts(day.evidence())
    assert names(found, [*day.ids(ANA), *day.ids(BO)]) == ["loose"] * 10


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


CY = 22
"""Who got the card after both."""


def test_a_record_made_after_the_next_holders_leaves_all_turns_before_it_open() -> None:
    """Three people had the card, and the record of the second came last."""
    day = Day().clock_slate().people(range(1, 7)).tie(1, ANA)
    shown(shown(day, ANA).people(range(7, 13)), BO).people(range(13, 16)).tie(1, CY)
    found = verdicts(shown(day, CY).people(range(16, 19)).tie(1, BO).evidence())
    everybody = [*day.ids(ANA), *day.ids(BO), *day.ids(CY)]
    assert names(found, everybody) == ["loose"] * 15


def test_a_late_record_leaves_the_turn_of_somebody_who_came_much_earlier_open() -> None:
    """Whose own slate may not have been read, and who would have waited for long."""
    day = Day().clock_slate().tie(1, ANA).arrive(ANA).people(range(1, 19))
    found = verdicts(shown(day, BO).people(range(30, 33)).tie(1, BO).evidence())
    assert day.arrived[BO] - day.arrived[ANA] > 600
    assert names(found, day.ids(BO)) == ["loose"] * 5


def test_a_record_that_overtook_the_next_one_leaves_that_ones_turn_open() -> None:
    """Ana had the card before Bo, and her record came after his."""
    day = Day().clock_slate().arrive(ANA).people(range(1, 13)).tie(1, BO)
    day.arrive(BO)
    day.now += 60
    found = verdicts(shown(day.tie(1, ANA).people(range(13, 19)), BO).people(range(30, 33)).evidence())
    assert names(found, day.ids(BO)) == ["loose"] * 5
    assert {ANA, BO} <= {suggestion.person for suggestion in found[day.ids(BO)[0]].suggestions}


def test_a_card_in_time_keeps_a_turn_that_came_before_its_next_holder() -> None:
    """Bo was never photographed, and came after both turns of Ana."""
    day = Day().clock_slate().people(range(1, 7)).tie(1, ANA)
    shown(shown(day, ANA).people(range(7, 13)), ANA).people(range(30, 40))
    found = verdicts(day.tie(1, BO).arrive(BO).people(range(40, 43)).evidence())
    assert names(found, day.ids(ANA)) == [ANA] * 10
