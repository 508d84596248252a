"""Help, wrong usage, and what goes to which stream: the same for every command."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

import onsite.cli.shoot_commands
from onsite import __version__
from onsite.cli.command_tree import root_command
from tests.cli.command_line import Onsite, refused
from tests.tiers import long_after


def commands(group: Any, path: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    for name, command in group.commands.items():
        if hasattr(command, "commands"):
            yield from commands(command, (*path, name))
        else:
            yield (*path, name)


COMMANDS = sorted(commands(root_command))
PROMISED = {
    ("new",),
    ("roster", "load"),
    ("roster", "find"),
    ("roster", "list"),
    ("slates", "images"),
    ("slates", "sheet"),
    ("slates", "deck"),
    ("slates", "show"),
    ("checkin",),
    ("walkin",),
    ("ingest",),
    ("match",),
    ("frames", "export"),
    ("frames", "give"),
    ("frames", "aside"),
    ("frames", "free"),
    ("status",),
    ("demo",),
}
"""Names that scripts rely on."""


def test_every_promised_command_is_there() -> None:
    assert set(COMMANDS) >= PROMISED


@pytest.mark.parametrize("command", COMMANDS, ids=" ".join)
def test_every_command_explains_itself(onsite: Onsite, command: tuple[str, ...]) -> None:
    told = onsite(*command, "--help")
    assert told.status == 0
    assert f"Usage: onsite {' '.join(command)}" in told.out
    assert told.err == ""


@pytest.mark.parametrize("command", long_after(8, COMMANDS), ids=" ".join)
def test_an_option_that_is_not_there_is_wrong_usage(festival: Onsite, command: tuple[str, ...]) -> None:
    told = refused(festival(*command, "--sideways"))
    assert "--sideways" in told
    assert f"onsite {' '.join(command)} --help" in told


@pytest.mark.parametrize(
    "arguments", [["dance"], ["roster", "dance"], ["frames"], ["ingest"], ["slates", "deck", "x.pdf"]]
)
def test_wrong_usage(festival: Onsite, arguments: list[str]) -> None:
    refused(festival(*arguments))


def test_an_error_is_one_json_object_too(festival: Onsite) -> None:
    told = festival("checkin", "Nobody Here", "--json")
    assert told.status == 2
    assert set(told.data) == {"error", "remedy"}
    assert told.data["error"] in told.err


def test_the_unexpected_is_no_traceback(
    festival: Onsite, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def breaks() -> None:
        raise RuntimeError("the floor gave way")

    monkeypatch.setattr(onsite.cli.shoot_commands, "open_chosen_shoot", breaks)
    monkeypatch.setattr("platformdirs.user_log_dir", lambda *_args, **_options: str(tmp_path / "log"))
    told = festival("status")
    assert told.status == 1
    assert len(told.err.splitlines()) == 2
    assert "the floor gave way" in told.err
    assert "Traceback" in (tmp_path / "log" / "unexpected.txt").read_text(encoding="utf-8")


def program(*arguments: str, folder: Path) -> subprocess.CompletedProcess[str]:
    """The program as a process of its own, its output piped."""
    environment = {k: v for k, v in os.environ.items() if not k.startswith("ONSITE_")}
    return subprocess.run(
        [sys.executable, "-c", "from onsite.cli import main; main()", *arguments],
        cwd=folder,
        env=environment | {"PYTHONUTF8": "1"},
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )


@pytest.mark.long
def test_the_program_as_a_process(tmp_path: Path) -> None:
    made = program("new", "day", "--name", "Day", "--timezone", "Europe/Vienna", "--json", folder=tmp_path)
    assert (made.returncode, made.stderr) == (0, "")
    assert json.loads(made.stdout)["name"] == "Day"
    no_one = program("checkin", "Nobody", folder=tmp_path / "day")
    assert (no_one.returncode, no_one.stdout) == (2, "")
    (tmp_path / "paper.csv").write_text("who\nNobody\n", encoding="utf-8")
    in_part = program("checkin", "--from", str(tmp_path / "paper.csv"), "--json", folder=tmp_path / "day")
    assert in_part.returncode == 3
    assert json.loads(in_part.stdout)["refused"][0]["row"] == 2


def test_help_loads_nothing_heavy(tmp_path: Path) -> None:
    heavy = {"sqlmodel", "textual", "PIL", "numpy", "fpdf", "python_calamine", "zxingcpp", "qrcode"}
    code = (
        "import sys; from onsite.cli import run; run(['--help']);"
        f"print('heavy:', sorted({heavy!r} & set(sys.modules)))"
    )
    told = subprocess.run(
        [sys.executable, "-c", code], cwd=tmp_path, capture_output=True, text=True, check=True
    ).stdout
    assert told.endswith("heavy: []\n")


def test_the_version(onsite: Onsite) -> None:
    assert onsite("--version").out == f"onsite {__version__}\n"
    assert onsite("--version", "--json").data == {"version": __version__}
