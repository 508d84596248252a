"""Command lines run inside this process, in a folder of their own."""

from __future__ import annotations

import shutil
from contextlib import redirect_stdout
from io import StringIO
from pathlib import Path

import pytest

from onsite.cli import run
from tests.cli.command_line import LIST, Onsite, Outcome
from tests.faults.small_day import make_small_day
from tests.made_once import made_once


@pytest.fixture
def onsite(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Onsite:
    """Runs `onsite` with these arguments in an empty folder."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("ONSITE_SHOOT", raising=False)
    monkeypatch.setenv("ONSITE_STATION", "door-1")

    def run_it(*arguments: object) -> Outcome:
        capsys.readouterr()
        status = run([str(argument) for argument in arguments])
        said = capsys.readouterr()
        return Outcome(status, said.out, said.err)

    return run_it


@pytest.fixture
def festival(onsite: Onsite, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Onsite:
    """The same, inside a shoot with a roster of four."""
    (tmp_path / "list.csv").write_text(LIST, encoding="utf-8")
    assert (
        onsite(
            "new", "festival", "--name", "Festival", "--timezone", "Europe/Vienna", "--date", "2026-06-13"
        ).status
        == 0
    )
    monkeypatch.chdir(tmp_path / "festival")
    assert onsite("roster", "load", "../list.csv").status == 0
    return onsite


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a demo of twelve people, from its list to a first delivery, and what it printed."""

    def make(folder: Path) -> None:
        with redirect_stdout(StringIO()) as printed:
            assert run(["demo", str(folder / "day"), "--people", "12", "--json"]) == 0
        (folder / "printed.json").write_text(printed.getvalue(), encoding="utf-8")

    return made_once(tmp_path_factory, "demo", make)


@pytest.fixture(scope="session")
def small_day(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a small shoot with people, arrivals, frames, a pick and a backup."""

    return made_once(tmp_path_factory, "small day", make_small_day) / "day"


@pytest.fixture
def day(onsite: Onsite, small_day: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Onsite:
    """Runs `onsite` in a copy of the small shoot."""
    shutil.copytree(small_day, tmp_path / "day")
    monkeypatch.chdir(tmp_path / "day")
    return onsite
