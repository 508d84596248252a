"""Going back to a backup, and records that are shorter than they were; the rest: `tests.faults.damage`."""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

from tests.cli.command_line import Onsite, refused
from tests.faults.damage import told_as_damaged


def content_on_disk() -> bytes:
    """The database with all that stood in its write-ahead log, which is empty then."""
    with closing(sqlite3.connect("onsite.db")) as connection:
        assert connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0] == 0
    return Path("onsite.db").read_bytes()


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


def test_a_log_that_is_lost_is_told_and_what_it_held_is_counted(day: Onsite) -> None:
    """With nothing backed up since: the database alone looks whole."""
    with closing(sqlite3.connect("onsite.db")) as open_elsewhere:
        open_elsewhere.execute("SELECT count(*) FROM event").fetchone()
        for who in ("C-2", "C-3"):
            assert day("checkin", who).status == 0
        shutil.copytree(".", "killed")
    for name in ("onsite.db-wal", "onsite.db-shm"):
        Path("killed", name).unlink()
    told = day("status", "--shoot", "killed")
    assert told_as_damaged(told)
    assert "its log is lost" in told.err
    done = day("restore", "1", "--shoot", "killed", "--json")
    assert (done.data["lost"], done.data["unnamed"]) == ([], 2)
    assert day("check", "--shoot", "killed").status == 0
    assert day("checkin", "C-2", "--shoot", "killed").status == 0
    assert day("status", "--shoot", "killed").status == 0


def test_a_lost_database_comes_back_from_its_backup(day: Onsite) -> None:
    Path("onsite.db").unlink()
    assert "onsite restore 1" in refused(day("status"))
    assert day("restore", "1").status == 0
    assert day("status").status == 0
