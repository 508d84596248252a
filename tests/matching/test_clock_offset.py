from __future__ import annotations

import math
import random
from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from onsite.matching.clock_offset import (
    DAY,
    ClockOffset,
    Observation,
    OffsetSource,
    agreement,
    clock_disagreement,
    find_clock_offset,
)
from onsite.matching.evidence import Evidence, SlateShown
from onsite.matching.match_frames import match
from onsite.simulator.accident_days.simulate import simulate
from tests.matching.days import NINE, Day, assert_all_named, card, names, verdicts, wrong

OFF = -63 * 60.0  # seconds that the camera is behind


@pytest.mark.parametrize("off", [0.0, OFF, 3600.0, -NINE])
def test_slates_shown_at_the_station_give_the_offset(off: float) -> None:
    day = Day(clock_off=off, log_shown=True).people(range(1, 21))
    ((clock,),) = (lane.clocks for lane in match(day.evidence()).lanes)
    assert clock.source is OffsetSource.SHOWN
    assert clock.offset == pytest.approx(-off, abs=10)
    assert clock.low <= -off <= clock.high


def test_arrivals_bound_the_offset() -> None:
    """Nobody is photographed before they arrive: worked by hand, the latest arrival binds."""
    day = Day(clock_off=OFF)
    for person in range(1, 21):
        day.arrived[person] = day.now - person
        day.person(person)
    ((clock,),) = (lane.clocks for lane in match(day.evidence()).lanes)
    assert clock.source is OffsetSource.ARRIVALS
    assert clock.low <= -OFF <= clock.high


SHOWN, ARRIVALS, SLATES = OffsetSource.SHOWN, OffsetSource.ARRIVALS, OffsetSource.CLOCK_SLATES


def seen(source: OffsetSource, *offsets: float) -> list[Observation]:
    """One observation for each offset, a minute apart."""
    return [one(source, NINE + 60.0 * n, offset) for n, offset in enumerate(offsets)]


def one(source: OffsetSource, taken: float, *offsets: float) -> Observation:
    if source is SHOWN:
        return Observation.of_slate_shown(taken, [taken + off for off in offsets])
    make = Observation.of_clock_slate if source is SLATES else Observation.of_arrival
    return make(taken, taken + offsets[0])


def ranges(*intervals: tuple[float, float]) -> list[Observation]:
    return [Observation(0.0, SLATES, (interval,)) for interval in intervals]


@pytest.mark.parametrize(
    ("intervals", "agreed", "most"),
    [
        (((8, 12), (11, 13), (14, 15)), [(11, 12)], 2),
        (((8, 12), (11, 13), (10, 12)), [(11, 12)], 3),
        (((8, 9), (8, 12), (10, 12)), [(8, 9), (10, 12)], 2),
    ],
)
def test_published_examples_of_agreeing_intervals(
    intervals: tuple[tuple[float, float], ...], agreed: list[tuple[float, float]], most: int
) -> None:
    """The worked examples of Marzullo's algorithm in the encyclopaedia's article of that name (from memory).
    In the third it picks the first of two equal ranges; here both stay."""
    assert agreement(ranges(*intervals)) == (agreed, most)


@given(
    st.lists(st.tuples(st.integers(0, 30), st.integers(0, 12)), max_size=12),
    st.integers(0, 4),
)
def test_agreement_is_what_counting_at_every_offset_says(
    intervals: list[tuple[int, int]], fewer: int
) -> None:
    found = ranges(*((low, low + length) for low, length in intervals))
    spans, most = agreement(found, fewer)
    for offset in (n / 2 for n in range(-2, 90)):
        count = sum(low <= offset <= low + length for low, length in intervals)
        assert count <= most
        assert (count >= max(most - fewer, 1)) == any(low <= offset <= high for low, high in spans)


