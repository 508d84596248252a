"""Arriving at the door, and taking it back."""

import multiprocessing
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime
from pathlib import Path

import pytest

from onsite.checkin.check_in import check_in, undo_arrival
from onsite.checkin.deck_cards import make_deck, read_card_assignments
from onsite.checkin.waiting_people import Arrival
from onsite.core.errors import Problem
from onsite.roster.load_roster import load_list
from onsite.roster.person_lookup import AmbiguousPerson
from onsite.roster.read_people import read_people
from onsite.store.events import EventKind, newest_event_id, read_events
from onsite.store.shoot import Shoot, open_shoot

NINE = datetime.fromisoformat("2026-06-13T09:00+02:00")
TEN = datetime.fromisoformat("2026-06-13T10:00+02:00")


def events(shoot: Shoot) -> int:
    with shoot.reading() as session:
        return newest_event_id(session)


def test_people_are_numbered_in_the_order_in_which_they_arrive(shoot: Shoot) -> None:
    arrivals = [check_in(shoot, "S-2", at=NINE, station="door-1"), check_in(shoot, "Mira Okafor")]
    assert [(one.person.key, one.sequence, one.is_repeated) for one in arrivals] == [
        ("S-2", 1, False),
        ("S-1", 2, False),
    ]
    assert (arrivals[0].at, arrivals[0].station, arrivals[0].person.sequence) == (NINE, "door-1", 1)
    with shoot.reading() as session:
        numbers = {one.key: one.sequence for one in read_people(session)}
        recorded = [(one.kind, one.at, one.details) for one in read_events(session, (EventKind.ARRIVED,))]
    assert numbers == {"S-1": 2, "S-2": 1, "S-3": None, "S-4": None, "S-5": None}
    assert recorded[0] == (EventKind.ARRIVED, NINE, {"sequence": 1})


def test_a_time_without_an_offset_is_the_shoots(shoot: Shoot) -> None:
    assert check_in(shoot, "S-1", at=datetime(2026, 6, 13, 9)).at == NINE


def test_a_time_before_all_time_is_told(shoot: Shoot) -> None:
    with pytest.raises(Problem, match="not a time"):
        check_in(shoot, "S-1", at=datetime(1, 1, 1))


def test_arriving_twice_changes_nothing(shoot: Shoot) -> None:
    check_in(shoot, "S-1", at=NINE, station="door-1")
    before = events(shoot)
    again = check_in(shoot, "1", at=TEN, station="door-2")
    assert (again.sequence, again.is_repeated, again.at, again.station) == (1, True, NINE, "door-1")
    assert events(shoot) == before


def test_a_name_of_two_people_changes_nothing(shoot: Shoot) -> None:
    before = events(shoot)
    with pytest.raises(AmbiguousPerson) as told:
        check_in(shoot, "Anna Lindqvist")
    assert {one.key for one in told.value.candidates} == {"S-3", "S-4"}
    assert events(shoot) == before


@pytest.mark.parametrize(
    "text", ["", "  ", "Nobody Such", "'; DROP TABLE person; --", "\x1b[2J", "99", "%", "*"]
)
def test_a_text_that_means_nobody_changes_nothing(shoot: Shoot, text: str) -> None:
    before = events(shoot)
    with pytest.raises(Problem):
        check_in(shoot, text)
    assert events(shoot) == before


def test_taking_back_keeps_the_number_for_the_same_person(shoot: Shoot) -> None:
    check_in(shoot, "S-1", at=NINE)
    back = undo_arrival(shoot, "S-1", "door-1")
    assert (back.person.key, back.sequence, back.at) == ("S-1", 1, NINE)
    assert check_in(shoot, "S-2").sequence == 2
    again = check_in(shoot, "S-1", at=TEN)
    assert (again.sequence, again.is_repeated, again.at) == (1, False, TEN)


def test_who_has_not_arrived_cannot_be_taken_back(shoot: Shoot) -> None:
    with pytest.raises(Problem, match="has not arrived"):
        undo_arrival(shoot, "S-1")
    check_in(shoot, "S-1")
    undo_arrival(shoot, "S-1")
    with pytest.raises(Problem, match="has not arrived"):
        undo_arrival(shoot, "S-1")


