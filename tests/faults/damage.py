"""A database, or its write-ahead log, is damaged at random: that is told, and a backup brings the shoot back.

    python -m tests.faults.damage [COUNT] [FIRST SEED]      (default 300 from 1)

The shoot is that of a program that was killed: three acts came after its backup, and stand in its log alone,
or in the database. Damage is *told* where a command says so with status 2, where, and with the next step; it
is *harmless* where nothing that counts has changed; anything else would be silently wrong. After it was told,
`onsite restore` must bring back the record as the backup had it, and name what is lost, or say how much
nobody can name.
"""

from __future__ import annotations

import os
import random
import shutil
import sqlite3
import sys
import tempfile
from collections import Counter
from collections.abc import Callable
from contextlib import closing
from functools import partial
from pathlib import Path
from typing import Any

from onsite.store.backups import newest_backup
from tests.cli.command_line import Outcome
from tests.faults.small_day import done, in_child, make_small_day, onsite, reuse_engines

READS = (
    ("status",),
    ("roster", "list"),
    ("roster", "find", "maria"),
    ("match",),
    ("frames", "export", "frames.csv"),
    ("frames", "why", "A:1"),
    ("picks", "list"),
    ("retouch", "list"),
    ("report", "report.json"),
    ("backup",),
    ("check",),
)
"""Commands that read the shoot; `check` is last, and finds what none of the others read."""

ACTS = (("checkin", "C-2"), ("frames", "give", "A:3", "C-2"), ("checkin", "C-3"))
"""What happened after the backup."""

CACHES = ("verdict", "timing", "meta")
"""Tables that are made again at any time; of `meta` the mark of the shoot counts, which opening it needs."""

PAGE = 4096