@given(
    st.integers(5, 12),
    st.lists(st.floats(-1e6, 1e6), max_size=4),
    st.floats(-1e5, 1e5),
    st.randoms(use_true_random=False),
)
@settings(max_examples=60)
def test_fewer_than_half_wrong_never_move_a_clock(
    right: int, wild: list[float], off: float, rng: random.Random
) -> None:
    """The breakdown point of a median: whatever the fewer say."""
    shown = seen(SHOWN, *(off - rng.uniform(3, 25) for _ in range(right)))
    clock = find_clock_offset([*shown, *seen(SHOWN, *wild)])
    assert clock.source is SHOWN
    assert clock.low <= off <= clock.high
    slates = seen(SLATES, *(off + rng.uniform(-1, 1) for _ in range(right)))
    clock = find_clock_offset([*slates, *seen(SLATES, *wild)])
    assert clock.low <= off <= clock.high


@given(st.floats(-1e5, 1e5), st.lists(st.floats(0, 9000), min_size=20, max_size=40))
@settings(max_examples=30)
def test_arrivals_typed_in_late_do_not_rule_the_truth_out(off: float, late: list[float]) -> None:
    """One in ten."""
    waits = [900.0 + 10 * n for n in range(len(late))]
    typed = [
        off + after if n % 10 == 0 else off - wait
        for n, (wait, after) in enumerate(zip(waits, late, strict=True))
    ]
    clock = find_clock_offset(seen(ARRIVALS, *typed[1:]))
    assert clock.source is ARRIVALS
    assert clock.low <= off <= clock.high


def test_a_clock_slate_measures_to_a_second() -> None:
    clock = find_clock_offset([*seen(SLATES, 192.4), *seen(ARRIVALS, -500.0, -400.0)])
    assert (clock.source, clock.slates) == (SLATES, 1)
    assert clock.offset == pytest.approx(192.4)
    assert 188 < clock.low < 192 < 193 < clock.high < 197


def test_slates_shown_for_a_look_measure_nothing() -> None:
    """At the door, long before the portrait: no more than half agree."""
    clock = find_clock_offset([*seen(SHOWN, *(-240.0 * n for n in range(30))), *seen(ARRIVALS, -9000.0)])
    assert clock.source is ARRIVALS


def test_no_slates_no_clock() -> None:
    assert find_clock_offset([]) == ClockOffset()


def test_a_slate_shown_twice_leaves_the_offset_open() -> None:
    """Five slates, each shown at nine and at ten: either may be when they were photographed."""
    clock = find_clock_offset([one(SHOWN, NINE, -20.0, 3580.0) for _ in range(5)])
    assert clock.low <= 0 < 3600 <= clock.high


@pytest.mark.long
def test_the_slope_is_the_general_librarys() -> None:
    """Theil-Sen, against scipy.stats.theilslopes: one slate a day for a week, one of them wrong."""
    theilslopes = pytest.importorskip("scipy.stats").theilslopes
    drifts = (0.3, 2.2, 4.1, 900.0, 8.0, 10.2, 12.1)
    week = [one(SLATES, NINE + DAY * n, offset) for n, offset in enumerate(drifts)]
    agreeing = [(each.taken, drift) for each, drift in zip(week, drifts, strict=True) if drift < 100]
    clock = find_clock_offset(week)
    slope = theilslopes([drift for _, drift in agreeing], [taken / DAY for taken, _ in agreeing]).slope
    assert clock.drift == pytest.approx(slope)


def cards_day(off: float, people: int, deck: int, shown: bool = False, wait: float = 120.0) -> Day:
    """Everybody gets the next card of a small deck, and hands it back after their portraits."""
    return cards_day_of(Day(clock_off=off, log_shown=shown), people, deck, wait)


def cards_day_of(day: Day, people: int, deck: int, wait: float = 120.0) -> Day:
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
def test_with_a_clock_slate_every_card_is_its_holders(off: float, deck: int) -> None:
    day = Day(clock_off=off).clock_slate()
    cards_day_of(day, people=60, deck=deck)
    assert_all_named(day, verdicts(day.evidence()))


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


