from __future__ import annotations

import random
from dataclasses import replace

import pytest
from days import NINE, Day, assert_all_named, card, names, verdicts, wrong

from onsite.matching.clocks import Sighting, TiedBy, find_clock
from onsite.matching.evidence import Shown, Tie
from onsite.matching.match import match

OFF = -63 * 60.0  # seconds that the camera is behind


@pytest.mark.parametrize("off", [0.0, OFF, 3600.0, -NINE])
def test_slates_shown_at_the_station_give_the_offset(off: float) -> None:
    day = Day(clock_off=off, log_shown=True).people(range(1, 21))
    ((clock,),) = match(day.evidence()).clocks
    assert clock.tied_by is TiedBy.SHOWN
    assert clock.offset == pytest.approx(-off, abs=10)
    assert clock.low <= -off <= clock.high


def test_arrivals_bound_the_offset() -> None:
    """Nobody is photographed before they arrive: worked by hand, the latest arrival binds."""
    day = Day(clock_off=OFF)
    for person in range(1, 21):
        day.arrived[person] = day.now - person
        day.person(person)
    ((clock,),) = match(day.evidence()).clocks
    assert clock.tied_by is TiedBy.ARRIVALS
    assert clock.low <= -OFF <= clock.high


def test_no_slates_no_clock() -> None:
    clock = find_clock([], {}, {}, {}, [])
    assert (clock.tied_by, clock.slates) == (TiedBy.NOTHING, 0)


def test_a_slate_shown_twice_leaves_the_offset_open() -> None:
    """One slate, shown at nine and at ten: either may be the one that was photographed."""
    clock = find_clock([Sighting(5000.0, "A")], {"A": 1}, {}, {}, [Shown(NINE, 1), Shown(NINE + 3600, 1)])
    assert clock.low <= NINE - 5000
    assert clock.high >= NINE + 3600 - 5000


def cards_day(off: float, people: int, deck: int, shown: bool = False, wait: float = 120.0) -> Day:
    """Everybody gets the next card of a small deck, and hands it back after their portraits."""
    day = Day(clock_off=off, log_shown=shown)
    for person in range(1, people + 1):
        number = person % deck
        day.tie(number, person)
        day.arrived[person] = day.now
        day.now += wait
        day.slate(person, card(number))
        day.portraits(person)
    return day


@pytest.mark.parametrize("off", [0.0, OFF, 3 * 3600.0])
@pytest.mark.parametrize("wait", [90.0, 120.0])
@pytest.mark.parametrize("deck", [4, 7])
def test_cards_used_again_find_their_holder_on_a_wrong_clock(off: float, wait: float, deck: int) -> None:
    day = cards_day(off, people=60, deck=deck, shown=True, wait=wait)
    assert_all_named(day, verdicts(day.evidence()))


@pytest.mark.parametrize("off", [0.0, OFF])
@pytest.mark.parametrize("seed", range(4))
def test_a_small_deck_at_a_brisk_pace_names_nobody_wrongly(off: float, seed: int) -> None:
    """Slates that do not read make a false offset explain more people than the right one does."""
    rng = random.Random(seed)
    day = Day(clock_off=off, log_shown=True)
    waiting: list[tuple[int, int]] = []
    free = [1, 2, 3]
    for person in range(1, 71):
        number = free.pop(0)
        day.tie(number, person).arrived[person] = day.now
        waiting.append((person, number))
        if free:
            continue
        held, number = waiting.pop(rng.choice([0, 0, 1]))
        day.now += rng.uniform(20, 70)
        day.slate(held, card(number) if rng.random() > 0.05 else None)
        day.portraits(held)
        free.append(number)
    assert wrong(day, verdicts(day.evidence())) == []


@pytest.mark.parametrize("off", [0.0, OFF, 3 * 3600.0])
@pytest.mark.parametrize("deck", [3, 7])
def test_cards_are_never_another_holders_where_only_arrivals_tell(off: float, deck: int) -> None:
    day = cards_day(off, people=60, deck=deck)
    assert wrong(day, verdicts(day.evidence())) == []


def test_a_card_used_again_names_nobody_where_no_clock_can_be_found() -> None:
    """Two of a card's holders, one slate read: it may be of either."""
    day = Day()
    day.tie(1, 1).tie(2, 2)
    day.now += 600
    day.slate(2, card(2))
    day.portraits(2)
    day.now += 1800
    day.tie(2, 3)
    found = verdicts(day.evidence())
    assert names(found, day.ids(2)) == ["loose"] * 5
    assert {s.person for s in found[day.ids(2)[0]].suggestions} >= {2, 3}


def test_a_card_that_one_person_held_needs_no_clock() -> None:
    day = Day(timed=False)
    day.tie(1, 1)
    day.slate(1, card(1))
    day.portraits(1)
    assert names(verdicts(day.evidence()), day.ids(1)) == [1] * 5


def test_an_offset_explains_the_slates_it_is_found_from() -> None:
    ties = {"K": [Tie(1000.0, 1), Tie(2000.0, 2)], "L": [Tie(1500.0, 3)]}
    clock = find_clock([Sighting(100.0, "K"), Sighting(700.0, "L"), Sighting(1300.0, "K")], {}, ties, {}, [])
    assert 900 <= clock.low <= clock.high <= 1900


@pytest.mark.parametrize("shown", [True, False])
@pytest.mark.parametrize("seconds", [600.0, 3600.0])
@pytest.mark.parametrize("deck", [3, 7])
def test_a_clock_set_forward_at_noon_gives_no_card_to_another_holder(
    shown: bool, seconds: float, deck: int
) -> None:
    day = cards_day(OFF, people=60, deck=deck, shown=shown)
    half = len(day.frames) // 2
    later = [replace(f, taken=(f.taken or 0.0) + seconds) for f in day.frames[half:]]
    day.frames = [*day.frames[:half], *later]
    assert wrong(day, verdicts(day.evidence())) == []


def test_a_battery_changed_after_three_slates_settles_no_card() -> None:
    """Three slates agree on a false offset as easily as on the right one."""
    day = cards_day(0.0, people=60, deck=3, shown=True)
    day.frames = [
        replace(f, taken=(f.taken or 0.0) + 7200.0) if i < 18 else f for i, f in enumerate(day.frames)
    ]
    assert wrong(day, verdicts(day.evidence())) == []
