"""A small shoot with people, arrivals, frames, a pick and a backup, to be damaged, killed and starved."""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing, redirect_stderr, redirect_stdout, suppress
from functools import cache
from io import StringIO
from pathlib import Path
from typing import Any

from onsite.cli import run
from onsite.store import database_engine, shoot
from tests.cli.command_line import LIST, Outcome
from tests.frames.pictures import jpeg


def onsite(shoot: Path, *words: str) -> Outcome:
    """Run a command line on that shoot."""
    with redirect_stdout(StringIO()) as out, redirect_stderr(StringIO()) as err:
        status = run([*words, "--shoot", str(shoot)])
    return Outcome(status, out.getvalue(), err.getvalue())


def done(shoot: Path, *words: str) -> Outcome:
    """The same, where it must succeed."""
    outcome = onsite(shoot, *words)
    assert outcome.status == 0, (words, outcome)
    return outcome


def make_small_day(folder: Path) -> None:
    """Make the shoot in `folder`/day, from the list and the card beside it."""
    (folder / "list.csv").write_text(LIST, encoding="utf-8")
    for number in range(1, 7):
        jpeg(folder / "card" / f"IMG_000{number}.JPG", number * 30, taken="2026:06:13 09:00:00")
    day = folder / "day"
    done(folder, "new", str(day), "--name", "Day", "--timezone", "Europe/Vienna")
    done(day, "roster", "load", str(folder / "list.csv"))
    done(day, "checkin", "C-1")
    done(day, "ingest", str(folder / "card"), "--camera", "A")
    done(day, "frames", "give", "A:1-2", "C-1")
    done(day, "picks", "add", "C-1", "A:1")
    done(day, "match")
    done(day, "backup")


def make_busy_day(folder: Path) -> None:
    """The same with frames to match, and a card to ingest in `new card`."""
    make_small_day(folder)
    for number in (7, 8, 9):
        jpeg(folder / "new card" / f"IMG_000{number}.JPG", number * 30, taken="2026:06:13 10:00:00")
    jpeg(folder / "late" / "IMG_0010.JPG", 300, taken="2026:06:13 11:00:00")
    done(folder / "day", "ingest", str(folder / "late"), "--camera", "A")


def copied(made: Path, folder: Path) -> None:
    """A copy in `folder` of a folder with the small day, whose shoot knows the copied files."""
    shutil.copytree(made, folder)
    with closing(sqlite3.connect(folder / "day" / "onsite.db")) as database, database:
        database.execute("UPDATE place SET path = replace(path, ?, ?)", (str(made), str(folder)))


def reuse_engines() -> None:
    """Let each shoot at the same place use one engine again, which knows its compiled queries: for processes
    that run many commands."""
    shoot.engines.engine_for = cache(database_engine.engine_for)  # type: ignore[attr-defined]


def in_child(work: Callable[[], Any]) -> Any:
    """What `work` returns in a process forked from this one; None where that dies."""
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        with suppress(BaseException):
            answer = json.dumps(work())
            with os.fdopen(write, "w") as out:
                out.write(answer)
            os._exit(0)
        os._exit(1)
    os.close(write)
    with os.fdopen(read) as answers:
        text = answers.read()
    os.waitpid(child, 0)
    return json.loads(text) if text else None
