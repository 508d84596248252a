"""Backups: kept by age, made while a station writes, never of a damaged database."""

from __future__ import annotations

import sqlite3
import threading
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onsite.core.errors import Problem
from onsite.store.backups import EVERY, FOLDER, Backup, back_up, list_backups, make_backup, worth_keeping
from onsite.store.events import EventKind, add_event
from onsite.store.restore_backup import read_backup
from onsite.store.schema import Meta, Person
from onsite.store.settings import Settings
from onsite.store.shoot import Shoot, create_shoot

NOON = datetime(2026, 6, 13, 12, tzinfo=UTC)


def backup(ago: int) -> Backup:
    return Backup(Path(f"{ago}"), NOON - timedelta(seconds=ago), 1)


@given(st.lists(st.integers(0, 40 * 86_400), max_size=60))
def test_the_newest_and_one_of_every_hour_and_day_are_kept(ages: list[int]) -> None:
    backups = [backup(age) for age in ages]
    kept = worth_keeping(backups, NOON)
    for one in backups:
        age = NOON - one.made
        near = timedelta(0) if age <= timedelta(hours=1) else timedelta(hours=1)
        near = near if age <= timedelta(days=1) else timedelta(days=1)
        assert any(timedelta(0) <= other.made - one.made <= near for other in kept)
    assert len(kept) <= 24 + 41 + sum(age <= 3600 for age in ages) + 2


def test_a_backup_is_made_while_a_station_writes(shoot: Shoot) -> None:
    stop = threading.Event()

    def write_on() -> None:
        number = 0
        while not stop.is_set():
            number += 1
            with shoot.writing() as session:
                session.add(Meta(key=f"a{number}", value="x"))
                add_event(session, EventKind.SLATE_SHOWN, NOON)

    station = threading.Thread(target=write_on)
    station.start()
    try:
        folder = shoot.folder / FOLDER
        made = [make_backup(shoot.folder, folder, NOON + timedelta(seconds=second)) for second in range(5)]
    finally:
        stop.set()
        station.join()
    for one in made:
        assert read_backup(one).damage == ""
        with closing(sqlite3.connect(one.path)) as database:  # each is one state: an event for each key
            (keys,) = database.execute("SELECT count(*) FROM meta WHERE key LIKE 'a%'").fetchone()
            (events,) = database.execute("SELECT count(*) FROM event").fetchone()
        assert keys == events == one.newest_event


def test_a_backup_is_due_after_ten_minutes_in_which_something_happened(shoot: Shoot) -> None:
    assert shoot.back_up_if_due() == []  # nothing is recorded yet
    with shoot.writing() as session:
        add_event(session, EventKind.SLATE_SHOWN, NOON)
    (first,) = shoot.back_up_if_due()
    assert (first.newest_event, list_backups(shoot.folder / FOLDER)) == (1, [first])
    with shoot.writing() as session:
        add_event(session, EventKind.SLATE_SHOWN, NOON)
    assert shoot.back_up_if_due() == []
    earlier = first.made - EVERY
    first.path.rename(first.path.with_name(f"{earlier:%Y%m%dT%H%M%SZ}-event-1.db"))
    (second,) = shoot.back_up_if_due()
    assert second.newest_event == 2
    assert shoot.back_up_if_due() == []


def test_backups_elsewhere(tmp_path: Path) -> None:
    settings = Settings("Festival", timezone="Europe/Vienna", backups=str(tmp_path / "other disk"))
    shoot = create_shoot(tmp_path / "shoot", settings, "AAAA")
    with pytest.raises(Problem, match="not there") as told:
        back_up(shoot.folder, shoot.backups_elsewhere, NOON)
    assert "Plug its disk in" in told.value.remedy
    (tmp_path / "other disk").mkdir()
    here, there = back_up(shoot.folder, shoot.backups_elsewhere, NOON)
    shoot.engine.dispose()
    assert (here.path.name, there.path.parent) == (there.path.name, tmp_path / "other disk")
    assert (there.path.parent / "shoot.toml").read_bytes() == (shoot.folder / "shoot.toml").read_bytes()
    assert (there.path.stat().st_mode & 0o077, here.path.stat().st_mode & 0o077) == (0, 0)


def test_no_backup_is_made_of_a_damaged_database(shoot: Shoot) -> None:
    with shoot.writing() as session:
        session.add_all(Person(key=str(n), name="x" * 200, code=str(n)) for n in range(200))
    shoot.engine.dispose()
    database = shoot.folder / "onsite.db"
    content = database.read_bytes()
    with closing(sqlite3.connect(database)) as connection:
        (root,) = connection.execute("SELECT rootpage FROM sqlite_schema WHERE name = 'person'").fetchone()
    database.write_bytes(content[: (root - 1) * 4096] + bytes(4096) + content[root * 4096 :])
    with pytest.raises(Problem, match="damaged: table person"):
        make_backup(shoot.folder, shoot.folder / FOLDER, NOON)
    assert list((shoot.folder / FOLDER).iterdir()) == []


def test_a_folder_that_cannot_be_made_is_told(shoot: Shoot) -> None:
    with pytest.raises(Problem, match="File name too long"):
        make_backup(shoot.folder, shoot.folder / ("x" * 5000), NOON)
