"""`onsite checkin`, `onsite walkin`."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.command_line import Onsite, refused


@pytest.fixture
def with_cards(festival: Onsite) -> Onsite:
    assert festival("slates", "deck", "cards.pdf", "--cards", 3).status == 0
    return festival


def test_arriving_gives_the_next_number(festival: Onsite) -> None:
    first = festival("checkin", "C-2", "--at", "2026-06-13T09:41", "--json")
    assert first.status == 0
    assert first.data["sequence"] == 1
    assert first.data["at"] == "2026-06-13T09:41:00+02:00"
    assert first.data["station"] == "door-1"
    assert (first.data["already"], first.data["withdrawn"], first.data["same_name"]) == (False, False, [])
    assert festival("checkin", "joris", "van", "den", "Eikhof").out.startswith(
        "2: Joris van den Eikhof, arrived"
    )
    assert "was here already, since 09:41 at door-1" in festival("checkin", "1", "--station", "door-2").out


def test_a_time_of_another_year_is_refused(festival: Onsite) -> None:
    assert "not a time of this shoot" in refused(festival("checkin", "C-1", "--at", "1998-06-13T09:41"))
    assert festival("status", "--json").data["stages"]["arrived"] == 0


@pytest.mark.parametrize(
    ("at", "told", "instead", "meant"),
    [
        ("2026-03-29T02:30", "There is no 02:30", "2026-03-29T03:30:00", "2026-03-29T03:30:00+02:00"),
        ("2026-10-25T02:30", "came twice", "2026-10-25T02:30:00+01:00", "2026-10-25T02:30:00+01:00"),
    ],
)
def test_a_time_in_the_hour_that_the_clocks_skip_or_repeat(
    festival: Onsite, at: str, told: str, instead: str, meant: str
) -> None:
    said = festival("checkin", "C-1", "--at", at)
    assert told in refused(said)
    assert instead in said.err
    Path("paper.csv").write_text(f"who,at\nC-1,{at}\n", encoding="utf-8")
    listed = festival("checkin", "--from", "paper.csv", "--json")
    assert listed.status == 3
    assert told in listed.out
    assert festival("status", "--json").data["stages"]["arrived"] == 0
    assert festival("checkin", "C-1", "--at", instead, "--json").data["at"] == meant


def test_a_time_with_an_offset(festival: Onsite) -> None:
    arrived = festival("checkin", "C-1", "--at", "2026-06-13T07:41Z", "--json")
    assert arrived.data["at"] == "2026-06-13T09:41:00+02:00"


def test_an_ambiguous_name_lists_the_candidates_and_changes_nothing(festival: Onsite) -> None:
    told = refused(festival("checkin", "Maria Keller"))
    assert "C-2" in told
    assert "C-3" in told
    assert festival("status", "--json").data["stages"]["arrived"] == 0


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["Nobody Known"], "Nobody Known"),
        (["C-1", "--at", "half past nine"], "is not a time"),
        (["C-1", "--card", "99"], "no card 99"),
        (["undo", "C-1"], "has not arrived"),
        ([], "Who has arrived?"),
        (["C-1", "--from", "list.csv"], "--from takes the people from the file"),
        (["--from", "missing.csv"], "missing.csv"),
    ],
)
def test_what_the_door_refuses(festival: Onsite, arguments: list[str], told: str) -> None:
    assert told in refused(festival("checkin", *arguments))
    assert festival("status", "--json").data["stages"]["arrived"] == 0


def test_undo_keeps_the_number(festival: Onsite) -> None:
    festival("checkin", "C-1")
    undone = festival("checkin", "undo", "C-1", "--json")
    assert undone.data == {
        "undone": True,
        "key": "C-1",
        "name": "Åsa Lindqvarn",
        "sequence": 1,
        "no_longer_named": [],
    }
    assert festival("checkin", "C-2", "--json").data["sequence"] == 2
    assert festival("checkin", "C-1", "--json").data["sequence"] == 1


@pytest.mark.long
def test_a_card_goes_from_hand_to_hand(with_cards: Onsite) -> None:
    assert "card 2" in with_cards("checkin", "C-1", "--card", "2", "--at", "2026-06-13T09:00").out
    next_one = with_cards("checkin", "C-2", "--card", "2", "--at", "2026-06-13T10:00", "--json").data
    assert (next_one["card"], next_one["card_before"]) == (2, "Åsa Lindqvarn")
    told = with_cards("checkin", "C-4", "--card", "2", "--at", "2026-06-13T11:00").out
    assert "the card was Maria Keller's until then" in told


def test_somebody_withdrawn_arrives_all_the_same_and_it_is_told(festival: Onsite, tmp_path: Path) -> None:
    (tmp_path / "newer.csv").write_text("key,given,family\nC-1,Åsa,Lindqvarn\n", encoding="utf-8")
    festival("roster", "load", "../newer.csv")
    assert festival("checkin", "C-4", "--json").data["withdrawn"] is True
    assert "no longer on the client's list" in festival("checkin", "C-4").out


def test_a_walk_in(with_cards: Onsite) -> None:
    arrived = with_cards("walkin", "--given", "Cleo", "--family", "Marín", "--card", 1, "--json")
    assert arrived.status == 0
    assert (arrived.data["name"], arrived.data["card"], arrived.data["sequence"]) == ("Cleo Marín", 1, 1)
    assert len(arrived.data["code"]) == 12
    refused(with_cards("walkin"))


def test_a_walk_in_with_a_name_that_is_known(festival: Onsite) -> None:
    arguments = ("walkin", "--given", "Maria", "--family", "Keller", "--another")
    assert festival(*arguments, "--json").data["same_name"] == ["C-2", "C-3"]
    assert "the same name is on the list: C-2, C-3" in festival(*arguments).out


def test_a_walk_in_who_is_on_the_list_and_expected_is_refused(festival: Onsite) -> None:
    joris = ("walkin", "--given", "joris", "--family", "van den eikhof", "--group", "Valley Orchestra")
    told = refused(festival(*joris))
    assert "Joris van den Eikhof of Valley Orchestra is on the list and expected" in told
    assert "onsite checkin C-4; for another person of that name: --another" in told
    assert festival("status", "--json").data["stages"]["arrived"] == 0
    assert festival(*joris, "--another", "--json").data["same_name"] == ["C-4"]
    festival("checkin", "C-4")
    told = refused(festival(*joris))
    assert "Joris van den Eikhof of Valley Orchestra has arrived already" in told
    assert "For another person of that name: --another" in told


def test_a_walk_in_of_a_name_in_other_groups_is_refused_with_everybody_of_it(festival: Onsite) -> None:
    maria = ("walkin", "--given", "Maria", "--family", "Keller", "--group", "Bells", "--new-group")
    told = refused(festival(*maria))
    assert "Maria Keller of Harbour Choir is on the list and expected (C-2)" in told
    assert "Maria Keller of Valley Orchestra is on the list and expected (C-3)" in told
    assert "onsite checkin C-2 or onsite checkin C-3; for another person of that name: --another" in told
    festival("checkin", "C-2")
    told = refused(festival(*maria))
    assert "Maria Keller of Harbour Choir has arrived already (C-2)" in told
    assert "onsite checkin C-3; for another" in told
    assert len(festival("roster", "list", "--json").data["people"]) == 4
    assert festival(*maria, "--another", "--json").data["same_name"] == ["C-2", "C-3"]
    told = refused(festival(*maria))
    assert "Maria Keller of Bells has arrived already (walkin-1)" in told


def test_a_walk_in_says_whether_they_may_be_published(festival: Onsite) -> None:
    cleo = ("walkin", "--given", "Cleo", "--family", "Marín")
    told = refused(festival(*cleo, "--consent", "perhaps"))
    assert "perhaps is neither a yes nor a no to being published." in told
    silent = festival(*cleo)
    assert "not published: a walk-in without an answer about consent" in silent.out
    agreed = festival("walkin", "--given", "Ida", "--consent", "yes", "--json").data
    assert (agreed["may_be_published"], agreed["not_published_because"]) == (True, "")
    refusing = festival("walkin", "--given", "Leo", "--consent", "no", "--json").data
    assert (refusing["may_be_published"], refusing["not_published_because"]) == (
        False,
        "must not be published",
    )
    status = festival("status", "--json").data["publication"]
    assert status["may_be_published"] == 5  # the four of the list, which says nothing about consent, and Ida
    assert sum(status["not_published"].values()) == 2
    assert (
        "To publish: 5 of 7 people; 1: must not be published; 1: a walk-in without" in festival("status").out
    )
    assert festival("report", "report.json").status == 0
    report = json.loads(Path("report.json").read_text(encoding="utf-8"))
    assert report["publication"] == status
    assert sum(one["may_be_published"] for one in report["everybody"]) == 5
    assert festival("report", "report.html").status == 0
    assert "5 of 7 people may be published." in Path("report.html").read_text(encoding="utf-8")
    later = festival("consent", "Cleo Marín", "yes")
    assert later.out == "Cleo Marín: may be published.\n"
    assert festival("status", "--json").data["publication"]["may_be_published"] == 6
    assert "neither a yes nor a no" in refused(festival("consent", "Cleo Marín", "perhaps"))


def test_the_first_yes_of_somebody_on_a_list_without_answers_says_what_it_does(festival: Onsite) -> None:
    festival("consent", "C-1", "no")
    assert festival("status", "--json").data["publication"]["may_be_published"] == 3
    told = festival("consent", "C-2", "yes").out
    assert "from now on nobody on it is published without one" in told
    assert festival("status", "--json").data["publication"]["may_be_published"] == 1


@pytest.mark.long
def test_a_walk_in_that_is_taken_back_is_gone_and_so_is_the_number(festival: Onsite) -> None:
    festival("walkin", "--given", "Cleo", "--family", "Marín", "--group", "harbour choir")
    undone = festival("checkin", "undo", "Cleo Marín", "--json").data
    assert (undone["removed"], undone["sequence"], undone["frames"]) == (True, 1, 0)
    listed = festival("roster", "list", "--json").data["people"]
    assert [one["key"] for one in listed] == ["C-1", "C-2", "C-3", "C-4"]
    refused(festival("checkin", "Cleo Marín"))
    assert festival("checkin", "C-1", "--json").data["sequence"] == 2
    festival("walkin", "--given", "Ida")
    assert (
        festival("checkin", "undo", "Ida").out
        == "Ida, a walk-in, is taken off again; number 3 is not used any more.\n"
    )


def test_a_group_is_made_on_purpose_only(festival: Onsite) -> None:
    cleo = ("walkin", "--given", "Cleo", "--group", "Harbor Choir")
    told = refused(festival(*cleo))
    assert "There is no group Harbor Choir." in told
    assert (
        "Do you mean Harbour Choir? Groups here: Harbour Choir, Valley Orchestra. For a new one: --new-group"
        in told
    )
    assert festival(*cleo, "--new-group", "--json").data["group"] == "Harbor Choir"
    assert (
        festival("walkin", "--given", "Ida", "--group", "HARBOUR choir", "--json").data["group"]
        == "Harbour Choir"
    )


def test_a_name_without_its_gaps_or_accents_does_for_a_command(festival: Onsite) -> None:
    assert festival("checkin", "vandeneikhof", "--json").data["key"] == "C-4"
    assert festival("checkin", "lindqvarn", "--json").data["key"] == "C-1"
    assert "Nearest: Åsa Lindqvarn" in refused(festival("checkin", "lindqvarm"))


@pytest.mark.long
def test_a_paper_list(with_cards: Onsite, tmp_path: Path) -> None:
    (tmp_path / "paper.csv").write_text(
        "who,at,card,station,weather\n"
        "C-1,2026-06-13T09:10,,door-2,sun\n"
        "Maria Keller,2026-06-13T09:11,,,\n"
        "C-4,2026-06-13T09:05,1,,\n"
        "C-2,soon,,,\n",
        encoding="utf-8",
    )
    told = with_cards("checkin", "--from", "../paper.csv", "--json")
    assert told.status == 3
    assert [(a["key"], a["sequence"], a["station"]) for a in told.data["arrived"]] == [
        ("C-4", 1, "door-1"),
        ("C-1", 2, "door-2"),
    ]
    assert [one["row"] for one in told.data["refused"]] == [3, 5]
    assert told.data["ignored"] == ["weather"]
    again = with_cards("checkin", "--from", "../paper.csv")
    assert again.status == 3
    assert again.out.startswith("0 arrived, 2 were here already, 2 refused.")
    assert "weather" in again.out
