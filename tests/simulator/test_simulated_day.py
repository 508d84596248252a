from __future__ import annotations

from datetime import timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from onsite.core.codes import parse_slate_code
from onsite.simulator.invented_exposure import CAMERAS, ExposureKind, SimulatedExposure
from onsite.simulator.planned_day import AccidentKind as Accident
from onsite.simulator.simulated_day import OTHER_SHOOT_MARK, SimulatedDay, simulate_day
from tests.simulator.invented import OPENS, Invented, invented

DAYS = [(people, seed) for people in (40, 90) for seed in (1, 2, 3)]


@pytest.fixture(params=DAYS, ids=str)
def told(request: pytest.FixtureRequest) -> Invented:
    return invented(*request.param)


def frames_of(day: SimulatedDay, person: str | None, outfit: int = 0) -> list[SimulatedExposure]:
    return [e for e in day.exposures if e.person == person and e.outfit == outfit]


def struck(day: SimulatedDay, kind: Accident) -> list[str]:
    return [accident.person for accident in day.accidents if accident.kind is kind and accident.person]


def test_the_same_seed_tells_the_same_day_and_another_seed_another():
    one = invented(40, 7)
    again = simulate_day(one.guests, one.codes, one.cards, 7, OPENS)
    assert again == one.day
    assert simulate_day(one.guests, one.codes, one.cards, 8, OPENS).exposures != one.day.exposures


@given(people=st.integers(0, 120), seed=st.integers(0, 30))
@settings(max_examples=25, deadline=None)
def test_every_frame_has_one_truth_and_every_person_one_fate(people: int, seed: int):
    told = invented(people, seed)
    day = told.day
    assert len({(e.camera.label, e.path) for e in day.exposures}) == len(day.exposures)
    for e in day.exposures:
        assert (e.person is None) == (e.kind in (ExposureKind.TEST, ExposureKind.CLOCK_SLATE))
        assert (e.slate is not None) == (e.kind in (ExposureKind.SLATE, ExposureKind.CLOCK_SLATE))
    photographed = {e.person for e in day.exposures if e.kind is ExposureKind.PORTRAIT}
    walk_ins = {guest.key for guest in day.walk_ins}
    fates = [photographed - walk_ins, set(day.never_came), set(day.never_shot)]
    assert sum(map(len, fates)) == people
    assert set.union(*fates) == {guest.key for guest in told.guests}


def test_every_accident_happens(told: Invented):
    assert {accident.kind for accident in told.day.accidents} == set(Accident)
    assert all("{" not in accident.description for accident in told.day.accidents)


def test_accidents_strike_about_two_in_a_hundred():
    kinds = [accident.kind for accident in invented(1000, 1).day.accidents]
    for kind in (Accident.FORGOTTEN, Accident.UNREADABLE, Accident.TAIL, Accident.WALK_IN):
        assert kinds.count(kind) == 20


def test_a_slate_comes_first_but_for_the_accidents(told: Invented):
    day = told.day
    for person in {e.person for e in day.exposures if e.person}:
        kinds = [e.kind for e in frames_of(day, person)]
        portraits = kinds.count(ExposureKind.PORTRAIT)
        assert 4 <= portraits <= 8
        expected = [ExposureKind.SLATE] + [ExposureKind.PORTRAIT] * portraits
        if person in struck(day, Accident.FORGOTTEN):
            expected = expected[1:]
        if person in struck(day, Accident.TWICE):
            expected = [ExposureKind.SLATE, *expected]
        if person in struck(day, Accident.TAIL):
            expected = expected[::-1]
        assert kinds == expected


def test_slates_say_the_code_of_who_holds_them(told: Invented):
    day = told.day
    card_of = {c.person: c.card for c in day.check_ins if c.card}
    for e in day.exposures:
        if e.slate is None or e.person is None:
            continue
        if e.person in struck(day, Accident.OTHER_SHOOT):
            code = parse_slate_code(e.slate.code)
            assert code is not None
            assert code.shoot == OTHER_SHOOT_MARK
        elif e.person in card_of:
            assert e.slate.code == told.cards[card_of[e.person]]
        else:
            assert e.slate.code == told.codes[e.person]
        assert e.slate.upside_down == (e.person in struck(day, Accident.TAIL))
        assert (e.slate.spoilt is not None) == (e.person in struck(day, Accident.UNREADABLE))


