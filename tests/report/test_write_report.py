"""The report in its three kinds, held against the store itself."""

from __future__ import annotations

import csv
import json
import sqlite3
from pathlib import Path
from typing import Any

import pytest

from onsite.core.errors import Problem
from onsite.report.write_report import write_report
from onsite.store.shoot import Shoot


def made(shoot: Shoot, name: str, books: bool = False) -> Path:
    path = shoot.folder.parent / name
    steps: list[tuple[int, int]] = []
    write_report(shoot, path, lambda done, of: steps.append((done, of)), books)
    assert steps == [(n, len(steps)) for n in range(1, len(steps) + 1)]
    return path


def rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def stored(shoot: Shoot, query: str) -> list[Any]:
    with sqlite3.connect(shoot.folder / "onsite.db") as store:
        return store.execute(query).fetchall()


def number(shoot: Shoot, query: str) -> int:
    return int(stored(shoot, query)[0][0])


def test_the_numbers_are_those_of_the_store(after: Shoot) -> None:
    told = json.loads(made(after, "report.json", books=True).read_text(encoding="utf-8"))
    assert told["people"] == number(after, "select count(*) from person")
    assert told["frames"]["total"] == number(after, "select count(*) from frame")
    for kind, name in (("named", "named"), ("slate", "slates"), ("loose", "loose"), ("aside", "aside")):
        assert told["frames"][name] == number(after, f"select count(*) from verdict where kind = '{kind}'")
    named = "select count(distinct person_id) from verdict where kind = 'named'"
    assert told["photographed"] == number(after, named)
    per_person = "select count(*) n from verdict where kind = 'named' group by person_id"
    each = dict(stored(after, f"select n, count(*) from ({per_person}) group by n"))
    assert {line["frames"]: line["people"] for line in told["frames_a_person"]} == each
    arrived = number(after, "select count(*) from event where kind = 'arrived'")
    assert sum(slot["arrived"] for slot in told["pace"]) == arrived
    assert sum(group["came"] for group in told["groups"]) == arrived
    assert told["stages"]["photographed"] == told["photographed"]
    assert (
        told["stages"]["expected"] + told["stages"]["arrived"]
        == sum(group["people"] for group in told["groups"])
        == told["people"]
    )
    picked = number(after, "select count(*) from event where kind = 'picked'")
    assert told["picks"] == {"people": picked, "pictures": picked, "notes": 0, "over": 0}
    (batch,) = told["batches"]
    assert batch["files"] == number(after, "select count(*) from event where kind = 'sent to retouch'")
    assert batch["back"] == number(after, "select count(*) from event where kind = 'received'")
    assert batch["overdue"]
    (delivery,) = told["deliveries"]
    assert delivery["files"] == number(after, "select count(*) from event where kind = 'delivered'")


def test_one_row_a_person_with_nothing_private(after: Shoot) -> None:
    path = made(after, "report.csv")
    listed = {row["key"]: row for row in rows(path)}
    assert list(listed) == [key for (key,) in stored(after, "select key from person order by id")]
    mira = listed["S-1"]
    assert (mira["stage"], mira["arrived"], mira["frames"]) == ("delivered", "2026-06-13T09:10:00+02:00", "3")
    assert (mira["picks"], mira["sent"], mira["back"], mira["delivered"]) == ("1", "1", "1", "1")
    assert listed["S-6"]["absent"] == "yes"
    assert listed["S-4"]["name"] == "'=1+1 Lindqvist"
    text = path.read_text(encoding="utf-8")
    assert "example.org" not in text
    assert "5550101" not in text


def test_the_object_holds_everybody_and_no_address(after: Shoot) -> None:
    text = made(after, "report.json", books=True).read_text(encoding="utf-8")
    told = json.loads(text)
    assert [one["key"] for one in told["everybody"]] == ["S-1", "S-2", "S-3", "S-4", "S-5", "S-6"]
    assert told["everybody"][3]["name"] == "=1+1 Lindqvist"  # as written: JSON has no formulas
    assert told["make_up_day"] == [{"key": "S-6", "name": "Pia Vogel", "group": "Alto"}]
    assert told["costs"]["retouch"] == {"EUR": "7.00"}
    assert [(line["for"], line["people"]) for line in told["waits"]] == [
        ("proof", 0),
        ("picks", 3),
        ("sending", 0),
        ("retouch", 1),
        ("delivery", 0),
    ]
    assert "example.org" not in text
    assert "page-1" not in text


@pytest.mark.parametrize("name", ["report.html", "report.csv", "report.json"])
def test_an_earlier_report_is_written_over_and_nothing_else(after: Shoot, name: str) -> None:
    path = made(after, name)
    first = path.read_bytes()
    assert made(after, name).read_bytes() == first
    path.write_text("key,name\n1,Ana\n", encoding="utf-8")
    with pytest.raises(Problem, match="is there and is not a report"):
        write_report(after, path, lambda *_: None)
    assert path.read_text(encoding="utf-8") == "key,name\n1,Ana\n"


@pytest.mark.parametrize("name", ["report", "report.pdf", "nowhere/report.html"])
def test_what_cannot_be_written_leaves_nothing(after: Shoot, name: str) -> None:
    before = sorted(after.folder.parent.iterdir())
    with pytest.raises(Problem):
        write_report(after, after.folder.parent / name, lambda *_: None)
    assert sorted(after.folder.parent.iterdir()) == before


def test_cut_off_while_writing_the_earlier_report_stays(
    after: Shoot, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = made(after, "report.csv")
    first = path.read_bytes()

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("onsite.files.atomic_write.os.fsync", full)
    with pytest.raises(Problem, match="No space left"):
        write_report(after, path, lambda *_: None)
    assert path.read_bytes() == first
    assert not list(path.parent.glob(".*.part"))
