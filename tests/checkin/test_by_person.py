"""At the door by person, as the screens do it."""

import multiprocessing
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from onsite.checkin.check_in import assign_deck_card, check_in_person, record_slate_shown, undo_arrival_of
from onsite.checkin.deck_cards import make_deck, read_card_assignments
from onsite.checkin.waiting_people import Arrival
from onsite.core.errors import Problem
from onsite.roster.read_people import read_people
from onsite.store.events import EventKind, newest_event_id, read_events
from onsite.store.shoot import Shoot, open_shoot


def at(shoot: Shoot, minute: int) -> datetime:
    return datetime.combine(shoot.day, datetime.min.time(), shoot.zone) + timedelta(hours=9, minutes=minute)


def ids(shoot: Shoot) -> list[int]:
    with shoot.reading() as session:
        return [one.id for one in read_people(session)]


def test_arriving_and_taking_back(shoot: Shoot) -> None:
    first, second, *_ = ids(shoot)
    came = check_in_person(shoot, second, "door-1", at=at(shoot, 1))
    assert (came.person.id, came.sequence, came.station, came.is_repeated) == (second, 1, "door-1", False)
    assert check_in_person(shoot, first, "door-2").sequence == 2
    back = undo_arrival_of(shoot, second, "door-1")
    assert (back.person.id, back.sequence, back.at) == (second, 1, at(shoot, 1))
    with pytest.raises(Problem, match="has not arrived"):
        undo_arrival_of(shoot, second)
    assert check_in_person(shoot, second).sequence == 1


def test_an_arrival_tells_which_event_it_is(shoot: Shoot) -> None:
    first = ids(shoot)[0]
    came = check_in_person(shoot, first)
    again = check_in_person(shoot, first)
    with shoot.reading() as session:
        (event,) = read_events(session, (EventKind.ARRIVED,))
    assert came.event == again.event == event.id


def test_nobody_changes_nothing(shoot: Shoot) -> None:
    with shoot.reading() as session:
        before = newest_event_id(session)
    for ask in (check_in_person, undo_arrival_of, record_slate_shown):
        with pytest.raises(Problem, match="not in this shoot"):
            ask(shoot, 999)
    with pytest.raises(Problem, match="not in this shoot"):
        assign_deck_card(shoot, 999, 1)
    with shoot.reading() as session:
        assert newest_event_id(session) == before


def test_a_card_is_tied_without_arriving_again(shoot: Shoot) -> None:
    code = make_deck(shoot, 2)[0].code
    first, second, third, *_ = ids(shoot)
    check_in_person(shoot, first, card=1, at=at(shoot, 0))
    check_in_person(shoot, second, at=at(shoot, 1))
    tied = assign_deck_card(shoot, second, code.lower(), "door-1", at(shoot, 5))
    assert (tied.card, tied.card_before, tied.is_repeated, tied.at) == (1, "Mira Okafor", True, at(shoot, 1))
    assert assign_deck_card(shoot, second, 1, at=at(shoot, 6)).card_before is None
    with shoot.reading() as session:
        assert [person for _, person in read_card_assignments(session)[code]] == [first, second]
    with pytest.raises(Problem, match="has not arrived"):
        assign_deck_card(shoot, third, 2)
    with pytest.raises(Problem, match="no card 9"):
        assign_deck_card(shoot, second, 9)


def test_after_an_undo_no_card_can_be_tied(shoot: Shoot) -> None:
    make_deck(shoot, 1)
    first = ids(shoot)[0]
    check_in_person(shoot, first)
    undo_arrival_of(shoot, first)
    with pytest.raises(Problem, match="has not arrived"):
        assign_deck_card(shoot, first, 1)


@pytest.mark.parametrize("years", [-30, -2, 2, 100])
def test_a_year_far_from_the_shoots_is_refused(shoot: Shoot, years: int) -> None:
    first = ids(shoot)[0]
    wrong = at(shoot, 0).replace(year=shoot.day.year + years)
    for ask in (
        lambda: check_in_person(shoot, first, at=wrong),
        lambda: record_slate_shown(shoot, first, at=wrong),
    ):
        with pytest.raises(Problem, match="not a time of this shoot"):
            ask()
    assert (
        check_in_person(shoot, first, at=at(shoot, 0).replace(day=1, year=shoot.day.year + 1)).sequence == 1
    )


def test_a_slate_shown_is_noted(shoot: Shoot) -> None:
    first = ids(shoot)[0]
    assert record_slate_shown(shoot, first, "set-A", at(shoot, 3)) == at(shoot, 3)
    with shoot.reading() as session:
        (event,) = read_events(session, (EventKind.SLATE_SHOWN,))
    assert (event.person_id, event.station, event.at) == (first, "set-A", at(shoot, 3))


def _arrive(folder: Path, person: int, station: str) -> Arrival:
    shoot = open_shoot(folder)
    try:
        return check_in_person(shoot, person, station)
    finally:
        shoot.engine.dispose()


@pytest.mark.long
def test_two_stations_and_one_person_at_the_same_moment(shoot: Shoot) -> None:
    person = ids(shoot)[0]
    with multiprocessing.get_context("spawn").Pool(2) as pool:
        stations = ["door-1", "door-2"] * 3
        both = pool.starmap(_arrive, [(shoot.folder, person, station) for station in stations], chunksize=1)
    assert {one.sequence for one in both} == {1}
    (first,) = [one for one in both if not one.is_repeated]
    assert {(one.at, one.station) for one in both} == {(first.at, first.station)}
    with shoot.reading() as session:
        assert len(read_events(session, (EventKind.ARRIVED,))) == 1
