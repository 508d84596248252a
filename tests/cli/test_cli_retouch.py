"""Retouching on the command line: a batch out, back, decided on, and what it costs."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest
from PIL import Image

from onsite.store.shoot import Shoot, open_shoot
from tests.cli.command_line import Onsite, refused
from tests.retouch.prints import pick, retouched, shoot_day


@pytest.fixture
def picked(onsite: Onsite, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Onsite:
    """A shoot with three picks."""
    assert onsite("new", "day", "--name", "Day", "--timezone", "Europe/Vienna").status == 0
    shoot = open_shoot(tmp_path / "day")
    for person, frames in shoot_day(shoot, tmp_path / "card").items():
        pick(shoot, person, frames[:1])
    shoot.engine.dispose()
    monkeypatch.chdir(tmp_path / "day")
    return onsite


def test_a_batch_cannot_be_due_on_a_day_that_is_past(picked: Onsite) -> None:
    assert "that day is past" in refused(picked("retouch", "send", "../batch", "--due", "2020-02-29"))
    assert not Path("../batch").exists()


def test_out_and_back(picked: Onsite, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    out = picked(
        "retouch", "send", "../batch", "--hand", "A service", "--due", "2126-07-01", "--price", "3,50"
    )
    assert out.status == 0
    assert "3 images at 3.50 EUR: 10.50 EUR." in out.out
    assert "batch-1: 3 files are ready in ../batch for A service." in out.out
    for name in ("0001_f1", "0002_f3"):
        retouched(Image.open(tmp_path / "batch" / f"{name}.jpg")).save(tmp_path / "batch" / f"{name}-r.tif")
        (tmp_path / "batch" / f"{name}.jpg").unlink()
    back = picked("retouch", "receive", "../batch", "--json")
    assert back.status == 3
    assert [one["kept"] for one in back.data["accepted"]] == [
        "retouched/0001_f1.tif",
        "retouched/0002_f3.tif",
    ]
    assert [trouble["kind"] for trouble in back.data["refused"][0]["troubles"]] == ["unchanged"]
    listed = picked("retouch", "list", "--json").data
    assert [one["frame"] for one in listed["batches"][0]["out"]] == ["f5"]
    assert listed["waiting"][0]["frame"] == "f5"
    assert picked("retouch", "accept", "f5", "--reason", "nothing to do").status == 0
    assert picked("retouch", "again", "f1", "--reason", "too smooth").status == 0
    later = datetime(2126, 7, 2, 12, tzinfo=UTC)
    monkeypatch.setattr(Shoot, "now", lambda _: later)
    assert "overdue" in picked("retouch", "list").out
    assert [one["version"] for one in picked("retouch", "list", "--json").data["batches"][0]["out"]] == [2]


def test_names_of_people_only_in_house_or_where_asked_for(picked: Onsite) -> None:
    def first(*options: str) -> str:
        data = picked("retouch", "send", "../batch", "--dry-run", "--json", *options).data
        return str(data["files"][0]["file"])

    assert first() == "Singer1_Ana_Altos_0001_f1.jpg"
    assert first("--no-names") == "0001_f1.jpg"
    assert first("--hand", "A service") == "0001_f1.jpg"
    assert first("--hand", "A service", "--names") == "Singer1_Ana_Altos_0001_f1.jpg"


@pytest.mark.parametrize(
    "arguments",
    [
        ("send", "../batch", "--due", "tomorrow"),
        ("send", "../batch", "--price", "much"),
        ("send", "../batch", "--from", "../nowhere"),
        ("send", "../batch", "--frames", "f99"),
        ("send", "../batch", "--group", "Nobody"),
        ("send", "../card"),
        ("receive", "../nowhere"),
        ("receive", "../card"),
        ("accept", "f1"),
        ("again", "f1", "--reason", "why"),
        ("again", "f1"),
        ("cost", "--images", "-1"),
        ("cost", "--images", "10", "--spot", "200"),
    ],
)
def test_bad_input_changes_nothing(picked: Onsite, tmp_path: Path, arguments: tuple[str, ...]) -> None:
    refused(picked("retouch", *arguments))
    assert not (tmp_path / "batch").exists()
    assert picked("retouch", "list", "--json").data["batches"] == []


def test_what_it_costs_before_it_is_spent(onsite: Onsite) -> None:
    told = onsite(
        *("retouch", "cost", "--images", "50", "--pack", "1200", "--pack-price", "80", "--currency", "USD"),
        *("--seconds", "6", "--by-hand", "10", "--by-hand-seconds", "240", "--spot", "10%"),
    )
    assert told.status == 0
    assert "50 images: 80.00 USD to pay" in told.out
    assert "left: 1150" in told.out
    assert "To look at: 5; by hand: 5." in told.out
    assert "Time: 5 min of work on the images, 20 min of a person's." in told.out
