"""Commands that are killed at random moments lose nothing that they had acknowledged.

    python -m tests.faults.kills [COUNT] [FIRST SEED]      (default 1,000 from 1)

Each command runs in a process forked from one that is warm, on a copy of a small shoot, and gets SIGKILL at
a random moment. Afterwards the record holds every act that was acknowledged before, once, and all that was
in it before the command; `onsite check` finds it sound; and the same command, run again, does the rest.
"""

from __future__ import annotations

import os
import random
import shutil
import signal
import sqlite3
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Sequence
from contextlib import closing, suppress
from functools import partial
from pathlib import Path

from tests.cli.command_line import Outcome
from tests.faults.small_day import copied, done, in_child, make_busy_day, onsite, reuse_engines
from tests.store.server import new_database, pgserver, url_of

ARRIVALS = ("C-2", "C-3", "C-4")
COMMANDS: dict[str, tuple[tuple[str, ...], ...]] = {
    "check-in": tuple(("checkin", who) for who in ARRIVALS),
    "ingest": (("ingest", "new card", "--camera", "A", "--copy-to", "copies"),),
    "match": (("match",),),
    "deliver": (("deliver", "out", "--originals"),),
    "backup": (("backup",), ("backup", "elsewhere")),
    "restore": (("restore", "1"),),
    "store move": (("store", "move", "URL"),),
    "forget": (("forget", "C-1"),),
}
"""Command lines that are killed; URL is a new database on a server."""

TRACE = b"Lindqvarn"
"""The family name of C-1, in a spelling that JSON and UTF-8 share."""

SHARES = {
    "check-in": 22,
    "ingest": 22,
    "match": 11,
    "deliver": 14,
    "backup": 8,
    "restore": 8,
    "store move": 7,
    "forget": 8,
}
"""Kills of each, in a hundred."""


def events(shoot: Path) -> list[tuple[object, ...]]:
    """All of the record in the shoot's SQLite database."""
    with closing(sqlite3.connect(shoot / "onsite.db")) as database:
        return database.execute(
            "SELECT id, at, station, kind, person_id, frame_id, details FROM event ORDER BY id"
        ).fetchall()


def lines_of(command: str, url: str) -> list[list[str]]:
    return [[url if word == "URL" else word for word in words] for words in COMMANDS[command]]


def killed(shoot: Path, lines: Sequence[Sequence[str]], after: float) -> list[Outcome]:
    """What the command lines said before the process that ran them was killed, so many seconds after its
    start."""
    said = shoot.parent / "said"
    child = os.fork()
    if child == 0:
        with suppress(BaseException), said.open("wb", buffering=0) as out:
            for words in lines:
                outcome = onsite(shoot, *words, "--json")
                out.write(f"{outcome.status}\t{outcome.out.strip()}\n".encode())
        os._exit(0)
    time.sleep(after)
    with suppress(ProcessLookupError):
        os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    text = said.read_text() if said.exists() else ""
    return [
        Outcome(int(line.split("\t")[0]), line.split("\t")[1], "")
        for line in text.splitlines(keepends=True)
        if line.endswith("\n")
    ]


def faults_after(
    folder: Path, command: str, url: str, before: list[tuple[object, ...]], said: Sequence[Outcome]
) -> list[str]:
    """What is wrong after the kill, or after the command was run again."""
    shoot = folder / "day"
    try:
        assert all(outcome.status == 0 for outcome in said), said
        if command == "store move":
            return moved_faults(shoot, url, before, bool(said))
        if command == "forget":
            return forgotten_faults(shoot, before)
        if command == "restore" and onsite(shoot, "status").status == 2:
            done(shoot, "restore", "1")  # told as damaged, with this as the next step
        checked = done(shoot, "check", "--json").data["shoot"]
        assert not [one for one in checked if one["what"] in ("record", "frames") and one["remedy"]], checked
        now = events(shoot)
        if command == "restore":
            assert now == before or (len(now) < len(before) and before[: len(now)] == now), "another record"
            assert not said or len(now) < len(before), "not restored"
        else:
            assert now[: len(before)] == before, "the record has changed"
        here = Counter(event[4] for event in now if event[3] == "arrived")
        assert max(here.values()) == 1, "an arrival is there twice"
        people = {
            one["key"]: one["sequence"] for one in done(shoot, "roster", "list", "--json").data["people"]
        }
        if command == "check-in":
            for outcome in said:
                assert people[outcome.data["key"]] == outcome.data["sequence"], "an arrival is lost"
            assert len(here) in (1 + len(said), 2 + len(said)), here
        if command == "ingest" and said:
            assert done(shoot, "status", "--json").data["frames"] == 10, "frames are lost"
        for words in lines_of(command, url):
            done(shoot, *words)
        if command == "ingest":
            assert done(shoot, "status", "--json").data["frames"] == 10, "not all frames, or some twice"
            copies = sorted(path.name for path in (folder / "copies").rglob("*.JPG"))
            assert copies == [f"IMG_000{number}.JPG" for number in (7, 8, 9)], copies
        if command == "check-in":
            people = {
                one["key"]: one["sequence"] for one in done(shoot, "roster", "list", "--json").data["people"]
            }
            assert sorted(people.values()) == [1, 2, 3, 4], people
        if command == "deliver":
            assert len(list((folder / "out").rglob("*.jpg"))) == 1, "delivered not once"
        if command == "backup":
            held = done(shoot, "restore", "--json").data["backups"]
            assert held, "no backup"
            assert not [one for one in held if one["damage"]], held
        done(shoot, "check")
    except AssertionError as error:
        return [str(error)]
    return []


