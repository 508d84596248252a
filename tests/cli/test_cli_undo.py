"""`onsite undo`: what a station did last, whatever it was."""

from __future__ import annotations

from pathlib import Path

import pytest
from PIL import Image

from tests.cli.command_line import Onsite, refused


def test_it_goes_back_step_by_step_at_the_door_by_hand_and_after_the_shoot(
    festival: Onsite, tmp_path: Path
) -> None:
    Image.new("RGB", (120, 80)).save(tmp_path / "IMG_0001.JPG")
    for line in (
        ("checkin", "C-1"),
        ("consent", "C-1", "no"),
        ("ingest", "../IMG_0001.JPG", "--camera", "A"),
        ("frames", "give", "A:0001", "C-1"),
        ("proofs", "build", "../out"),
        ("picks", "add", "C-1", "A:0001"),
    ):
        assert festival(*line).status == 0, line
    assert "the last picks no longer count" in festival("undo").out
    assert "made proofs last" in refused(festival("undo"))
    assert festival("frames", "undo").status == 0


def test_a_correction_is_undone_before_the_arrival_and_then_nothing_is_left(festival: Onsite) -> None:
    assert festival("checkin", "C-1").status == 0
    assert festival("consent", "C-1", "yes").status == 0
    assert "correction taken back" in festival("undo").out
    assert "is expected again" in festival("undo").out
    assert "door-1" in refused(festival("undo"))


def test_no_undo_publishes_somebody_who_said_no(festival: Onsite) -> None:
    assert festival("consent", "C-1", "yes").status == 0
    assert festival("consent", "C-1", "no").status == 0
    assert "is not published now, and undo would change that" in refused(festival("undo"))
    not_published = festival("status", "--json").data["publication"]["not_published"]
    assert not_published["must not be published"] == 1


def test_a_decision_by_hand_is_undone(festival: Onsite, tmp_path: Path) -> None:
    Image.new("RGB", (120, 80)).save(tmp_path / "IMG_0001.JPG")
    assert festival("ingest", "../IMG_0001.JPG", "--camera", "A").status == 0
    assert festival("frames", "aside", "A:0001").status == 0
    assert festival("undo", "--json").data["undone"] == "set aside: 1 frame"
    refused(festival("undo"))


def test_nothing_of_another_station_is_undone(festival: Onsite, monkeypatch: pytest.MonkeyPatch) -> None:
    assert festival("checkin", "C-1").status == 0
    monkeypatch.setenv("ONSITE_STATION", "door-2")
    assert "Nothing that was done at door-2" in refused(festival("undo"))