@pytest.mark.parametrize("seconds", [-86_400.0, 3600.0, 7200.0, 86_400.0])
def test_a_clock_set_in_the_middle_of_the_day_is_two_clocks(seconds: float) -> None:
    """A battery changed at noon, or the hour of summer time: each part has its own offset, and it is told."""
    day = Day(log_shown=True).people(range(1, 31))
    day.now += 1800
    day.clock_off = seconds
    day.people(range(31, 61))
    found = match(day.evidence())
    ((before, after),) = (lane.clocks for lane in found.lanes)
    assert before.offset == pytest.approx(0, abs=15)
    assert after.offset == pytest.approx(-seconds, abs=15)
    (jump,) = found.lanes[0].jumps
    assert jump.after == day.ids(31)[0] - 1
    assert jump.seconds == pytest.approx(seconds + (1870 if seconds < 0 else 0), abs=60)
    assert_all_named(day, verdicts(day.evidence()))


def test_two_cameras_disagree_where_no_one_time_fits_both() -> None:
    right, slow = ClockOffset(0, -60, 60), ClockOffset(3600, 3540, 3660)
    assert clock_disagreement(slow, right) == 3600
    assert clock_disagreement(right, slow) == -3600
    assert clock_disagreement(right, ClockOffset(80, 20, 140)) is None
    assert clock_disagreement(right, ClockOffset()) is None


def test_times_are_shown_as_the_camera_wrote_them_unless_that_is_wrong() -> None:
    assert ClockOffset(20, -40, 80).correction == 0
    assert ClockOffset(3600.4, 3540, 3660).correction == 3600


def shown_again(day: Day, moments: Iterable[float]) -> Iterator[Evidence]:
    """The evidence with one more slate shown: anybody's whose slate was read, at the set or at the door, at
    one of the moments."""
    evidence = day.evidence()
    for station, person, at in product(("set-A", "door-1"), day.arrived, moments):
        yield replace(evidence, slates_shown=[*evidence.slates_shown, SlateShown(at, person, station)])


@pytest.mark.long
@pytest.mark.parametrize("shown", [0, 1, 3, 20])
def test_one_slate_shown_again_takes_no_name_away(shown: int) -> None:
    """Whenever it was: during the shoot, at night, half a year later."""
    day = cards_day(OFF, people=20, deck=7, shown=True, wait=90.0)
    day.shown = day.shown[:shown]
    before = verdicts(day.evidence())
    assert wrong(day, before) == []
    moments = NINE - 86_400, NINE + 1000, NINE + 1800.0, NINE + 4 * 3600, NINE + 170 * DAY
    for evidence in shown_again(day, moments):
        now = verdicts(evidence)
        assert [now[frame].person for frame in day.truth] == [before[frame].person for frame in day.truth]


def test_several_slates_shown_again_do_not_split_a_clock() -> None:
    day = cards_day(OFF, people=20, deck=7, shown=True, wait=90.0)
    day.shown += [SlateShown(NINE + 7000.0 * number, number, "door-1") for number in range(1, 15)]
    assert_all_named(day, verdicts(day.evidence()))
    ((clock,),) = (lane.clocks for lane in match(day.evidence()).lanes)
    assert clock.low <= -OFF <= clock.high < math.inf


@pytest.mark.long
@pytest.mark.parametrize("seed", [3, 4])
def test_slates_shown_again_take_no_names_on_simulated_days(seed: int) -> None:
    simulated = simulate(seed, 60, {})
    evidence, rng = simulated.evidence, random.Random(seed)
    begins, ends = (pick(frame.taken or 0.0 for frame in evidence.frames) for pick in (min, max))
    again = [
        SlateShown(rng.uniform(begins, ends), person, rng.choice(("door-1", "set-1")))
        for person in range(1, 61)
    ]
    before = {v.frame: v.person for v in match(evidence).verdicts}
    assert {
        v.frame: v.person
        for v in match(replace(evidence, slates_shown=[*evidence.slates_shown, *again])).verdicts
    } == before
