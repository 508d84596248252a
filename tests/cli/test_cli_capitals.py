"""`onsite roster load`: names in capitals, set as they are written where somebody chooses that."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from onsite.checkin.walk_ins_and_corrections import correct_person
from onsite.roster.name_capitals import in_mixed_case
from onsite.roster.person_names import split_name
from onsite.roster.roster_entry import RosterEntry
from onsite.store.shoot import open_shoot
from tests.cli.command_line import Onsite, refused

NAMES = ("HORVAT Ana", "MÜLLER Jörg", "McDONALD Ian", "O'NEILL Sean", "SMITH-JONES Ann", "MACE Pia",
         "DE LA CRUZ Eva", "Bo Lind")  # fmt: skip
WRITTEN = ("Ana Horvat", "Jörg Müller", "Ian McDonald", "Sean O'Neill", "Ann Smith-Jones", "MACE Pia",
           "DE LA CRUZ Eva", "Bo Lind")  # fmt: skip


@pytest.fixture
def day(onsite: Onsite) -> Onsite:
    onsite("new", ".", "--name", "Day", "--timezone", "Europe/Vienna")
    return onsite


def a_list(path: Path, *names: str, group: str = "Altos") -> Path:
    with path.open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream).writerows([("name", "group"), *((name, group) for name in names)])
    return path


def names(day: Onsite) -> list[str]:
    return [one["name"] for one in day("roster", "list", "--json").data["people"]]


@pytest.mark.parametrize(
    ("listed", "written"),
    [
        ("HORVAT Ana", "Ana Horvat"), ("ANA HORVAT", "Ana Horvat"), ("Ana HORVAT", "Ana Horvat"),
        ("Ana HORVAT LOPEZ", "Ana Horvat Lopez"), ("MÜLLER Jörg", "Jörg Müller"),
        ("ÉLODIE LEFÈVRE", "Élodie Lefèvre"),
        ("McDONALD Ian", "Ian McDonald"), ("MacLEOD Ann", "Ann MacLeod"), ("O'NEILL Sean", "Sean O'Neill"),
        ("O’NEILL Sean", "Sean O’Neill"), ("SMITH-JONES Ann", "Ann Smith-Jones"),
        ("d'ANGELO Pia", "Pia d'Angelo"),
        ("DELL'ACQUA Pia", "Pia Dell'Acqua"), ("VAN DER BERG Jan", "Jan van der Berg"),
        ("van der BERG Jan", "Jan van der Berg"), ("ИВАНОВ Пётр", "Пётр Иванов"), ("DEMİR Ali", "Ali Demir"),
        ("SMITH JR Tom", "Tom Smith Jr"), ("NÍ BHRIAIN Aoife", "Aoife Ní Bhriain"), ("MADONNA", "Madonna"),
    ],
)  # fmt: skip
def test_a_name_in_capitals_as_it_is_written(listed: str, written: str) -> None:
    """Common practice of the languages, no source; van der is small after a given name by the Dutch rule."""
    given, family = split_name(listed)
    entry = in_mixed_case(RosterEntry(name=listed, given=given, family=family))
    assert entry is not None
    assert entry.name == written == f"{entry.given} {entry.family}".strip()


@pytest.mark.parametrize(
    "listed",
    ["MACE Pia", "MACDONALD Ian", "MCDONALD Ian", "FITZROY Ann", "DE LA CRUZ Eva", "VON Eva",
    "D'ANGELO Pia", "IJSSEL Jan",
     "IŞIK Ali", "ΠΑΠΑΣ Νίκος", "JO HORVAT", "SAN MARTIN Eva"],
)  # fmt: skip
def test_what_capitals_do_not_tell_is_left(listed: str) -> None:
    given, family = split_name(listed)
    assert in_mixed_case(RosterEntry(name=listed, given=given, family=family)) is None


@pytest.mark.parametrize(
    "listed", ["Ana Horvat", "AJ Smith", "Ian McDonald", "姓名", "J. R. Horvat", "Bo de la Cruz"]
)
def test_names_that_are_not_in_capitals_stay(listed: str) -> None:
    given, family = split_name(listed)
    entry = RosterEntry(name=listed, given=given, family=family)
    assert in_mixed_case(entry) == entry


def test_the_dry_run_offers_and_nothing_is_set_silently(day: Onsite, tmp_path: Path) -> None:
    file = a_list(tmp_path / "list.csv", *NAMES)
    dry = day("roster", "load", file, "--dry-run").out
    assert "names in capitals: 7; they are kept" in dry
    assert "--capitals set" in dry
    assert "McDONALD Ian → Ian McDonald" in dry
    assert "these it would leave: MACE Pia (row 7), DE LA CRUZ Eva (row 8)" in dry
    assert day("roster", "load", file).status == 0
    assert names(day) == list(NAMES)


def test_a_choice_is_remembered_and_a_newer_list_changes_nothing(day: Onsite, tmp_path: Path) -> None:
    file = a_list(tmp_path / "list.csv", *NAMES)
    told = day("roster", "load", file, "--capitals", "set")
    assert told.status == 0
    assert "left in capitals, since they may be written in two ways: 2 (MACE Pia (row 7)," in told.out
    assert names(day) == list(WRITTEN)
    again = day("roster", "load", file, "--json").data
    assert (again["unchanged"], again["added"], again["changed"]) == (8, [], [])
    assert again["capitals"]["choice"] == "set"
    assert {"row": 2, "listed": "HORVAT Ana", "written": "Ana Horvat"} in again["capitals"]["names"]


@pytest.mark.long
def test_a_later_choice_meets_the_same_people(day: Onsite, tmp_path: Path) -> None:
    file = a_list(tmp_path / "list.csv", *NAMES)
    day("roster", "load", file)
    for choice, wanted in (("set", WRITTEN), ("keep", NAMES), ("set", WRITTEN)):
        told = day("roster", "load", file, "--capitals", choice, "--json").data
        assert (told["added"], told["withdrawn"], told["questions"]) == ([], [], [])
        assert len(told["changed"]) == 5
        assert names(day) == list(wanted)
    day("roster", "load", file, "--capitals", "keep")
    assert "--capitals" not in day("roster", "load", file, "--dry-run").out


def test_two_people_are_not_taken_for_one_by_the_order_of_their_names(day: Onsite, tmp_path: Path) -> None:
    day("roster", "load", a_list(tmp_path / "a.csv", "Martin James", "Ana Horvat"))
    told = day(
        "roster", "load", a_list(tmp_path / "b.csv", "James Martin", "Ana Horvat"), "--withdraw", "--json"
    ).data
    assert [one["name"] for one in told["added"]] == ["James Martin"]
    assert [one["name"] for one in told["withdrawn"]] == ["Martin James"]


@pytest.mark.long
def test_a_correction_at_the_door_wins(day: Onsite, tmp_path: Path) -> None:
    file = a_list(tmp_path / "list.csv", *NAMES)
    day("roster", "load", file, "--capitals", "set")
    who = day("roster", "find", "MACE Pia", "--json").data["found"][0]["id"]
    shoot = open_shoot(tmp_path)
    correct_person(shoot, who, {"name": "Pia Macé"}, "door-1")
    shoot.engine.dispose()
    told = day("roster", "load", file, "--json").data
    assert (told["unchanged"], told["added"]) == (8, [])
    assert "Pia Macé" in names(day)
    day("roster", "load", file, "--capitals", "keep")
    assert "Pia Macé" in names(day)
    assert "HORVAT Ana" in names(day)


def test_given_and_family_in_two_columns(day: Onsite, tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    path.write_text("key,given,family\n1a,Ana,HORVAT\n2a,Eva,VON\n3a,Jan,VAN DER BERG\n", encoding="utf-8")
    assert day("roster", "load", path, "--capitals", "set").status == 0
    assert names(day) == ["Ana Horvat", "Eva VON", "Jan van der Berg"]
    people = day("roster", "list", "--json").data["people"]
    assert [one["family"] for one in people] == ["Horvat", "VON", "van der Berg"]


def test_a_wrong_choice_is_refused(day: Onsite, tmp_path: Path) -> None:
    file = a_list(tmp_path / "list.csv", *NAMES)
    assert "keep, set" in refused(day("roster", "load", file, "--capitals", "small"))