def zeroed(content: bytes, rng: random.Random) -> bytes:
    at = rng.randrange(len(content) // PAGE) * PAGE
    return content[:at] + bytes(PAGE) + content[at + PAGE :]


def truncated(content: bytes, rng: random.Random) -> bytes:
    return content[: rng.randrange(len(content))]


def garbage(content: bytes, rng: random.Random) -> bytes:
    at, size = rng.randrange(len(content)), rng.choice((4, 60, 500, PAGE))
    return content[:at] + rng.randbytes(len(content[at : at + size])) + content[at + size :]


def lost(_content: bytes, _rng: random.Random) -> None:
    return None


KINDS: dict[str, tuple[str, Callable[[bytes, random.Random], bytes | None]]] = {
    "page of zeros": ("onsite.db", zeroed),
    "cut short": ("onsite.db", truncated),
    "garbage": ("onsite.db", garbage),
    "log lost": ("onsite.db-wal", lost),
    "log cut short": ("onsite.db-wal", truncated),
    "zeros in the log": ("onsite.db-wal", zeroed),
    "garbage in the log": ("onsite.db-wal", garbage),
}
"""The file that is damaged, and how."""


def told_as_damaged(outcome: Outcome) -> bool:
    lines = outcome.err.splitlines()
    return (
        outcome.status == 2
        and len(lines) == 2
        and lines[0].startswith("The shoot's database is damaged: ")
        and "onsite restore 1" in lines[1]
    )


def record(shoot: Path) -> dict[str, list[tuple[Any, ...]]]:
    """All that counts in the database of a shoot, by table."""
    with closing(sqlite3.connect(shoot / "onsite.db")) as database:
        tables = database.execute("SELECT name FROM sqlite_schema WHERE type = 'table'").fetchall()
        return {
            name: sorted(database.execute(f"SELECT * FROM {name}").fetchall(), key=repr)
            for (name,) in tables
            if name not in CACHES
        }


def make_killed_day(folder: Path) -> None:
    """The small day in `folder`/day; its files as they are when a program is killed, in `folder`/log and
    `folder`/no log, where the log is lost with nothing in it."""
    make_small_day(folder)
    day = folder / "day"
    with closing(sqlite3.connect(day / "onsite.db")) as open_elsewhere:
        open_elsewhere.execute("SELECT count(*) FROM event").fetchone()
        for act in ACTS:
            done(day, *act)
        shutil.copytree(day, folder / "log")
    shutil.copytree(day, folder / "no log")


def damaged(folder: Path, seed: int) -> tuple[str, Path]:
    """The kind of damage of that seed, done to a shoot in `folder`, and the shoot."""
    rng = random.Random(seed)
    kind = list(KINDS)[seed % len(KINDS)]
    name, spoil = KINDS[kind]
    state = "log" if name.endswith("-wal") else rng.choice(("log", "no log"))
    shutil.rmtree(folder / "day")
    shutil.copytree(folder / state, folder / "day")
    path = folder / "day" / name
    content = spoil(path.read_bytes(), rng)
    path.unlink() if content is None else path.write_bytes(content)
    if rng.random() < 0.5:
        (folder / "day" / "onsite.db-shm").unlink(missing_ok=True)  # no index outlives a power cut
    return kind, folder / "day"


def outcome_of(folder: Path, seed: int, sound: dict[str, Any], backed_up: dict[str, Any]) -> tuple[str, str]:
    """The kind of damage, and what came of it: told, harmless, or what is wrong."""
    kind, shoot = damaged(folder, seed)
    os.chdir(folder)
    outcomes = [onsite(shoot, *command) for command in READS]
    if wrong := [one for one in outcomes if one.status != 0 and not told_as_damaged(one)]:
        return kind, f"not as damaged: {wrong[0]}"
    if not any(told_as_damaged(one) for one in outcomes):
        now = record(shoot)
        changed = [name for name in sound if now.get(name) != sound[name]]
        return kind, f"silently wrong: {changed}" if changed else "harmless"
    arrived = onsite(shoot, "checkin", "C-4")
    if arrived.status != 0 and not told_as_damaged(arrived):
        return kind, f"not as damaged: {arrived}"
    held = next(one for one in done(shoot, "restore", "--json").data["backups"] if not one["damage"])
    whole = held["newest_event"] == len(
        sound["event"]
    )  # the backup above may have been made of what is sound
    back = done(shoot, "restore", str(held["number"]), "--json").data
    if record(shoot) != (sound if whole else backed_up):
        return kind, "another record than the backup's"
    missing = len(sound["event"]) - held["newest_event"] + (arrived.status == 0)
    if back["lost_known"] and len(back["lost"]) + back["unnamed"] != missing:
        return kind, f"of {missing} lost: {back['lost']}, {back['unnamed']} without a name"
    if after := [one for one in (onsite(shoot, *command) for command in READS) if one.status != 0]:
        return kind, f"not restored: {after[0]}"
    return kind, "told, restored, " + (
        "each loss named" if len(back["lost"]) == missing else "not each named"
    )


def main(count: int = 300, first: int = 1) -> int:
    os.environ["ONSITE_STATION"] = "door-1"
    with tempfile.TemporaryDirectory() as kept:
        made, folder = Path(kept) / "made", Path(kept) / "work"
        made.mkdir()
        reuse_engines()
        make_killed_day(made)
        sound = record(made / "no log")
        os.chdir(made)
        for command in READS:  # warm, for the processes forked from this one
            done(made / "no log", *command)
        (made / "backed up").mkdir()
        backup = newest_backup(made / "log")
        assert backup is not None
        shutil.copy(backup.path, made / "backed up" / "onsite.db")
        backed_up = record(made / "backed up")
        counts: Counter[tuple[str, str]] = Counter()
        for seed in range(first, first + count):
            shutil.copytree(made, folder)
            answer = in_child(partial(outcome_of, folder, seed, sound, backed_up)) or ("", "the process died")
            os.chdir(made)
            shutil.rmtree(folder)
            counts[tuple(answer)] += 1
            if not answer[1].startswith(("told", "harmless")):
                print(f"seed {seed}, {answer[0]}: {answer[1]}", flush=True)
            if seed % 100 == 0:
                print(f"{sum(counts.values())} damaged", flush=True)
        for (kind, came), times in sorted(counts.items()):
            print(f"{kind:20} {came[:60]:60} {times:5}")
        wrong = sum(times for (_, came), times in counts.items() if not came.startswith(("told", "harmless")))
        print(f"{count} damaged, {wrong} with a fault")
        return int(wrong > 0)


if __name__ == "__main__":
    sys.exit(main(*map(int, sys.argv[1:3])))
