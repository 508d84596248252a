"""`onsite remind`, `onsite report`, and the stages after the shoot on the command line."""

from __future__ import annotations

import csv
import json
import re
from datetime import UTC, datetime
from pathlib import Path

import pytest

from onsite.store.events import EventKind, add_event
from onsite.store.shoot import open_shoot
from tests.cli.command_line import Onsite, refused


@pytest.fixture
def proofed(festival: Onsite) -> Onsite:
    """Three of the four have proofs; one of them has picked."""
    shoot = open_shoot(Path())
    with shoot.writing() as session:
        for person in (1, 2, 3):
            add_event(
                session,
                EventKind.PROOFED,
                datetime.now(UTC),
                person_id=person,
                frames=[1],
                page=f"p{person}.html",
            )
        add_event(session, EventKind.PICKED, datetime.now(UTC), person_id=3, frames=[1], notes={}, note="")
    shoot.engine.dispose()
    return festival


def test_stages_after_the_shoot(proofed: Onsite) -> None:
    told = proofed("status", "--json").data
    assert (told["stages"]["proofed"], told["stages"]["picked"]) == (3, 1)  # or further
    assert told["waits"] == {"proof": 0, "picks": 2, "sending": 1, "retouch": 0, "delivery": 0}
    out = proofed("status").out
    assert "proofed" in out
    assert "delivered" not in out  # nobody is there
    assert "proof out, no picks: 2 · picks not sent: 1" in out
    listed = proofed("roster", "list", "--stage", "proofed", "--json").data["people"]
    assert [person["key"] for person in listed] == ["C-1", "C-2"]


def test_who_never_came_is_listed_once_the_shoot_is_over(proofed: Onsite) -> None:
    told = proofed("status", "--json").data  # the festival's day was 13 June 2026
    assert told["beside"] == {"absent": 1}
    assert "The shoot is over: 1 still expected, so absent." in proofed("status").out
    listed = proofed("roster", "list", "--stage", "absent", "--json").data["people"]
    assert [(person["key"], person["stage"], person["absent"]) for person in listed] == [
        ("C-4", "expected", True)
    ]
    assert "absent" in proofed("roster", "list").out
    assert "absent" in refused(proofed("roster", "list", "--stage", "gone"))


def test_batches_are_told_overdue_first(proofed: Onsite) -> None:
    shoot = open_shoot(Path())
    with shoot.writing() as session:
        now = datetime.now(UTC)
        for name, due in (("B1", "2036-06-20"), ("B2", "2026-06-15")):
            add_event(
                session, EventKind.BATCH, now, batch=name, hand="in house", due=due, price="", currency="EUR"
            )
    shoot.engine.dispose()
    told = proofed("status", "--json").data["batches"]
    assert [(batch["batch"], batch["due"], batch["out"]) for batch in told] == [
        ("B1", "2036-06-20", 0),
        ("B2", "2026-06-15", 0),
    ]


def test_reminders_are_written_and_nobody_is_asked_twice(proofed: Onsite) -> None:
    done = proofed("remind", "--by", "2126-12-24", "--json")
    assert done.status == 0
    assert done.data["people"] == ["C-1", "C-2"]
    folder = Path(done.data["folder"])
    with (folder / "merge.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["email"] for row in rows] == ["asa@example.org", "maria@example.org"]
    assert "by 24 December 2126" in rows[0]["text"]
    assert len(list((folder / "mails").iterdir())) == 2
    again = proofed("remind")
    assert again.out.splitlines() == [
        "Nobody is to be reminded.",
        "Reminded within a day, so left alone: 2 (--again takes them in).",
    ]
    assert "2 mails written to" in proofed("remind", "--again").out


def test_one_group_only(proofed: Onsite) -> None:
    assert proofed("remind", "--group", "harbour choir", "--json").data["people"] == ["C-1", "C-2"]
    assert proofed("remind", "--group", "Valley Orchestra", "--json").data["people"] == []


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["--of", "rent"], "'rent'"),
        (["--group", "Tubas"], "'Tubas'"),
        (["--by", "2020-01-31"], "that day is past"),
        (["--at", "pages"], "'pages' is no address"),
        (["--by", "soon"], "'soon' is not a date"),
    ],
)
def test_what_cannot_be_reminded_of(proofed: Onsite, arguments: list[str], told: str) -> None:
    assert told in refused(proofed("remind", *arguments))
    assert not Path("reminders").exists()


@pytest.mark.parametrize("ending", ["html", "csv", "json"])
def test_a_report_by_its_ending(proofed: Onsite, tmp_path: Path, ending: str) -> None:
    path = tmp_path / f"report.{ending}"
    done = proofed("report", path, "--json")
    assert done.data == {"file": str(path), "people": 4, "report": "client"}
    text = path.read_text(encoding="utf-8")
    assert "Åsa Lindqvarn" in text
    assert "asa@example.org" not in text
    if ending == "json":
        assert json.loads(text)["stages"]["proofed"] == 3


def test_no_report_of_another_kind(proofed: Onsite, tmp_path: Path) -> None:
    assert ".html, .csv, .json" in refused(proofed("report", tmp_path / "report.txt"))
    (tmp_path / "notes.html").write_text("<!DOCTYPE html>\nmine", encoding="utf-8")
    assert "is not a report" in refused(proofed("report", tmp_path / "notes.html"))
    assert (tmp_path / "notes.html").read_text(encoding="utf-8").endswith("mine")


@pytest.mark.long
def test_books_are_another_report_than_the_clients(proofed: Onsite, tmp_path: Path) -> None:
    client = proofed("report", tmp_path / "client.html")
    books = proofed("report", tmp_path / "books.html", "--books")
    assert client.out.startswith("Report for the client, of 4 people, in ")
    assert books.out.startswith("Books, of 4 people, in ")
    assert "Costs" not in (tmp_path / "client.html").read_text(encoding="utf-8")
    assert "Costs" in (tmp_path / "books.html").read_text(encoding="utf-8")


@pytest.mark.long
def test_status_and_report_have_one_number_for_one_word(proofed: Onsite, tmp_path: Path) -> None:
    told = proofed("status", "--json").data
    proofed("report", tmp_path / "report.json")
    report = json.loads((tmp_path / "report.json").read_text(encoding="utf-8"))
    assert told["stages"] == report["stages"]
    assert told["people"] == report["people"] == 4
    assert (told["stages"]["expected"], told["stages"]["photographed"]) == (1, 3)
    assert re.search(r"photographed +3 of 4", proofed("status").out)


def test_a_report_says_the_number_of_people_that_its_page_says(proofed: Onsite, tmp_path: Path) -> None:
    shoot = open_shoot(Path())
    with shoot.writing() as session:  # the fourth never came, and is no longer on the client's list
        add_event(session, EventKind.WITHDRAWN, datetime.now(UTC), person_id=4)
    shoot.engine.dispose()
    report = tmp_path / "report.json"
    assert proofed("report", report).out.startswith("Report for the client, of 3 people, in ")
    assert json.loads(report.read_text(encoding="utf-8"))["people"] == 3
