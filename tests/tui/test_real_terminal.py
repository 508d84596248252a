"""A day in a real terminal (tmux): nothing of it is lost when the screens are closed, or killed."""

from __future__ import annotations

import os
import shlex
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from sqlmodel import select

from onsite.reconcile.export_frames import frame_lines
from onsite.roster.read_people import read_people
from onsite.store.events import EventKind, read_events
from onsite.store.schema import Frame
from onsite.store.shoot import Shoot
from tests.patience import PATIENCE
from tests.tui.set.tethered import Tethered

pytestmark = [
    pytest.mark.long,
    pytest.mark.skipif(shutil.which("tmux") is None, reason="tmux is not installed"),
]

ONSITE = [sys.executable, "-c", "from onsite.cli import main; main()"]


class Terminal:
    """A terminal of its own, with the screens of a shoot in it."""

    def __init__(self, socket: str, home: Path) -> None:
        self._tmux = ["tmux", "-L", socket, "-f", "/dev/null"]
        self._home = home

    def open(self, shoot: Shoot, columns: int = 100, rows: int = 30, **more: str) -> None:
        """Opens the screens, at the station door-1, with `more` in their environment."""
        setting = {"HOME": str(self._home), "ONSITE_STATION": "door-1", "COLORTERM": "truecolor", **more}
        command = ["env", "-u", "XDG_CONFIG_HOME", *(f"{name}={value}" for name, value in setting.items())]
        command += [*ONSITE, "--shoot", str(shoot.folder)]
        size = ["-x", str(columns), "-y", str(rows)]
        # what follows keeps the pane open, so that what the program leaves behind can be read
        line = f'{shlex.join(command)}; echo "ended with $?"; exec cat'
        # without sessions its server would end, and might still be ending when the next session is made
        stays = ["start-server", ";", "set-option", "-g", "exit-empty", "off", ";"]
        self._run(*stays, "new-session", "-d", *size, line)

    def press(self, *keys: str) -> None:
        """Keys by their names in tmux, such as `F2`, `Enter`, `C-q`."""
        for key in keys:
            self._run("send-keys", key)

    def type(self, text: str) -> None:
        self._run("send-keys", "-l", text)

    def text(self) -> str:
        return self._run("capture-pane", "-p")

    def until(self, holds: Callable[[str], object]) -> str:
        """What stands there once it holds; fails when it does not come about."""
        began = time.monotonic()
        while not holds(shown := self.text()):
            assert time.monotonic() - began < PATIENCE, f"it did not come about; on the screen:\n{shown}"
            time.sleep(0.05)
        return shown

    def shows(self, text: str) -> str:
        return self.until(lambda shown: text in " ".join(shown.split()))

    def process(self) -> int:
        """The program's process id."""
        shell = int(self._run("list-panes", "-F", "#{pane_pid}"))
        return int(subprocess.check_output(["pgrep", "-P", str(shell)], text=True).split()[0])

    def close(self) -> None:
        self._run("kill-session")

    def end(self) -> None:
        subprocess.run([*self._tmux, "kill-server"], capture_output=True, check=False)

    def _run(self, *words: str) -> str:
        done = subprocess.run([*self._tmux, *words], capture_output=True, text=True, check=False)
        assert done.returncode == 0, f"tmux {words[0]}: {done.stderr}"
        return done.stdout


@pytest.fixture
def terminal(tmp_path: Path) -> Iterator[Terminal]:
    made = Terminal(f"onsite-{os.getpid()}-{tmp_path.name}", tmp_path)
    yield made
    made.end()


def number_of_frames(shoot: Shoot) -> int:
    with shoot.reading() as session:
        return len(session.exec(select(Frame.id)).all())


def arrived(shoot: Shoot) -> list[str]:
    with shoot.reading() as session:
        names = {person.id: person.name for person in read_people(session)}
        return [names[event.person_id or 0] for event in read_events(session, (EventKind.ARRIVED,))]


def test_a_day_from_the_door_to_reconcile_and_all_is_still_there(
    choirs: Shoot, terminal: Terminal, tmp_path: Path
) -> None:
    with choirs.reading() as session:
        codes = {person.key: person.code for person in read_people(session)}
    terminal.open(choirs)
    terminal.shows("who is it?")

    terminal.type("bo lind")
    terminal.shows("Bo Lind")
    terminal.press("Enter")
    terminal.shows("1: Bo Lind arrived")
    terminal.type(codes["4"])  # as a scanner types it
    terminal.press("Enter")
    terminal.shows("2: Jürgen Weiß arrived")

    tethered = Tethered(tmp_path / "tether")  # its clock begins when both have arrived
    terminal.press("F2")
    terminal.shows("Press W")
    terminal.press("w")
    terminal.shows("Watch a folder")
    terminal.type(str(tethered.folder))
    terminal.press("Enter", "Enter")
    terminal.shows("watching")
    for _ in range(3):
        tethered.portrait("4")  # somebody forgot the slate
    tethered.pause(60)
    tethered.slate(codes["2"], "2")
    for _ in range(3):
        tethered.portrait("2")
    terminal.shows("Bo Lind")
    terminal.until(lambda _: number_of_frames(choirs) == 7)

    terminal.press("F3")
    terminal.shows("7 frames in = ━ 3 named + ┿ 1 slate + ▒ 3 loose + · 0 set aside")
    terminal.press("n")
    terminal.shows("Jürgen Weiß")
    terminal.press("1")
    terminal.shows("3 frames given to 2 Jürgen Weiß")
    terminal.shows("▒ 0 loose")

    terminal.press("C-q")
    assert "Traceback" not in terminal.shows("ended with 0")
    terminal.close()

    terminal.open(choirs)
    terminal.shows("who is it?")
    terminal.press("F4")
    terminal.shows("2 photographed")
    terminal.press("F3")
    terminal.shows("7 frames in = ━ 6 named + ┿ 1 slate + ▒ 0 loose + · 0 set aside")
    terminal.press("C-q")
    terminal.shows("ended with 0")

    named = [(line.name, line.how) for line in frame_lines(choirs) if line.kind == "named"]
    assert named == [("Jürgen Weiß", "hand")] * 3 + [("Bo Lind", "slate")] * 3


def test_what_was_told_is_there_after_the_program_is_killed(choirs: Shoot, terminal: Terminal) -> None:
    terminal.open(choirs)
    terminal.shows("who is it?")
    for key in ("2", "3", "4"):
        terminal.type(key)
        terminal.press("Enter")
    terminal.shows("3: Jürgen Weiß arrived")
    os.kill(terminal.process(), signal.SIGKILL)
    terminal.shows("ended with 137")
    terminal.close()
    assert arrived(choirs) == ["Bo Lind", "Zoë Ó Súilleabháin", "Jürgen Weiß"]
    terminal.open(choirs)
    terminal.shows("3 waiting")
    terminal.press("C-q")
    terminal.shows("ended with 0")


def test_without_colour_everything_is_still_told(choirs: Shoot, terminal: Terminal) -> None:
    terminal.open(choirs, columns=80, rows=24, NO_COLOR="1")
    terminal.shows("who is it?")
    terminal.press("F4")
    terminal.shows("6 expected")
    terminal.press("C-q")
    terminal.shows("ended with 0")
