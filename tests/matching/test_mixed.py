"""Two parts of the day mixed up, since nothing but a clock that was set back tells their order."""

from __future__ import annotations

import pytest

from onsite.matching.change_points import MIXED_UP
from tests.matching.days import Day, assert_all_named, card, code, loose, only, verdicts, wrong


def set_back(counted: bool) -> Day:
    """The clock is set back by two hours of forty people, so that twenty seem to be there beside others."""
    day = Day(counted=counted).people(range(1, 41))
    day.clock_off = -((day.now - (day.frames[0].taken or 0.0)) / 2 + 1.7)
    return day.people(range(41, 61))


def test_counters_put_the_day_in_order() -> None:
    assert_all_named(set_back(True), verdicts(set_back(True).evidence()))


def test_without_counters_what_is_mixed_up_is_named_for_nobody() -> None:
    day = set_back(False)
    found = verdicts(day.evidence())
    assert wrong(day, found) == []
    assert MIXED_UP in {found[frame].doubt for frame in loose(day, found)}
    early = [frame for person in range(1, 15) for frame in day.ids(person)]
    assert not set(early) & set(loose(day, found))


def with_card(day: Day, person: int) -> Day:
    """A turn with the deck card."""
    day.arrive(person).now += 36
    day.slate(person, card(1))
    return day.portraits(person)


def test_no_deck_card_is_anybodys_where_two_clocks_are_mixed_up() -> None:
    """The clock slate of the evening does not say what the clock was in the morning, before the two meet."""
    day = Day(counted=False)
    with_card(day.tie(1, 101).people(range(1, 12)), 101).tie(1, 102).people(range(12, 41))
    day.clock_off = -((day.now - (day.frames[0].taken or 0.0)) / 2 + 1.7)
    with_card(day.people(range(41, 61)), 102).clock_slate()
    found = verdicts(day.evidence())
    assert wrong(day, found) == []
    assert set(day.ids(101)) <= set(loose(day, found))


@pytest.mark.parametrize(("friends", "counted"), [(1, False), (3, False), (8, True)])
def test_friends_who_step_into_a_picture_mix_up_nothing(friends: int, counted: bool) -> None:
    """Where the camera counted one frame right after the other, however many do."""
    day = Day(counted=counted).people(range(1, 20))
    for person in range(30, 30 + friends):
        day.person(person, count=2)
        day.frame(person + 100, after=2.0)
        day.people([person + 20])
    found = verdicts(only(day).evidence())
    assert MIXED_UP not in {verdict.doubt for verdict in found.values()}


def test_a_slate_that_does_not_read_right_after_one_that_does_may_be_the_right_one() -> None:
    """Somebody held up another's card, saw it, and then their own, in the glare."""
    day = Day().people(range(1, 9)).arrive(9)
    day.now += 36
    day.slate(9, code(3))
    day.slate(9, None)
    day.portraits(9)
    found = verdicts(day.people([10]).evidence())
    assert wrong(day, found) == []
    assert set(day.ids(9)) <= set(loose(day, found))
