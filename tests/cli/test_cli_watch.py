"""`onsite watch` as a process: a line for every frame, and a clean end."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from threading import Thread

import pytest
from PIL import Image

from tests.cli.command_line import Onsite, refused
from tests.patience import PATIENCE

INTERRUPTIBLE = """
import signal
from onsite.cli import main
signal.signal(signal.SIGINT, signal.default_int_handler)
main()
"""
"""Shells start background jobs with the interrupt ignored, and a process inherits that (POSIX.1-2017, Shell
Command Language, 2.11): here Ctrl-C ends the command as it does in front."""

pytestmark = pytest.mark.skipif(os.name == "nt", reason="Ctrl-C cannot be sent to one process on Windows")


class Running:
    """The command in a process of its own, and the lines it has printed."""

    def __init__(self, *arguments: str) -> None:
        command = [sys.executable, "-u", "-c", INTERRUPTIBLE, *arguments]
        root = str(Path(__file__).parent.parent.parent)
        self.process = subprocess.Popen(
            command,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            env={**os.environ, "PYTHONPATH": root},
        )
        self.lines: list[str] = []
        self._reader = Thread(target=self._read)
        self._reader.start()

    def _read(self) -> None:
        assert self.process.stdout
        for line in self.process.stdout:
            self.lines.append(line.rstrip("\n"))

    def until(self, told: str) -> str:
        """The first line that holds this."""
        return until(lambda: next((line for line in list(self.lines) if told in line), ""), self.lines)

    def end(self, how: signal.Signals = signal.SIGINT) -> int:
        """Its exit status after that signal."""
        self.process.send_signal(how)
        status = self.process.wait(PATIENCE)
        self._reader.join(PATIENCE)
        return status

    def errors(self) -> str:
        assert self.process.stderr
        return self.process.stderr.read()


def until(ready: Callable[[], str], told: object) -> str:
    give_up = time.monotonic() + PATIENCE
    while not (found := ready()):
        assert time.monotonic() < give_up, told
        time.sleep(0.02)
    return found


@pytest.fixture
def watching(festival: Onsite) -> Iterator[Callable[..., Running]]:
    """Runs `onsite watch tether` with these options, in the festival's folder."""
    assert festival("status").status == 0
    Path("tether").mkdir()
    begun: list[Running] = []

    def begin(*options: str) -> Running:
        begun.append(Running("watch", "tether", *options))
        return begun[-1]

    yield begin
    for one in begun:
        if one.process.poll() is None:
            one.process.kill()
        one.process.wait(PATIENCE)
        for stream in (one.process.stdout, one.process.stderr):
            if stream:
                stream.close()


def picture(name: str, number: int = 1, offset: str = "") -> Path:
    path = Path("tether", name)
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0x9003] = "2026:06:13 09:41:07"  # DateTimeOriginal (CIPA DC-008)
    if offset:
        exif.get_ifd(0x8769)[0x9011] = offset  # OffsetTimeOriginal
    Image.new("RGB", (90, 60), (number % 256, number // 256, 9)).save(
        path, "JPEG", exif=exif, comment=str(number)
    )
    return path


def frames(onsite: Onsite) -> int:
    told = onsite("match", "--json").data["frames"]
    assert isinstance(told, int)
    return told


@pytest.mark.long
def test_a_line_for_every_frame_until_ctrl_c(festival: Onsite, watching: Callable[..., Running]) -> None:
    picture("IMG_0001.JPG", 1)
    slates = festival("slates", "images", "slates", "--json")
    assert slates.status == 0
    one = watching("--camera", "left")
    assert one.until("0001") == "09:41:07 left 0001"
    slate = next(Path("slates").rglob("*.png"))
    with Image.open(slate) as card:
        card.convert("RGB").save("tether/IMG_0002.JPG")
    assert "slate NX" in one.until("0002")
    assert one.end() == 0
    assert one.errors() == ""
    assert one.lines[-2:] == ["Slates: 1 read.", "2 frames landed, 1 with a slate."]
    assert frames(festival) == 2


@pytest.mark.long
def test_a_camera_left_in_another_zone_is_told_in_shoot_time(watching: Callable[..., Running]) -> None:
    picture("IMG_0001.JPG", offset="+04:00")
    one = watching("--camera", "left")
    assert one.until("0001") == "07:41:07 (09:41:07 by its clock) left 0001"
    assert one.end() == 0


@pytest.mark.long
def test_one_object_with_json_and_nothing_else(festival: Onsite, watching: Callable[..., Running]) -> None:
    picture("IMG_0001.JPG", 1)
    Path("tether/letter.jpg").write_text("Dear choir")
    one = watching("--json")
    until(lambda: "x" if frames(festival) == 1 else "", one.lines)
    time.sleep(2.5)  # a letter has no end that could be told
    assert one.end() == 0
    told = json.loads("\n".join(one.lines))
    assert (told["frames"], told["slates"], told["troubled"]) == (1, 0, [])
    assert (told["verdicts"]["read"], told["verdicts"]["nothing"]) == (0, 1)
    assert [Path(entry["file"]).name for entry in told["refused"]] == ["letter.jpg"]


@pytest.mark.long
def test_killed_in_the_middle_nothing_is_lost_and_nothing_is_there_twice(
    festival: Onsite, watching: Callable[..., Running]
) -> None:
    for number in range(1, 121):
        picture(f"IMG_{number:04}.JPG", number)
    for landed in ("0003", "0041"):
        one = watching()
        one.until(landed)
        one.end(signal.SIGKILL)
    last = watching()
    last.until("all that lay there is read")
    assert last.end() == 0
    assert frames(festival) == 120
    assert festival("ingest", "tether", "--json").data["known"] == 120


@pytest.mark.long
def test_a_name_with_a_line_break_cannot_forge_a_line(watching: Callable[..., Running]) -> None:
    picture("a\n09:41:07 left 0001.jpg")
    one = watching()
    one.until("09:41:07")
    assert one.end() == 0
    assert sum(line.startswith("09:41:07") for line in one.lines) == 1


def test_a_folder_that_is_none_is_refused(festival: Onsite) -> None:
    assert "no such folder" in refused(festival("watch", "no such folder"))
