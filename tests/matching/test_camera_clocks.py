"""The clocks of a camera over a day: measured, set in between, or open."""

from __future__ import annotations

from dataclasses import replace

import pytest

from onsite.matching.clock_offset import ClockOffset, OffsetSource
from onsite.matching.evidence import FrameKind, FrameVerdict, SlateShown
from onsite.matching.match_frames import MatchResult, match
from onsite.matching.slate_status import SlateStatus
from onsite.simulator.accident_days.score_simulated_match import score
from onsite.simulator.accident_days.simulate import simulate
from tests.matching.days import Day, assert_all_named, card, names, verdicts, wrong

HOUR = 3600.0


def clocks(found: MatchResult) -> list[ClockOffset]:
    (lane,) = found.lanes
    return list(lane.clocks)


def cards_day(day: Day, people: int, deck: int = 5, first: int = 1) -> Day:
    """Everybody gets the next card of a small deck, and hands it back after their portraits."""
    for person in range(first, first + people):
        number = person % deck
        day.tie(number, person)
        day.arrived[person] = day.now
        day.now += 120
        day.slate(person, card(number))
        day.portraits(person)
    return day


@pytest.mark.parametrize("off", [-192.0, 0.0, 40.0, -HOUR, 4018 * 86_400.0])
def test_one_clock_slate_measures_the_clock(off: float) -> None:
    day = Day(clock_off=off).clock_slate().people(range(1, 6))
    (clock,) = clocks(match(day.evidence()))
    assert clock.source is OffsetSource.CLOCK_SLATES
    assert clock.offset == pytest.approx(-off, abs=1)
    assert clock.low <= -off <= clock.high


def test_a_clock_slate_is_a_slate_and_says_nothing_of_who_stands_there() -> None:
    day = Day().people(range(1, 8)).person(8, count=3)
    before = len(day.frames)
    day.clock_slate().portraits(8, 3).people(range(9, 15))
    found = verdicts(day.evidence())
    slate = found[day.frames[before].id]
    assert slate == FrameVerdict(slate.frame, FrameKind.SLATE, doubt=SlateStatus.CLOCK.value, run=slate.frame)
    assert names(found, day.ids(8)) == [8] * 6


def test_another_shoots_clock_slate_measures_nothing() -> None:
    day = Day().clock_slate().people(range(1, 4))
    evidence = replace(day.evidence(), shoot="WXYW")
    assert clocks(match(evidence))[0].source is OffsetSource.NOTHING


@pytest.mark.parametrize("seconds", [-2 * HOUR, -40.0, 900.0, HOUR, 86_400.0])
def test_a_clock_slate_again_after_a_change_measures_both(seconds: float) -> None:
    day = cards_day(Day().clock_slate(), 20)
    day.now += 1800
    day.clock_off += seconds
    cards_day(day.clock_slate(), 20, first=21)
    found = match(day.evidence())
    before, after = clocks(found)
    assert before.offset == pytest.approx(0, abs=1)
    assert after.offset == pytest.approx(-seconds, abs=1)
    assert_all_named(day, verdicts(day.evidence()))


def test_one_wrong_clock_slate_between_two_that_agree_is_outvoted() -> None:
    day = cards_day(Day().clock_slate(), 10).clock_slate(error=5000.0)
    cards_day(day, 10, first=11).clock_slate()
    (clock,) = clocks(match(day.evidence()))
    assert clock.low <= 0 <= clock.high
    assert clock.slates == 2
    assert_all_named(day, verdicts(day.evidence()))


@pytest.mark.parametrize("seconds", [1200.0, HOUR])
def test_people_who_seem_to_have_waited_through_a_break_put_the_clock_in_doubt(seconds: float) -> None:
    """Set forward in a break, and not measured again: cards name nobody wrongly, and tickets everybody."""
    day = cards_day(Day().clock_slate(), 20)
    day.now += 300
    day.clock_off += seconds
    cards_day(day, 20, first=21)
    assert wrong(day, verdicts(day.evidence())) == []
    before, after = clocks(match(day.evidence()))
    assert before.high - before.low < 10
    assert after.low <= -seconds <= after.high


def test_a_break_before_the_first_clock_slate_puts_the_clock_before_it_in_doubt() -> None:
    """Set forward in the break: what one clock slate says in the evening did not hold in the morning."""
    day = cards_day(Day(), 20)
    day.now += 300
    day.clock_off += HOUR
    cards_day(day, 20, first=21).clock_slate()
    assert wrong(day, verdicts(day.evidence())) == []
    before, after = clocks(match(day.evidence()))
    assert before.low <= 0.0 <= before.high
    assert after.high - after.low < 10


def test_a_single_slate_shown_since_does_not_take_that_doubt_away() -> None:
    """Somebody looks at their ticket at the set: that is no measure of a clock."""
    day = cards_day(Day().clock_slate(), 20)
    day.now += 300
    day.clock_off += HOUR
    cards_day(day, 20, first=21)
    day.shown.append(SlateShown(day.now - 60.0, 40, day.station))
    before, after = clocks(match(day.evidence()))
    assert before.high - before.low < 10
    assert after.low <= -HOUR <= after.high


def test_arrivals_alone_never_say_who_held_a_card() -> None:
    day = cards_day(Day(), 20)
    found = verdicts(day.evidence())
    assert wrong(day, found) == []
    assert names(found, day.ids(7)) == ["loose"] * 5


@pytest.mark.long
@pytest.mark.parametrize("fault", ["clock_hours", "clock_day", "clock_drift"])
def test_with_a_clock_slate_a_wrong_clock_costs_no_name(fault: str) -> None:
    """Simulated days on which deck cards are used again, against the same days with right clocks."""
    for seed in (41, 42):
        faulty = simulate(seed, 80, {"cards_again": 1.0, fault: 1.0}, clock_slates=1)
        right = simulate(seed, 80, {"cards_again": 1.0}, clock_slates=1)
        results = [score(day, match(day.evidence)) for day in (faulty, right)]
        assert [one.wrong for one in results] == [0, 0]
        assert results[0].loose <= results[1].loose
