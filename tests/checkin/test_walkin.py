"""Somebody who is not on the list."""

from datetime import datetime

import pytest
from sqlmodel import select

from onsite.checkin.cards import make_deck
from onsite.checkin.door import check_in, undo
from onsite.checkin.walkin import walk_in
from onsite.problems import Problem
from onsite.roster.people import people
from onsite.slate.code import parse
from onsite.store.shoot import Shoot
from onsite.store.tables import Person


def test_a_walk_in_is_a_person_who_has_arrived(shoot: Shoot) -> None:
    make_deck(shoot, 1)
    at = datetime.fromisoformat("2026-06-13T09:00+02:00")
    arrival = walk_in(shoot, " Leo ", "Haas", "Bass", "leo@choir.example", card=1, at=at, station="door-1")
    assert (arrival.sequence, arrival.at, arrival.station, arrival.card) == (1, at, "door-1", 1)
    with shoot.reading() as session:
        row = session.exec(select(Person).where(Person.key == "walkin-1")).one()
    assert (row.name, row.given, row.family, row.group) == ("Leo Haas", "Leo", "Haas", "Bass")
    assert (row.email, row.walk_in, row.own_key) == ("leo@choir.example", True, True)
    code = parse(row.code)
    assert code is not None
    assert code.shoot == "AAAA"


def test_walk_ins_have_keys_of_their_own_and_are_found_by_them(shoot: Shoot) -> None:
    keys = [walk_in(shoot, "Leo", "").person.key, walk_in(shoot, "", "Haas").person.key]
    assert keys == ["walkin-1", "walkin-2"]
    assert undo(shoot, "walkin-1").sequence == 1
    assert check_in(shoot, "walkin-1").sequence == 1


def test_a_name_that_is_known_is_told_and_not_refused(shoot: Shoot) -> None:
    assert walk_in(shoot, "anna", "LINDQVIST").same_name == ("S-3", "S-4")
    assert walk_in(shoot, "Zoe", "Agoston").same_name == ("S-5",)
    assert walk_in(shoot, "Leo", "Haas").same_name == ()


@pytest.mark.parametrize(
    ("given", "family"), [("", ""), ("  ", "\t"), ("\u200b", ""), ("\udcff", "Haas"), ("a\0b", "")]
)
def test_what_is_no_name_is_refused(shoot: Shoot, given: str, family: str) -> None:
    with pytest.raises(Problem):
        walk_in(shoot, given, family)
    with shoot.reading() as session:
        assert len(people(session)) == 5


@pytest.mark.parametrize(
    "name", ["'); DROP TABLE person; --", "\x1b]0;x\x07", "[red]Leo[/]", "Leo\nHaas", "é" * 3000]
)
def test_hostile_names_are_kept_as_written(shoot: Shoot, name: str) -> None:
    assert walk_in(shoot, name, "").person.name == name
    with shoot.reading() as session:
        assert people(session)[-1].name == name


def test_an_unknown_card_leaves_nobody_behind(shoot: Shoot) -> None:
    with pytest.raises(Problem, match="There is no card"):
        walk_in(shoot, "Leo", "Haas", card="7")
    with shoot.reading() as session:
        assert len(people(session)) == 5