def test_taking_back_lets_go_of_the_cards_that_came_with_it(shoot: Shoot) -> None:
    code = make_deck(shoot, 3)[1].code
    check_in(shoot, "S-1", at=NINE, card=2)
    check_in(shoot, "S-2", at=TEN, card=2)
    check_in(shoot, "S-2", at=TEN, card=3)
    first = check_in(shoot, "S-1").person.name
    assert undo_arrival(shoot, "S-2").cards == f"Card 2 is {first}'s. Card 3 is free."
    with shoot.reading() as session:
        assert read_card_assignments(session) == {code: [(NINE, read_people(session)[0].id)]}


def test_a_card_goes_from_one_person_to_the_next(shoot: Shoot) -> None:
    card = make_deck(shoot, 1)[0]
    first = check_in(shoot, "S-1", at=NINE, card=1)
    second = check_in(shoot, "S-2", at=TEN, card=card.code.lower())
    assert (first.card, first.card_before) == (1, None)
    assert (second.card, second.card_before) == (1, "Mira Okafor")
    with shoot.reading() as session:
        mira, tomas, *_ = read_people(session)
        assert read_card_assignments(session) == {card.code: [(NINE, mira.id), (TEN, tomas.id)]}


def test_a_card_can_be_tied_to_somebody_who_is_here_already(shoot: Shoot) -> None:
    make_deck(shoot, 1)
    check_in(shoot, "S-1", at=NINE)
    late = check_in(shoot, "S-1", at=TEN, card="1")
    assert (late.is_repeated, late.at, late.card) == (True, NINE, 1)
    before = events(shoot)
    assert check_in(shoot, "S-1", card="1").card == 1
    assert events(shoot) == before


@pytest.mark.parametrize("card", ["9", 0, "", "NX34ACDEFHJK", "-1", "x" * 300, "S-1", "9" * 30])
def test_an_unknown_card_refuses_the_arrival(shoot: Shoot, card: str | int) -> None:
    make_deck(shoot, 2)
    before = events(shoot)
    with pytest.raises(Problem, match="There is no card"):
        check_in(shoot, "S-1", card=card)
    assert events(shoot) == before
    with shoot.reading() as session:
        assert all(one.sequence is None for one in read_people(session))


def test_a_persons_own_code_is_no_card(shoot: Shoot) -> None:
    with shoot.reading() as session:
        code = read_people(session)[0].code
    with pytest.raises(Problem, match="There is no card"):
        check_in(shoot, "S-2", card=code)


def test_withdrawn_people_arrive_and_it_is_said(shoot: Shoot, tmp_path: Path) -> None:
    shorter = tmp_path / "shorter.csv"
    shorter.write_text("key,given,family,group\nS-1,Mira,Okafor,Soprano\n", encoding="utf-8")
    load_list(shoot, shorter)
    assert check_in(shoot, "S-2").withdrawn
    assert not check_in(shoot, "S-1").withdrawn


def _arrive_elsewhere(folder: Path, keys: list[str]) -> list[int]:
    shoot = open_shoot(folder)
    try:
        return [check_in(shoot, key).sequence for key in keys]
    finally:
        shoot.engine.dispose()


def test_two_stations_never_give_one_number_twice(shoot: Shoot, tmp_path: Path) -> None:
    keys = [[f"{side}-{i}" for i in range(10)] for side in "AB"]
    with (tmp_path / "roster.csv").open("a", encoding="utf-8") as roster:
        roster.writelines(f"{key},Guest,{key},Alto\n" for key in keys[0] + keys[1])
    load_list(shoot, tmp_path / "roster.csv")
    with multiprocessing.get_context("spawn").Pool(2) as pool:
        new = [["S-1", "S-2", *keys[0]], ["S-3", "S-4", "S-5", *keys[1]]]
        both = pool.starmap(_arrive_elsewhere, [(shoot.folder, side) for side in new])
    assert sorted(both[0] + both[1]) == list(range(1, 26))


def test_the_same_person_at_two_doors_at_once_arrives_once(shoot: Shoot) -> None:
    def arrive(_: int) -> Arrival:
        return check_in(shoot, "S-1")

    with ThreadPoolExecutor(4) as pool:
        arrivals = list(pool.map(arrive, range(8)))
    assert {one.sequence for one in arrivals} == {1}
    assert sorted(one.is_repeated for one in arrivals) == [False] + [True] * 7
    with shoot.reading() as session:
        assert len(read_events(session, (EventKind.ARRIVED,))) == 1
