"""`onsite roster load`, `find`, `list`."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from tests.cli.command_line import HOSTILE, LIST, Onsite, refused


def test_a_dry_run_shows_and_changes_nothing(onsite: Onsite, tmp_path: Path) -> None:
    (tmp_path / "list.csv").write_text(LIST, encoding="utf-8")
    onsite("new", "day", "--name", "Day", "--timezone", "Europe/Vienna")
    told = onsite("--shoot", "day", "roster", "load", "list.csv", "--dry-run", "--json")
    assert told.status == 0
    assert told.data["dry_run"] is True
    assert [entry["key"] for entry in told.data["added"]] == ["C-1", "C-2", "C-3", "C-4"]
    assert [(c["heading"], c["field"]) for c in told.data["columns"]][:2] == [
        ("key", "key"),
        ("given", "given"),
    ]
    assert onsite("--shoot", "day", "roster", "list", "--json").data == {"people": []}
    assert "nothing was changed" in onsite("--shoot", "day", "roster", "load", "list.csv", "--dry-run").out


def test_a_dry_run_tells_how_consent_is_read(festival: Onsite, tmp_path: Path) -> None:
    (tmp_path / "list.csv").write_text(
        "name,Consent,Nicht veröffentlichen\nBo Lind,ja,\nCleo Marín,ja,x\nAna Horvat,,\n", encoding="utf-8"
    )
    load = ("roster", "load", "../list.csv", "--dry-run")
    told = festival(*load).out
    assert "consent: yes means must not be published" in told
    assert "Consent: 1 may be published, 1 must not be published, 1 not said." in told
    (row,) = [line for line in told.splitlines() if line.startswith(" ") and "Cleo Marín" in line]
    assert row.rstrip().endswith("must not be published")
    counted = festival(*load, "--json").data["consents"]
    assert counted == {"yes": 1, "no": 1, "unclear": 0, "unknown": 1}


def test_a_newer_list_says_what_is_different(festival: Onsite, tmp_path: Path) -> None:
    newer = LIST.replace("asa@example.org", "new@example.org")
    newer = newer[: newer.index("C-4")] + "C-5,Bo,Lind,Harbour Choir,bo@example.org\n"
    (tmp_path / "newer.csv").write_text(newer, encoding="utf-8")
    told = festival("roster", "load", "../newer.csv", "--json").data
    assert [entry["key"] for entry in told["added"]] == ["C-5"]
    assert told["changed"] == [
        {"key": "C-1", "name": "Åsa Lindqvarn", "fields": {"email": ["asa@example.org", "new@example.org"]}}
    ]
    assert [one["key"] for one in told["withdrawn"]] == ["C-4"]
    assert told["unchanged"] == 2


def test_somebody_who_is_here_is_not_withdrawn_by_a_slip(festival: Onsite, tmp_path: Path) -> None:
    (tmp_path / "newer.csv").write_text(LIST[: LIST.index("C-4")], encoding="utf-8")
    festival("checkin", "C-4")
    told = refused(festival("roster", "load", "../newer.csv"))
    assert "1 of 4 people are not on this list and would be withdrawn" in told
    assert "--withdraw" in told
    assert "If that is meant: --withdraw" in festival("roster", "load", "../newer.csv", "--dry-run").out
    meant = festival("roster", "load", "../newer.csv", "--withdraw", "--json")
    assert (meant.status, [one["key"] for one in meant.data["withdrawn"]]) == (0, ["C-4"])


def test_columns_by_hand(onsite: Onsite, tmp_path: Path) -> None:
    (tmp_path / "list.csv").write_text("X,Y\nBo Lind,Altos\n", encoding="utf-8")
    onsite("new", ".", "--name", "Day", "--timezone", "Europe/Vienna")
    assert onsite("roster", "load", "list.csv", "--map", "name=X", "--map", "group=Y").status == 0
    (someone,) = onsite("roster", "list", "--json").data["people"]
    assert (someone["given"], someone["family"], someone["group"]) == ("Bo", "Lind", "Altos")
    assert "--map name" in refused(onsite("roster", "load", "list.csv", "--map", "name"))


@pytest.mark.parametrize("content", [None, b"", b"\x00\x01\x02\xff" * 50, b"colour,size\nred,2\n"])
def test_lists_that_cannot_be_read(festival: Onsite, tmp_path: Path, content: bytes | None) -> None:
    if content is not None:
        (tmp_path / "bad.csv").write_bytes(content)
    assert "bad.csv" in refused(festival("roster", "load", "../bad.csv"))
    assert len(festival("roster", "list", "--json").data["people"]) == 4


def test_rows_left_out_make_it_done_in_part(festival: Onsite, tmp_path: Path) -> None:
    (tmp_path / "newer.csv").write_text(LIST + "C-4,Other,Person,Harbour Choir,\n", encoding="utf-8")
    told = festival("roster", "load", "../newer.csv", "--json")
    assert told.status == 3
    assert told.data["refused"] or told.data["questions"]


def test_a_column_that_tells_how_a_name_is_said(festival: Onsite, tmp_path: Path) -> None:
    newer = LIST.replace("email\n", "email,Aussprache\n").replace("asa@example.org", "asa@example.org,OH-sah")
    (tmp_path / "newer.csv").write_text(newer, encoding="utf-8")
    told = festival("roster", "load", "../newer.csv", "--json").data
    assert [one["fields"] for one in told["changed"]] == [{"spoken": ["", "OH-sah"]}]
    spoken = {one["key"]: one["spoken"] for one in festival("roster", "list", "--json").data["people"]}
    assert (spoken["C-1"], spoken["C-2"]) == ("OH-sah", "")


def test_finding(festival: Onsite) -> None:
    told = festival("roster", "find", "lindqvarn", "--json")
    assert told.status == 0
    assert told.data["found"][0]["key"] == "C-1"
    assert "Åsa Lindqvarn" in festival("roster", "find", "asa").out
    assert festival("roster", "find", "zzzzzz", "--json").data == {"found": []}


def test_listing_by_group_and_stage(festival: Onsite) -> None:
    festival("checkin", "C-4", "--at", "2026-06-13T09:00")
    by_group = festival("roster", "list", "--group", "valley orchestra", "--json").data["people"]
    assert [one["key"] for one in by_group] == ["C-3", "C-4"]
    (arrived,) = festival("roster", "list", "--stage", "arrived", "--json").data["people"]
    assert (arrived["key"], arrived["sequence"]) == ("C-4", 1)
    assert (arrived["consent"], arrived["card"], arrived["walk_in"]) == ("", None, False)
    assert arrived["arrived"] == "2026-06-13T09:00:00+02:00"  # June in Vienna: two hours east
    (here,) = festival("roster", "list", "--stage", "here", "--json").data["people"]
    assert here == arrived
    assert "no stage 'asleep'" in refused(festival("roster", "list", "--stage", "asleep"))


@pytest.mark.long
def test_hostile_names_stay_as_written_and_are_never_obeyed(festival: Onsite, tmp_path: Path) -> None:
    with (tmp_path / "more.csv").open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerows([*csv.reader(LIST.splitlines()), ["C-6", HOSTILE, "Doe", "G", ""]])
    festival("roster", "load", "../more.csv")
    someone = festival("roster", "list", "--group", "G", "--json").data["people"][0]
    assert someone["given"] == HOSTILE
    for told in (
        festival("roster", "list"),
        festival("roster", "find", "Doe"),
        festival("checkin", "C-6"),
        festival("status"),
        festival("checkin", "undo", "C-6"),
    ):
        assert told.status == 0
        assert "[bold]Red[/bold]" in told.out.replace("\n", "")
        assert "\x1b" not in told.out
        assert not any(line.startswith("C-9") for line in told.out.splitlines())
    festival("checkin", "undo", "C-6")
    again = refused(festival("checkin", "undo", "C-6"))
    assert "\x1b" not in again
    assert "[bold]Red[/bold]" in again
