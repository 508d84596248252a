"""The demo's camera: who is photographed next, and what is shot of them."""

from __future__ import annotations

from dataclasses import replace
from itertools import islice

from onsite.checkin.check_in import check_in
from onsite.roster.load_roster import load_list
from onsite.roster.read_people import read_people
from onsite.simulator.invented_exposure import ExposureKind
from onsite.simulator.simulated_live_camera import FORGETS, STAY_AWAY, turn, who_is_next
from onsite.store.shoot import Shoot
from tests.simulator.invented import invented


def listed(shoot: Shoot, people: int) -> None:
    path = shoot.folder / "list.csv"
    rows = [f"K-{number},Given{number},Family{number}" for number in range(1, people + 1)]
    path.write_text("\n".join(["key,given,family", *rows]), encoding="utf-8")
    load_list(shoot, path)


def test_whoever_has_waited_longest_is_next_and_nobody_twice(shoot: Shoot) -> None:
    listed(shoot, 3)
    for key in ("K-2", "K-1"):
        check_in(shoot, key)
    first = who_is_next(shoot, ())
    assert first is not None
    assert first.key == "K-2"
    second = who_is_next(shoot, {first.id})
    assert second is not None
    assert second.key == "K-1"


def test_people_come_by_themselves_until_some_are_left_for_whoever_tries_the_door(shoot: Shoot) -> None:
    listed(shoot, STAY_AWAY + 2)
    done: set[int] = set()
    while (person := who_is_next(shoot, done)) is not None:
        done.add(person.id)
    assert len(done) == 2
    with shoot.reading() as session:
        assert sum(person.sequence is None for person in read_people(session)) == STAY_AWAY


def test_a_turn_is_a_slate_and_portraits_and_now_and_then_no_slate(shoot: Shoot) -> None:
    listed(shoot, 1)
    with shoot.reading() as session:
        person = read_people(session)[0]
    last = invented().day.exposures[-1]
    for number in range(1, 2 * FORGETS + 1):
        taken = list(turn(last, person, number))
        kinds = [exposure.kind for exposure in taken]
        assert (kinds[0] is ExposureKind.SLATE) == (number % FORGETS != 0)
        assert set(kinds[1:]) == {ExposureKind.PORTRAIT}
        assert [e.slate.code for e in taken if e.slate] == [person.code] * (kinds[0] is ExposureKind.SLATE)


def test_its_counter_rolls_over(shoot: Shoot) -> None:
    listed(shoot, 1)
    with shoot.reading() as session:
        person = read_people(session)[0]
    last = replace(invented().day.exposures[-1], counter=9998)
    assert [e.counter for e in islice(turn(last, person, 1), 3)] == [9999, 1, 2]
