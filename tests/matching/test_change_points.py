from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from onsite.matching.evidence import Override, Symbol
from tests.matching.days import Day, assert_all_named, clothes, code, look, names, verdicts, wrong

BEGIN, REST = range(1, 10), range(11, 15)


@pytest.mark.parametrize("looks", ["own", "alike", "none"])
def test_a_forgotten_slate_leaves_the_next_person_loose(looks: str) -> None:
    day = Day(looks=looks).people(BEGIN).person(10, "forgotten").people(REST)
    found = verdicts(day.evidence())
    assert names(found, day.ids(9)) == [9] * 5
    assert names(found, day.ids(10)) == ["loose"] * 5
    assert found[day.ids(10)[0]].doubt
    assert 10 in [suggestion.person for suggestion in found[day.ids(10)[0]].suggestions[:3]]


def test_two_forgotten_slates_one_after_the_other() -> None:
    day = Day().people(BEGIN).person(10, "forgotten").person(30, "forgotten").people(REST)
    found = verdicts(day.evidence())
    assert names(found, [*day.ids(10), *day.ids(30)]) == ["loose"] * 10


@pytest.mark.parametrize("away", [20.0, 25.0, 30.0, 60.0, 600.0])
def test_a_forgotten_slate_is_noticed_at_any_pace_where_looks_tell(away: float) -> None:
    day = Day().people(BEGIN).person(10, "forgotten", away=away).people(REST)
    found = verdicts(day.evidence())
    assert wrong(day, found) == []
    assert names(found, day.ids(9)) == [9] * 5


@pytest.mark.parametrize("pause", [60.0, 600.0, 7200.0])
def test_a_long_pause_with_the_same_look_keeps_the_name(pause: float) -> None:
    day = Day().people(BEGIN)
    day.now += pause
    day.portraits(9).people(REST)
    assert_all_named(day, verdicts(day.evidence()))


def test_nobody_stays_through_the_night() -> None:
    """However much whoever is on the next morning's first frames looks like the last one of the day."""
    day = Day().people(BEGIN)
    day.now += 12 * 3600.0
    day.portraits(9).people(REST)
    assert names(verdicts(day.evidence()), day.ids(9)) == [9] * 5 + ["loose"] * 5


def test_two_people_on_a_day_too_short_to_know_its_looks() -> None:
    """Three runs tell no scale: a pause as for a change of people is enough of a doubt."""
    day = Day(looks="alike").people([1, 2]).person(3, "forgotten")
    found = verdicts(day.evidence())
    assert names(found, day.ids(2)) == [2] * 5
    assert names(found, day.ids(3)) == ["loose"] * 5


def test_somebody_dressed_nearly_like_the_one_before() -> None:
    """Half of their colours are the same: after a pause as for a change that is not the same look."""
    day = Day().people(BEGIN).person(10, "forgotten").people(REST)
    shares = (clothes(9) + clothes(10)) / 2
    rng = np.random.default_rng(1)
    mine = set(day.ids(10))
    day.frames = [replace(f, look=look(shares, rng)) if f.id in mine else f for f in day.frames]
    assert names(verdicts(day.evidence()), day.ids(10)) == ["loose"] * 5


def test_a_battery_changed_between_two_people_and_the_slate_forgotten() -> None:
    """The clock starts again at 1970: nobody knows how long the pause was."""
    day = Day(looks="alike").people(BEGIN).person(10, "forgotten").people(REST)
    first = day.frames.index(next(f for f in day.frames if f.id == day.ids(10)[0]))
    start = day.frames[first].taken or 0.0
    day.frames = [
        *day.frames[:first],
        *(replace(f, taken=(f.taken or 0) - start) for f in day.frames[first:]),
    ]
    found = verdicts(day.evidence())
    assert names(found, day.ids(9)) == [9] * 5
    assert names(found, day.ids(10)) == ["loose"] * 5


@pytest.mark.parametrize("count", [1, 2])
def test_the_next_person_has_just_stepped_in_and_more_frames_will_follow(count: int) -> None:
    """While the day goes on, few frames so far are no sign that it is still the person before."""
    day = Day(looks="none").people(range(1, 16)).person(20, "forgotten", count=count, away=8.0)
    assert names(verdicts(day.evidence()), day.ids(20)) == ["loose"] * count


