"""The commands as the screens offer them: found by everyday names, run with what a form gives."""

from __future__ import annotations

from pathlib import Path

import pytest

from onsite.cli.command_tree import root_command
from onsite.cli.everyday_command_names import EVERYDAY
from onsite.cli.help_text import commands_of
from onsite.cli.screen_commands import _in_words, palette_commands
from onsite.core.progress import no_progress
from onsite.store.shoot import Shoot
from onsite.tui.commands.form_fields import completed_path
from onsite.tui.commands.palette_command import CommandResult, FieldKind, RunSettings
from tests.cli.command_line import LIST

COMMANDS = {command.title: command for command in palette_commands(root_command)}


def run(title: str, shoot: Shoot, **given: str) -> CommandResult:
    """Run a command as its form does that has these values and leaves all others as proposed."""
    command = COMMANDS[title]
    values = {field.name: field.value for field in command.fields} | given
    assert set(values) == {field.name for field in command.fields}
    return command.run(values, RunSettings(shoot.folder, "door-1", 80, no_progress))


@pytest.fixture
def listed(shoot: Shoot) -> Shoot:
    path = shoot.folder / "list.csv"
    path.write_text(LIST, encoding="utf-8")
    assert run("Load the client's list", shoot, file=str(path)).problem is None
    return shoot


def test_every_command_is_offered_once() -> None:
    words = {command.words.rsplit(", ", 1)[1] for command in COMMANDS.values()}
    missing = {words for words, _ in commands_of(root_command)} - words
    assert missing == {"demo", "new", "join", "serve"}  # not done while its screens are open


@pytest.mark.parametrize("title", COMMANDS)
def test_a_form_is_short_and_says_what_it_is_for(title: str) -> None:
    command = COMMANDS[title]
    assert command.about
    assert sum(field.at_once for field in command.fields) <= 7
    assert all(field.at_once for field in command.fields if field.required)
    for field in command.fields:
        assert field.label
        assert field.kind is not FieldKind.CHOICE or field.value in field.choices


def found(text: str) -> list[str]:
    return [
        command.title for command in COMMANDS.values() if text in f"{command.title}, {command.words}".lower()
    ]


@pytest.mark.parametrize(
    ("text", "title"),
    [
        ("undo", "Undo a check-in"),
        ("undo", "Undo the last decision"),
        ("walk-in", "Walk-in"),
        ("watch a folder", "Watch a folder"),
        ("print tickets", "Print tickets"),
        ("memory cards", "Read memory cards"),
        ("send to retoucher", "Send to retoucher"),
        ("deliver", "Deliver"),
        ("excel", "Load the client's list"),
        ("bill", "Write a report"),
    ],
)
def test_it_is_found_by_everyday_words(text: str, title: str) -> None:
    assert title in found(text)


@pytest.mark.long
def test_a_run_prints_its_answer_and_says_what_it_made(
    listed: Shoot, capsys: pytest.CaptureFixture[str]
) -> None:
    result = run("Print tickets", listed, file=str(listed.folder / "tickets.pdf"), up="8")
    assert result.problem is None
    assert "4 tickets in" in result.text
    assert result.made == (listed.folder / "tickets.pdf",)
    assert capsys.readouterr() == ("", "")  # nothing reaches the terminal below the screens


def test_a_refusal_comes_back_in_the_words_of_the_screens(listed: Shoot) -> None:
    result = run("Walk-in", listed, given="Maria", family="Keller", group="Harbour Choir")
    assert result.problem is not None
    told = f"{result.problem.what} {result.problem.remedy}"
    assert "--" not in told
    assert "onsite " not in told


def test_people_and_frames_are_fields_of_their_own(listed: Shoot) -> None:
    names = [(field.name, field.kind) for field in COMMANDS["Give frames to a person"].fields]
    assert names == [("frames", FieldKind.TEXT), ("who", FieldKind.PERSON)]
    result = run("Give frames to a person", listed, frames="A:1-3, A:7", who="Åsa Lindqvarn")
    assert result.problem is not None  # there are no frames; the person was understood
    assert "camera 'A'" in result.problem.what


def test_checking_in_and_taking_it_back(listed: Shoot) -> None:
    assert "1: Åsa Lindqvarn" in run("Check somebody in", listed, who="Åsa Lindqvarn").text
    assert run("Undo a check-in", listed, who="Åsa Lindqvarn").problem is None


def test_a_run_can_be_stopped(listed: Shoot, tmp_path: Path) -> None:
    def stop(done: int, total: int) -> None:  # noqa: ARG001
        raise KeyboardInterrupt

    command = COMMANDS["Slates as pictures"]
    result = command.run(
        {field.name: field.value for field in command.fields} | {"folder": str(tmp_path / "slates")},
        RunSettings(listed.folder, "door-1", 80, stop),
    )
    assert result.stopped


def test_what_is_unexpected_is_told(listed: Shoot, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr("platformdirs.user_log_dir", lambda *_args, **_options: str(tmp_path / "log"))

    def breaks(*_: object) -> None:
        raise RuntimeError("the floor gave way")

    monkeypatch.setattr("onsite.roster.find_people.PersonFinder.find", breaks)
    result = run("Find a person", listed, text="maria")
    assert result.problem is not None
    assert "the floor gave way" in result.problem.what


def test_a_path_completes_itself(tmp_path: Path) -> None:
    (tmp_path / "cards").mkdir()
    (tmp_path / "choir.xlsx").touch()
    (tmp_path / ".hidden").touch()
    assert completed_path(f"{tmp_path}/c") == f"{tmp_path}/cards/"
    assert completed_path(f"{tmp_path}/ch") == f"{tmp_path}/choir.xlsx"
    assert completed_path(f"{tmp_path}/") == f"{tmp_path}/cards/"
    assert completed_path(f"{tmp_path}/x") is None
    assert completed_path(f"{tmp_path}/nowhere/x") is None


def test_titles_are_told_apart() -> None:
    titles = [everyday.title for everyday in EVERYDAY.values()]
    assert len(set(titles)) == len(titles)


def test_every_command_has_everyday_words_and_says_what_is_next() -> None:
    there = {words for words, _ in commands_of(root_command)}
    assert there <= set(EVERYDAY)
    assert {words.split()[0] for words in EVERYDAY} <= {words.split()[0] for words in there}
    assert not [command.title for command in COMMANDS.values() if not command.then and not command.by]


@pytest.mark.parametrize(
    ("text", "in_words"),
    [
        ("onsite frames give B:0446 WHO: it is theirs", "“Give frames to a person”: it is theirs"),
        ("onsite retouch again FRAMES --reason TEXT", "“Have a frame retouched again” with “reason”"),
        ("onsite frames aside A:1043-1046", "“Set frames aside”"),
        ("again: --again", "again: “again”"),
    ],
)
def test_screens_call_commands_and_options_by_their_everyday_names(text: str, in_words: str) -> None:
    assert _in_words(text) == in_words
