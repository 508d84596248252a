"""Where a command meets the edges of its machine: it says so, and never ends as something unexpected."""

from __future__ import annotations

import io
import json
import os
import shutil
import sys
from pathlib import Path
from typing import Any

import pytest

from onsite.cli import main, run
from onsite.reconcile import export_frames
from onsite.store.events import EventKind, add_event
from onsite.store.schema import Camera, Frame
from onsite.store.shoot import Shoot
from tests.cli.command_line import Onsite, refused
from tests.frames.pictures import jpeg


def test_a_list_of_frames_while_frames_land(day: Onsite, monkeypatch: pytest.MonkeyPatch) -> None:
    verdicts = export_frames.current_verdicts

    def then_one_lands(shoot: Shoot) -> Any:
        found = verdicts(shoot)
        with shoot.writing() as session:
            session.add(Frame(camera_id=session.get_one(Camera, 1).id, name="IMG_0009", source="card"))
            add_event(session, EventKind.INGESTED, shoot.now(), frames=1, files=1, folders=[], roots=[])
        return found

    with monkeypatch.context() as patched:
        patched.setattr(export_frames, "current_verdicts", then_one_lands)
        assert day("frames", "export", "frames.csv", "--json").data["frames"] == 6
    assert day("frames", "export", "frames.csv", "--json").data["frames"] == 7


def test_a_pick_of_a_file_that_was_half_copied_is_kept(day: Onsite, tmp_path: Path) -> None:
    whole = jpeg(tmp_path / "card 2" / "IMG_0020.JPG", 77).read_bytes()
    half = tmp_path / "card 2" / "IMG_0020.JPG"
    half.write_bytes(whole[: len(whole) * 9 // 10])
    assert day("ingest", half.parent).status == 0
    assert day("frames", "give", "IMG_0020.JPG", "C-2").status == 0
    assert day("picks", "add", "C-2", "IMG_0020.JPG").status == 0
    half.write_bytes(whole)
    said = day("ingest", half.parent).out
    assert "Read half copied before, and whole now: 1 file." in said
    assert "no file" not in said
    picked = {person["key"]: len(person["picks"]) for person in day("picks", "list", "--json").data["people"]}
    assert picked["C-2"] == 1


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no device that is always full")
@pytest.mark.parametrize("command", [["checkin", "C-3"], ["match", "--json"]])
def test_an_answer_that_cannot_be_written_is_not_lost(
    day: Onsite, command: list[str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    with Path("/dev/full").open("w") as full, monkeypatch.context() as patched:
        patched.setattr(sys, "stdout", full)
        assert run(command) == 3
        patched.undo()
        with pytest.raises(OSError):
            full.flush()
        os.dup2(os.open(os.devnull, os.O_WRONLY), full.fileno())
    said = capsys.readouterr().err.splitlines()
    assert said[0].startswith("It is done, and the answer cannot be written: No space left")
    assert json.loads(said[1])
    if command[0] == "checkin":
        assert json.loads(said[1])["sequence"] == 2
    assert day("status").status == 0


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no device that is always full")
def test_help_that_cannot_be_written_is_refused(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    with Path("/dev/full").open("w", buffering=1) as full:
        monkeypatch.setattr(sys, "stdout", full)
        assert run(["checkin", "--help"]) == 2
        monkeypatch.undo()
        os.dup2(os.open(os.devnull, os.O_WRONLY), full.fileno())
    assert "cannot be written: No space left" in capsys.readouterr().err


@pytest.mark.usefixtures("day")
@pytest.mark.parametrize("command", [["roster", "list"], ["roster", "list", "--json"]])
def test_names_on_an_output_that_is_not_in_utf_8(command: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    written = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(written, encoding="ascii"))
    monkeypatch.setattr(sys, "argv", ["onsite", *command])
    with pytest.raises(SystemExit) as ended:
        main()
    assert ended.value.code == 0
    text = written.getvalue().decode("ascii")
    if "--json" in command:
        assert json.loads(text)["people"][0]["name"] == "Åsa Lindqvarn"
    else:
        assert "\\xc5sa Lindqvarn" in text


def test_links_that_lead_in_a_circle(day: Onsite, tmp_path: Path) -> None:
    card = tmp_path / "links"
    jpeg(card / "IMG_0007.JPG", 210)
    (card / "loop.jpg").symlink_to(card / "loop.jpg")
    (card / "self").symlink_to(card)
    done = day("ingest", card, "--json")
    assert (done.status, done.data["frames"]) == (3, 1)
    assert [Path(refusal["file"]).name for refusal in done.data["refused"]] == ["loop.jpg"]
    refused(day("status", "--shoot", card / "loop.jpg"))


@pytest.mark.parametrize("path", ["x" * 5000, "a/" * 3000, "loop"])
@pytest.mark.parametrize("command", ["new DIR --name Day", "ingest DIR", "ingest card --copy-to DIR"])
def test_a_path_that_nothing_can_be_at(day: Onsite, command: str, path: str) -> None:
    Path("loop").symlink_to("loop")
    said = refused(day(*(path if word == "DIR" else word for word in command.split())))
    assert len(said) < 600


def test_a_folder_that_is_gone(day: Onsite, tmp_path: Path) -> None:
    (tmp_path / "gone").mkdir()
    os.chdir(tmp_path / "gone")
    shutil.rmtree(tmp_path / "gone")
    assert "is gone" in refused(day("status"))
    os.chdir(tmp_path)


@pytest.mark.parametrize(
    "command",
    [
        "frames why f99999999999999999999999",
        "frames give A:99999999999999999999999 C-1",
        "frames aside 99999999999999999999999",
        "checkin 99999999999999999999999",
        "checkin C-2 --card 99999999999999999999999",
    ],
)
def test_numbers_beyond_all_bounds(day: Onsite, command: str) -> None:
    refused(day(*command.split()))


def test_the_screens_need_a_terminal(day: Onsite) -> None:
    assert "need a terminal" in refused(day())
