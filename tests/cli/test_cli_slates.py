"""`onsite slates images`, `sheet`, `deck`, `show`."""

from __future__ import annotations

import csv
from datetime import UTC, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from onsite.core.codes import parse_clock_code
from tests.cli.command_line import Onsite, refused


def listed(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


@pytest.mark.long
def test_pictures_and_their_list(festival: Onsite) -> None:
    done = festival("slates", "images", "slates", "--json")
    assert (done.status, done.data["slates"]) == (0, 4)
    rows = listed(Path("slates/slates.csv"))
    assert list(rows[0]) == ["key", "name", "code", "file"]
    assert [row["key"] for row in rows] == ["C-1", "C-2", "C-3", "C-4"]
    codes = {one["key"]: one["code"] for one in festival("roster", "list", "--json").data["people"]}
    assert {row["key"]: row["code"] for row in rows} == codes
    assert all(Path("slates", row["file"]).read_bytes().startswith(b"\x89PNG") for row in rows)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_tickets(festival: Onsite, paper: str) -> None:
    done = festival(
        "slates", "sheet", "t.pdf", "--paper", paper, "--up", 8, "--group", "harbour choir", "--json"
    )
    assert (done.status, done.data["tickets"]) == (0, 2)
    assert Path("t.pdf").read_bytes().startswith(b"%PDF-")


def test_one_lost_ticket_and_the_tickets_of_new_people(festival: Onsite, tmp_path: Path) -> None:
    lost = festival("slates", "sheet", "lost.pdf", "--who", "C-2", "--json")
    assert (lost.status, lost.data["tickets"]) == (0, 1)
    assert festival("slates", "sheet", "new.pdf", "--new", "--json").data["tickets"] == 4  # none was made yet
    assert "Nobody is new" in refused(festival("slates", "sheet", "new.pdf", "--new"))
    people = festival("roster", "list", "--json").data["people"]
    rows = [f"{p['key']},{p['name']},{p['group']}" for p in people]
    newer = tmp_path / "newer.csv"
    newer.write_text("\n".join(["key,name,group", *rows, "C-9,Eva Sol,Harbour Choir\n"]), encoding="utf-8")
    assert festival("roster", "load", newer).status == 0
    festival("slates", "sheet", "lost.pdf", "--who", "C-1")  # a single ticket makes nobody old
    assert festival("slates", "sheet", "new.pdf", "--new", "--json").data["tickets"] == 1


@pytest.mark.long
def test_a_deck_grows_and_keeps_its_codes(festival: Onsite) -> None:
    festival("slates", "deck", "cards.pdf", "--cards", 2, "--images", "deck")
    before = listed(Path("deck/deck.csv"))
    assert list(before[0]) == ["card", "code", "file"]
    done = festival("slates", "deck", "cards.pdf", "--cards", 3, "--images", "deck", "--json")
    assert done.data["cards"] == 3
    after = listed(Path("deck/deck.csv"))
    assert [row["card"] for row in after] == ["1", "2", "3"]
    assert [row["code"] for row in after[:2]] == [row["code"] for row in before]


def test_a_slate_on_screen(festival: Onsite) -> None:
    shown = festival("slates", "show", "C-1", "--at", "2026-06-13T09:00", "--station", "set-A", "--json")
    assert shown.status == 0
    assert (shown.data["key"], shown.data["at"]) == ("C-1", "2026-06-13T09:00:00+02:00")
    assert len(shown.data["code"]) == 12
    assert shown.data["lines"]
    assert "▀" in festival("slates", "show", "C-1").out


def test_the_doors_time_in_one_line(festival: Onsite) -> None:
    """Where nobody can photograph it: not in a terminal, or as JSON."""
    told = festival("slates", "clock", "--station", "door-1", "--json")
    code = parse_clock_code(told.data["code"])
    assert told.status == 0
    assert code is not None
    assert datetime.fromtimestamp(code.seconds, UTC) == datetime.fromisoformat(told.data["at"])
    assert told.data["station"] == "door-1"
    assert len(told.data["lines"]) == 17
    (line,) = festival("slates", "clock", "--station", "door-1").out.splitlines()
    text, at, where = line.split()
    assert parse_clock_code(text) is not None
    assert datetime.fromisoformat(at).utcoffset() == datetime.now(ZoneInfo("Europe/Vienna")).utcoffset()
    assert where == "door-1"


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["sheet", "t.pdf", "--up", "3"], "3"),
        (["sheet", "t.pdf", "--paper", "napkin"], "napkin"),
        (["sheet", "t.pdf", "--group", "Nobody's"], "Harbour Choir"),
        (["deck", "c.pdf", "--cards", "0"], "--cards"),
        (["deck", "c.pdf", "--cards", "2", "--up", "3"], "3"),
        (["show", "Maria Keller"], "C-2"),
        (["show", "C-1", "--at", "later"], "is not a time"),
    ],
)
def test_what_is_refused_leaves_no_file(festival: Onsite, arguments: list[str], told: str) -> None:
    assert told in refused(festival("slates", *arguments))
    assert not list(Path().glob("*.pdf"))


def test_a_shoot_without_people(onsite: Onsite) -> None:
    onsite("new", ".", "--name", "Day", "--timezone", "Europe/Vienna")
    assert "roster load" in refused(onsite("slates", "sheet", "t.pdf"))