def test_who_comes_back_wears_something_else_and_shows_the_slate_again(told: Invented):
    for person in struck(told.day, Accident.COMES_BACK):
        again = frames_of(told.day, person, outfit=1)
        assert again[0].kind is ExposureKind.SLATE
        assert again[0].at > frames_of(told.day, person)[-1].at + timedelta(minutes=1)


def test_a_badge_hangs_in_the_portraits_of_its_wearer(told: Invented):
    wearers = {e.person for e in told.day.exposures if e.badge}
    assert wearers == set(struck(told.day, Accident.BADGE))
    assert all(parse_slate_code(e.badge) is None for e in told.day.exposures if e.badge)


def test_test_shots_open_the_day_and_come_again_in_its_middle(told: Invented):
    for camera in CAMERAS:
        kinds = [e.kind for e in told.day.exposures if e.camera == camera]
        assert kinds[:4] == [ExposureKind.CLOCK_SLATE] + [ExposureKind.TEST] * 3
        assert ExposureKind.TEST in kinds[len(kinds) // 4 : -len(kinds) // 4]


def test_people_arrive_three_to_twenty_five_minutes_before_their_first_frame(told: Invented):
    for check_in in told.day.check_ins:
        frames = frames_of(told.day, check_in.person)
        if check_in.person in told.day.never_shot:
            assert frames == []
        else:
            minutes = (frames[0].at - check_in.at).total_seconds() / 60
            assert 3 <= minutes <= 25.1


def test_a_deck_card_is_in_one_hand_at_a_time(told: Invented):
    held = [c for c in told.day.check_ins if c.card]
    for card in {c.card for c in held}:
        holders = [c for c in held if c.card == card]
        for one, following in pairwise(holders):
            assert frames_of(told.day, one.person)[-1].at < following.at


def test_a_walk_in_has_a_card_and_is_not_on_the_list(told: Invented):
    keys = {guest.key for guest in told.guests}
    newcomers = [c for c in told.day.check_ins if c.walk_in]
    assert newcomers
    assert all(c.card and c.person not in keys for c in newcomers)


def test_a_slate_on_a_screen_was_shown_just_before_its_frame():
    showings = [(told.day, s) for told in (invented(*day) for day in DAYS) for s in told.day.showings]
    assert showings
    for day, showing in showings:
        first = frames_of(day, showing.person)[0]
        assert timedelta(0) <= first.at - showing.at <= timedelta(seconds=5)


def test_the_counter_goes_from_9999_to_0001_in_a_new_folder(told: Invented):
    """As DCF has it (CIPA DC-009): 0001 to 9999 in a file name, 100 and up in a folder's."""
    frames = [e for e in told.day.exposures if e.camera.label == "A"]
    last, first = next((a, b) for a, b in pairwise(frames) if b.counter < a.counter)
    assert (last.path, first.path) == ("DCIM/100FESTI/_FCA9999.JPG", "DCIM/101FESTI/_FCA0001.JPG")
    assert all(b.counter == a.counter % 9999 + 1 for a, b in pairwise(frames))


def test_camera_clocks_are_wrong_by_what_they_are_said_to_be():
    for e in invented().day.exposures:
        # Summer time in Vienna is UTC+2.
        wrong = e.camera_time - (e.at.replace(tzinfo=None) + timedelta(hours=2))
        assert wrong == {"A": timedelta(seconds=41), "B": -timedelta(hours=1, minutes=3)}[e.camera.label]
        assert e.offset == {"A": "+02:00", "B": None}[e.camera.label]
        assert e.subsec == f"{e.camera_time:%f}"[:2]


def test_frames_of_a_camera_are_in_order_and_people_some_time_apart(told: Invented):
    for camera in CAMERAS:
        frames = [e for e in told.day.exposures if e.camera == camera]
        for one, following in pairwise(frames):
            pause = (following.at - one.at).total_seconds()
            assert pause >= (20 if following.person and one.person != following.person else 3)


def test_a_large_shoot_spans_days_and_sleeps_at_night():
    told = invented(1200, 1)
    hours = {e.at.astimezone(OPENS.tzinfo).hour for e in told.day.exposures}
    assert hours <= set(range(8, 19))
    assert len({e.at.date() for e in told.day.exposures}) > 1


def test_a_deck_that_is_too_small_is_said_to_be():
    told = invented()
    with pytest.raises(ValueError, match="deck"):
        simulate_day(told.guests, told.codes, {}, 1, OPENS)
