"""A database that is damaged anywhere is told with status 2 as damaged, where, and with the next step; and a
backup brings the shoot back."""

from __future__ import annotations

import random
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from tests.cli.command_line import Onsite, Outcome, refused
from tests.tiers import long_after

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
    ("checkin", "C-4"),
    ("backup",),
    ("check",),
)
"""Commands that read the shoot, and an arrival; `check` is last, and finds what none of the others read."""

PAGE = 4096


def zeroed(content: bytes, rng: random.Random) -> bytes:
    at = rng.randrange(len(content) // PAGE) * PAGE
    return content[:at] + bytes(PAGE) + content[at + PAGE :]


def truncated(content: bytes, rng: random.Random) -> bytes:
    return content[: rng.randrange(len(content))]


def garbage(content: bytes, rng: random.Random) -> bytes:
    at, size = rng.randrange(len(content)), rng.choice((4, 60, 500, PAGE))
    return content[:at] + rng.randbytes(len(content[at : at + size])) + content[at + size :]


Damage = Callable[[bytes, random.Random], bytes]


def content_on_disk() -> bytes:
    """The database with all that stood in its write-ahead log, which is empty then."""
    with closing(sqlite3.connect("onsite.db")) as connection:
        assert connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0] == 0
    return Path("onsite.db").read_bytes()


def read_everything(onsite: Onsite) -> list[Outcome]:
    return [onsite(*command) for command in READS]


def told_as_damaged(outcome: Outcome) -> bool:
    lines = outcome.err.splitlines()
    return (
        outcome.status == 2
        and len(lines) == 2
        and lines[0].startswith("The shoot's database is damaged: ")
        and "onsite restore 1" in lines[1]
    )


@pytest.mark.long
@pytest.mark.parametrize("seed", long_after(1, range(12)))
@pytest.mark.parametrize("damage", [zeroed, truncated, garbage])
def test_damage_anywhere_is_told_and_a_backup_brings_the_shoot_back(
    day: Onsite, damage: Damage, seed: int
) -> None:
    database = Path("onsite.db")
    with closing(
        sqlite3.connect(database)
    ) as connection:  # nothing stays in its log, which would stand above
        assert connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0] == 0
    whole = database.read_bytes()
    database.write_bytes(damage(whole, random.Random(seed)))
    outcomes = read_everything(day)
    assert all(done.status == 0 or told_as_damaged(done) for done in outcomes), outcomes
    if outcomes[-1].status == 0:  # nothing that counts is damaged: free space, or nothing at all
        return
    restored = day("restore", "1", "--json")
    assert restored.status == 0, restored
    assert [done.status for done in read_everything(day)] == [0] * len(READS)
    assert day("status", "--json").data["frames"] == 6
    aside = Path(restored.data["aside"]) / "onsite.db"
    assert aside.is_file()


def test_the_backups_say_what_they_hold_and_what_is_lost_by_going_back(day: Onsite) -> None:
    assert day("checkin", "C-2").status == 0
    held = day("restore", "--json").data["backups"][0]
    assert [held[count] for count in ("number", "people", "arrivals", "frames", "damage")] == [1, 4, 1, 6, ""]
    done = day("restore", "1")
    assert "No longer recorded: 1 event." in done.out
    assert "arrived Maria Keller" in done.out
    assert day("status", "--json").data["stages"]["arrived"] == 1
    assert "no backup '7'" in refused(day("restore", "7"))


def test_a_shoot_that_is_open_elsewhere_is_not_replaced(day: Onsite) -> None:
    reader = (
        "import sqlite3, sys; c = sqlite3.connect('onsite.db'); c.execute('SELECT * FROM meta').fetchall()"
    )
    command = [sys.executable, "-c", f"{reader}; print('open', flush=True); sys.stdin.read()"]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as station:
        assert station.stdout is not None
        assert station.stdout.readline() == "open\n"
        assert "A station has the shoot open" in refused(day("restore", "1"))
        station.communicate()
    assert day("restore", "1").status == 0


def test_a_record_that_is_shorter_than_its_backup_is_told(day: Onsite) -> None:
    """The log beside the database is lost, or an old copy was put back."""
    before = content_on_disk()
    assert day("checkin", "C-2").status == 0
    assert day("backup").status == 0
    for ending in ("", "-wal", "-shm"):
        Path(f"onsite.db{ending}").unlink(missing_ok=True)
    Path("onsite.db").write_bytes(before)
    told = day("status")
    assert told_as_damaged(told)
    assert "its last backup with event" in told.err


def test_a_lost_database_comes_back_from_its_backup(day: Onsite) -> None:
    Path("onsite.db").unlink()
    assert "onsite restore 1" in refused(day("status"))
    assert day("restore", "1").status == 0
    assert day("status").status == 0
