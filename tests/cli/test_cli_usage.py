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
from PIL import Image

import onsite.cli.shoot_commands
from onsite import __version__
from onsite.cli.command_tree import root_command
from tests.cli.command_line import Onsite, refused
from tests.frames.pictures import raw
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


def test_a_ctrl_c_is_told(festival: Onsite, monkeypatch: pytest.MonkeyPatch) -> None:
    def stop() -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(onsite.cli.shoot_commands, "open_chosen_shoot", stop)
    told = festival("status")
    assert (told.status, told.err) == (1, "Stopped. What was done so far is kept.\n")


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


@pytest.mark.skipif(sys.platform == "win32", reason="pipes of POSIX")
def test_nobody_needs_to_read_to_the_end(tmp_path: Path) -> None:
    """As in `onsite … | head -1`, where `head` has left before anything is written."""
    read, write = os.pipe()
    os.close(read)
    command = [sys.executable, "-c", "from onsite.cli import main; main()", "--help"]
    ended = subprocess.run(command, stdout=write, stderr=subprocess.PIPE, cwd=tmp_path, check=False)
    os.close(write)
    assert (ended.returncode, ended.stderr) == (0, b"")


@pytest.mark.skipif(sys.platform == "win32", reason="messages of C libraries reach the terminal there")
def test_a_damaged_file_is_told_once_and_by_nobody_but_the_program(tmp_path: Path) -> None:
    """The JPEG in the first raw file has another version, and bytes before a marker, of which the decoder in
    LibRaw would write; the TIFF's pixels are spoilt, of which libtiff would."""
    pytest.importorskip("rawpy", reason="the reader for raw files is not installed here")
    noise = Image.effect_noise((300, 200), 60)
    damaged = raw(tmp_path / "card" / "DSC_0001.DNG", noise.convert("RGB"))
    content = bytearray(damaged.read_bytes())
    jfif = content.index(b"JFIF")
    content[jfif + 5] = 248  # the version in JFIF 1.02
    content[jfif + 14 : jfif + 18] = bytes(4)  # the next marker
    damaged.write_bytes(content)
    noise.save(tiff := tmp_path / "card" / "DSC_0002.TIF", compression="tiff_lzw")
    tiff.write_bytes(tiff.read_bytes()[:300] + bytes(200) + tiff.read_bytes()[500:])
    assert program("new", "day", "--name", "Day", "--timezone", "Europe/Vienna", folder=tmp_path).stderr == ""
    told = program("ingest", "card", "--shoot", "day", folder=tmp_path)
    assert told.stderr == ""
    for name in (damaged.name, tiff.name):
        (line,) = [line for line in told.stdout.splitlines() if name in line]
        assert "the picture is damaged" in line


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