def forgotten_faults(shoot: Path, before: list[tuple[object, ...]]) -> list[str]:
    """What is wrong after somebody was forgotten, again where the kill came first, and the next backup."""
    again = onsite(shoot, "forget", "C-1")
    assert again.status in (0, 2), again
    done(shoot, "backup")
    done(shoot, "check")
    done(shoot, "status")
    assert [event[:6] for event in events(shoot)[: len(before)]] == [event[:6] for event in before], "events"
    left = [path for path in shoot.rglob("*") if path.is_file() and TRACE in path.read_bytes()]
    assert not left, left
    kept = [path.name for path in (shoot / "previews").rglob("*.jpg")]
    assert len(kept) == 5, kept
    return []


def moved_faults(shoot: Path, url: str, before: list[tuple[object, ...]], said: bool) -> list[str]:
    status = onsite(shoot, "status", "--json")
    assert status.status in (0, 2), status
    if status.status == 2:
        assert "onsite store move" in status.err, status
    assert not said or url in (shoot / "shoot.toml").read_text(), "not moved"
    if url not in (shoot / "shoot.toml").read_text():
        done(shoot, "store", "move", url)
    assert done(shoot, "status", "--json").data["frames"] == 7
    done(shoot, "check")
    done(shoot, "store", "move", "sqlite")
    now = events(shoot)
    assert [event[:6] for event in now] == [event[:6] for event in before], "the record is another"
    return []


def main(count: int = 1000, first: int = 1) -> int:
    os.environ["ONSITE_STATION"] = "door-1"
    with tempfile.TemporaryDirectory() as kept:
        made, folder = Path(kept) / "made", Path(kept) / "work"
        server = pgserver.get_server(Path(kept) / "pg", cleanup_mode="delete")
        made.mkdir()
        reuse_engines()
        make_busy_day(made)
        took = {}
        for command in COMMANDS:
            urls = [new_database(url_of(server), f"{command} {number}") for number in (1, 2)]
            took[command] = warm_up(made, folder, command, urls)
        print(*(f"{command}: {seconds:.2f} s" for command, seconds in took.items()), sep=", ", flush=True)
        wrong, midway = 0, Counter()
        for seed in range(first, first + count):
            rng = random.Random(seed)
            command = rng.choices(list(SHARES), list(SHARES.values()))[0]
            url = new_database(url_of(server), f"shoot {seed}") if command == "store move" else ""
            copied(made, folder)
            os.chdir(folder)
            before = events(folder / "day")
            said = killed(folder / "day", lines_of(command, url), rng.random() * took[command])
            midway[command] += len(said) < len(COMMANDS[command])
            faults = in_child(partial(faults_after, folder, command, url, before, said))
            os.chdir(made)
            shutil.rmtree(folder)
            if faults != []:
                wrong += 1
                print(f"seed {seed}, {command}, after {len(said)}: {faults}", flush=True)
            if seed % 100 == 0:
                print(f"{seed - first + 1} kills, {wrong} with a fault", flush=True)
        print(f"{count} kills, {wrong} with a fault; before the end: {dict(midway)}")
        server.cleanup()
        return int(wrong > 0)


def warm_up(made: Path, folder: Path, command: str, urls: Sequence[str]) -> float:
    """Run a command in this process, so that those forked from it begin at once, and return the seconds that
    it takes in one of them. `urls` are two new databases."""

    def run_all(url: str) -> float:
        began = time.monotonic()
        for words in lines_of(command, url):
            done(folder / "day", *words)
        return time.monotonic() - began

    for work in (lambda: run_all(urls[0]), lambda: in_child(lambda: run_all(urls[1]))):
        copied(made, folder)
        os.chdir(folder)
        seconds = work()
        for words in (("check",), ("status",), ("roster", "list"), ("restore",)):  # what is asked afterwards
            onsite(folder / "day", *words, "--json")
        os.chdir(made)
        shutil.rmtree(folder)
    return 1.1 * float(seconds)


if __name__ == "__main__":
    sys.exit(main(*map(int, sys.argv[1:3])))
