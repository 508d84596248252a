"""`onsite new`, `onsite status`, and which shoot a command means."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.cli.command_line import Onsite, refused


def test_a_new_shoot(onsite: Onsite, tmp_path: Path) -> None:
    done = onsite("new", "day", "--name", "Autumn", "--timezone", "Europe/Vienna", "--json")
    assert done.status == 0
    assert (done.data["shoot"], done.data["name"], done.data["timezone"]) == (
        "day",
        "Autumn",
        "Europe/Vienna",
    )
    assert (tmp_path / "day" / "shoot.toml").is_file()


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["--name", "Again"], "is a shoot already"),
        (["--name", "X", "--date", "6/13/2026"], "'6/13/2026' is not a date"),
        (["--name", "X", "--timezone", "Middle/Earth"], "Middle/Earth"),
        (["--name", "X", "--ends", "five"], "'five' is not a time of day"),
        (["--name", "X", "--ends", "25:00"], "'25:00' is not a time of day"),
        ([], "--name"),
    ],
)
def test_what_makes_no_shoot(onsite: Onsite, tmp_path: Path, arguments: list[str], told: str) -> None:
    onsite("new", "day", "--name", "Autumn", "--timezone", "Europe/Vienna")
    folder = "day" if "Again" in arguments else "other"
    assert told in refused(onsite("new", folder, *arguments))
    assert not (tmp_path / "other").exists()


def test_when_the_day_should_end_is_kept_and_told(onsite: Onsite, tmp_path: Path) -> None:
    made = onsite("new", "day", "--name", "Day", "--timezone", "Europe/Vienna", "--ends", "9:05", "--json")
    assert made.data["ends"] == "09:05"
    (tmp_path / "list.csv").write_text("key,name\n1,Ana Horvat\n", encoding="utf-8")
    onsite("roster", "load", "list.csv", "--shoot", "day")
    told = onsite("status", "--shoot", "day", "--json").data
    assert told["planned_end"][11:16] == "09:05"
    assert (told["expected_end"], told["spare_minutes"], told["photographed_per_hour"]) == (None, None, None)
    assert told["forecast"] == "pace after 3 people · planned end 09:05"
    assert told["forecast"] in onsite("status", "--shoot", "day").out


def test_the_last_slot_is_the_planned_end_where_none_is_given(onsite: Onsite, tmp_path: Path) -> None:
    onsite("new", "day", "--name", "Day", "--timezone", "Europe/Vienna")
    (tmp_path / "list.csv").write_text(
        "key,name,slot\n1,Ana Horvat,10:30\n2,Bo Lind,11:40\n", encoding="utf-8"
    )
    onsite("roster", "load", "list.csv", "--shoot", "day")
    told = onsite("status", "--shoot", "day", "--json").data
    assert (told["planned_end"][11:16], told["planned_end_is_last_slot"]) == ("11:40", True)
    assert "last slot 11:40" in told["forecast"]


def test_the_plan_says_who_comes_when(onsite: Onsite, tmp_path: Path) -> None:
    onsite("new", "day", "--name", "Day", "--timezone", "Europe/Vienna", "--ends", "11:00")
    (tmp_path / "list.csv").write_text(
        "key,name,slot,group\n1,Ana Horvat,10:30,Altos\n2,Bo Lind,10:40,Basses\n3,Cleo Marin,10:30,Altos\n"
        "4,Dia Sol,after lunch,Altos\n5,Edo Frank,,Altos\n",
        encoding="utf-8",
    )
    onsite("roster", "load", "list.csv", "--shoot", "day")
    told = onsite("plan", "--shoot", "day", "--json").data
    assert [(slot["start"], slot["people"], slot["seconds_each"]) for slot in told["slots"]] == [
        ("10:30", ["1", "3"], 300),
        ("10:40", ["2"], 1200),
    ]
    assert (told["without_slot"], told["slot_not_a_time"], told["planned_end"]) == (["5"], ["4"], "11:00")
    text = onsite("plan", "--shoot", "day").out
    for line in (
        "5 people on the list, 3 with a time.",
        "Least time: 10:30, 5 min for each person.",
        "The planned end is 11:00.",
        "Without a time: 1: Edo Frank",
        "Their time is not understood: 1: Dia Sol (after lunch)",
    ):
        assert line in text
    assert re.search(r"10:30 +2 +█{20} +5 min +Altos 2", text)


def test_a_list_without_times_has_no_plan_yet(festival: Onsite) -> None:
    assert "No times yet: put a column with times into the list" in festival("plan").out


def test_status_of_a_shoot_without_frames(festival: Onsite) -> None:
    festival("checkin", "C-1")
    told = festival("status", "--json")
    assert told.status == 0
    assert told.data["people"] == 4
    later = dict.fromkeys(("proofed", "picked", "at retouch", "retouched", "delivered"), 0)
    assert told.data["stages"] == {"expected": 3, "arrived": 1, "photographed": 0, **later}
    assert told.data["arrived_not_shot"] == ["C-1"]
    assert told.data["never_arrived"] == ["C-2", "C-3", "C-4"]
    assert [told.data[count] for count in ("frames", "named", "slates", "loose", "aside")] == [0] * 5
    assert "Here, and not photographed: Åsa Lindqvarn" in festival("status").out


def test_a_shoot_is_found_from_a_folder_inside_it(
    festival: Onsite, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    inside = tmp_path / "festival" / "cards" / "A"
    inside.mkdir(parents=True)
    monkeypatch.chdir(inside)
    assert festival("status", "--json").data["name"] == "Festival"


@pytest.mark.long
def test_which_shoot_is_meant(festival: Onsite, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("named", "set"):
        festival("new", tmp_path / name, "--name", name, "--timezone", "Europe/Vienna")
    monkeypatch.setenv("ONSITE_SHOOT", str(tmp_path / "set"))
    assert festival("status", "--json").data["name"] == "set"
    assert festival("--shoot", tmp_path / "named", "status", "--json").data["name"] == "named"
    assert festival("status", f"--shoot={tmp_path / 'named'}", "--json").data["name"] == "named"


def test_no_shoot_is_there(onsite: Onsite) -> None:
    refused(onsite("status"))
    refused(onsite("status", "--shoot", "nowhere"))
    refused(onsite("status", "--shoot"))
    refused(onsite())  # the screens need one as well