def test_frames_set_aside_between_two_people_take_no_name_from_the_first() -> None:
    """What is looked at ahead of a frame ends where a hand has decided: behind it stands somebody else."""
    day = Day().people(BEGIN)
    last = day.frame(9, after=13.0)  # a longish pause, and then one more
    day.person(90, "forgotten").person(10, "forgotten").people(REST)
    evidence = replace(day.evidence(), overrides=dict.fromkeys(day.ids(90), Override(None)))
    found = verdicts(evidence)
    assert names(found, [*day.ids(9)[:5], last]) == [9] * 6
    assert names(found, day.ids(10)) == ["loose"] * 5


@pytest.mark.parametrize("tester", [90, None], ids=["a helper", "nobody"])
def test_whoever_comes_back_after_a_test_of_the_light_has_their_name(tester: int | None) -> None:
    day = Day().people(BEGIN).person(10, count=3)
    test = [day.frame(tester, after=20.0), day.frame(tester)]
    if tester is None:
        empty = bytes(len(day.frames[0].look or b""))
        day.frames = [replace(f, look=empty) if f.id in test else f for f in day.frames]
    day.frame(10, after=15.0)
    day.portraits(10, 3).people(REST)
    found = verdicts(day.evidence())
    assert names(found, test) == ["loose"] * 2
    assert names(found, day.ids(10)) == [10] * 7


def test_whoever_stays_after_a_test_of_the_light_has_no_name() -> None:
    """The helper was the next one in the queue, who has forgotten the slate."""
    day = Day().people(BEGIN).person(10, count=3)
    day.frame(11, after=20.0)
    day.frame(11, after=12.0)
    day.portraits(11, 4).people(range(12, 15))
    found = verdicts(day.evidence())
    assert names(found, day.ids(10)) == [10] * 3
    assert names(found, day.ids(11)) == ["loose"] * 6


def test_a_badge_that_does_not_read_right_after_a_slate_leaves_the_frames_loose() -> None:
    """It may be the right slate after a wrong one. Their person is suggested."""
    day = Day().people(BEGIN).person(10, count=0)
    day.frame(10, [Symbol(None)])
    day.portraits(10).people(REST)
    found = verdicts(day.evidence())
    assert names(found, day.ids(10)[1:]) == ["loose"] * 5
    assert 10 in [suggestion.person for suggestion in found[day.ids(10)[1]].suggestions[:2]]


def test_a_code_that_does_not_read_after_somebody_elses_slate_may_be_the_right_one() -> None:
    """Person 14's card was held up by mistake: their own turn comes later, with the same card."""
    day = Day().people(BEGIN).arrive(10)
    day.now += 40.0
    day.slate(10, code(14))
    day.slate(10, None)
    day.portraits(10).people(REST)
    found = verdicts(day.evidence())
    assert wrong(day, found) == []
    assert names(found, day.ids(10)) == ["loose"] * 5


def test_a_frame_that_nobody_could_look_at_takes_no_name_from_those_behind_it() -> None:
    day = Day().people(BEGIN).person(10, count=3)
    day.frame(10, after=11.0, seen=False)
    day.frame(10, after=11.0)
    day.portraits(10, 3).people(REST)
    assert names(verdicts(day.evidence()), day.ids(10)) == [10] * 8


def test_a_frame_that_nobody_could_look_at_may_be_the_next_ones_slate() -> None:
    day = Day().people(BEGIN).person(10, count=4).arrive(11)
    day.slates.add(day.frame(11, after=40.0, seen=False))
    day.portraits(11).people(range(12, 15))
    found = verdicts(day.evidence())
    assert names(found, day.ids(10)) == [10] * 4
    assert names(found, day.ids(11)) == ["loose"] * 5


def test_tail_slates_cast_no_doubt_on_the_frames_of_whoever_was_there_before() -> None:
    """Between a head slate and another person's tail slate people change once: where the look does."""
    day = Day()
    for person in range(1, 20, 2):
        day.person(person)
        day.frame(person, after=14.0)
        day.person(person + 1, "tail")
    assert_all_named(day, verdicts(day.evidence()))


def test_a_run_of_thousands_of_frames() -> None:
    """Nobody shows a slate any more. Frames times ways in which somebody may have come would be too many."""
    day = Day().people(range(1, 15)).person(15, count=8000)
    assert_all_named(day, verdicts(day.evidence()))
