"""Each write of a command fails once, or from then on, and nothing of what was acknowledged is lost.

    python -m tests.faults.failing_disk [EVERY]      (default 1: each write; 5: each fifth)

A library written in C, compiled here and preloaded, counts the calls that create, write, sync, rename or link
below the folder of a shoot, and lets the n-th fail: with EIO once, as a bad sector does, or with ENOSPC from
then on, as a full disk does. For each command and every n; each in a process forked from one that is warm.
"""

from __future__ import annotations

import ctypes
import errno
import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from tests.cli.command_line import Outcome
from tests.faults.small_day import copied, done, in_child, make_busy_day, onsite, reuse_engines

LIBRARY = Path(__file__).with_suffix(".c")

COMMANDS = {
    "check-in": ("checkin", "C-2"),
    "ingest": ("ingest", "new card", "--camera", "A", "--copy-to", "copies"),
    "match": ("match",),
    "deliver": ("deliver", "out", "--originals"),
}
"""The commands whose writes fail, run in the folder that holds the shoot."""

KINDS = ((errno.EIO, False), (errno.ENOSPC, True))
"""How they fail: with which error, and whether every later call does too."""


def compiled(folder: Path) -> Path:
    """The library that lets calls fail."""
    library = folder / "failing_disk.so"
    subprocess.run(["gcc", "-shared", "-fPIC", "-O1", "-o", str(library), str(LIBRARY), "-ldl"], check=True)
    return library


@dataclass(frozen=True)
class Failure:
    """A command of which one call failed."""

    command: str
    call: int
    error: int
    from_then_on: bool

    def run(self, folder: Path) -> tuple[Outcome, int]:
        """How it ended, and how many calls that write it made."""
        library = ctypes.CDLL(None)
        library.disk_arm(str(folder).encode(), self.call, self.error, int(self.from_then_on))
        outcome = onsite(folder / "day", *COMMANDS[self.command], "--json")
        return outcome, int(library.disk_disarm())


def state(shoot: Path, check: bool = True) -> tuple[int, dict[str, int]]:
    """The number of frames, and of who has arrived; asserts that `onsite check` finds the shoot sound."""
    if check:
        checked = done(shoot, "check", "--json").data["shoot"]
        assert not [one for one in checked if one["what"] in ("record", "frames") and one["remedy"]], checked
    frames = done(shoot, "status", "--json").data["frames"]
    people = done(shoot, "roster", "list", "--json").data["people"]
    return frames, {person["key"]: person["sequence"] for person in people if person["sequence"]}


def faults_after(folder: Path, failure: Failure, outcome: Outcome) -> list[str]:
    """What is wrong after the failure: with the message, with the shoot, or with what the next try does."""
    faults = []
    if outcome.status not in (0, 2, 3):
        faults.append(f"status {outcome.status}")
    if outcome.status == 2 and not 1 <= len(outcome.err.splitlines()) <= 2:
        faults.append("no message")
    shoot, command = folder / "day", failure.command
    try:
        frames, numbers = state(shoot)
        if command == "check-in" and outcome.status in (0, 3):
            said = json.loads((outcome.out or outcome.err).splitlines()[-1])
            assert numbers.get("C-2") == said["sequence"], "the arrival is lost"
        assert command != "ingest" or outcome.status != 0 or frames == 10, "frames are lost"
        done(shoot, *COMMANDS[command], "--json")
        frames, numbers = state(shoot, check=False)
        assert numbers == ({"C-1": 1, "C-2": 2} if command == "check-in" else {"C-1": 1}), numbers
        assert frames == (10 if command == "ingest" else 7), frames
        copies = sorted(path.name for path in (folder / "copies").rglob("*") if path.is_file())
        assert command != "ingest" or copies == [f"IMG_000{number}.JPG" for number in (7, 8, 9)], copies
        delivered = list((folder / "out").rglob("*.jpg"))
        assert command != "deliver" or len(delivered) == 1, delivered
    except AssertionError as error:
        faults.append(str(error))
    return faults


def attempt(made: Path, folder: Path, failure: Failure) -> tuple[int, list[str], str]:
    """How many calls that write the command made, what was wrong, and what it said."""
    copied(made, folder)
    os.chdir(folder)
    try:
        ran = in_child(lambda: (lambda outcome, calls: (vars(outcome), calls))(*failure.run(folder)))
        if ran is None:
            return 0, ["the process died"], ""
        outcome, calls = Outcome(**ran[0]), ran[1]
        faults = in_child(lambda: faults_after(folder, failure, outcome))
        said = f"{outcome.status} {outcome.err.strip()!r}"
        return calls, ["the check died"] if faults is None else faults, said
    finally:
        os.chdir(made)
        shutil.rmtree(folder, ignore_errors=True)


def warm_up(made: Path, folder: Path) -> None:
    """Run every command once in this process, so that those forked from it begin at once."""
    copied(made, folder)
    os.chdir(folder)
    for command in COMMANDS.values():
        done(folder / "day", *command)
    state(folder / "day")
    os.chdir(made)
    shutil.rmtree(folder)


def failures(made: Path, folder: Path, every: int) -> Iterator[tuple[Failure, list[str], str]]:
    for command in COMMANDS:
        calls, faults, said = attempt(made, folder, Failure(command, 0, 0, False))
        assert not faults, (command, faults, said)
        print(f"{command}: {calls} calls that write", flush=True)
        for error, from_then_on in KINDS:
            for call in range(1, calls + 1, every):
                failure = Failure(command, call, error, from_then_on)
                _, faults, said = attempt(made, folder, failure)
                yield failure, faults, said


def main(every: int = 1) -> int:
    with tempfile.TemporaryDirectory() as kept:
        if "LD_PRELOAD" not in os.environ:
            preloaded = os.environ | {"LD_PRELOAD": str(compiled(Path(kept))), "ONSITE_STATION": "door-1"}
            return subprocess.run(
                [sys.executable, "-m", "tests.faults.failing_disk", str(every)], env=preloaded
            ).returncode
        made = Path(kept) / "made"
        made.mkdir()
        reuse_engines()
        make_busy_day(made)
        warm_up(made, Path(kept) / "work")
        tried = wrong = 0
        for failure, faults, said in failures(made, Path(kept) / "work", every):
            tried, wrong = tried + 1, wrong + bool(faults)
            if faults:
                print(failure, said, *faults, sep="\n    ", flush=True)
        print(f"{tried} failures, {wrong} with a fault")
        return int(wrong > 0)


if __name__ == "__main__":
    sys.exit(main(*map(int, sys.argv[1:2])))
