"""Databases of other versions, and files that are no database of a shoot."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest
from sqlalchemy import Engine

from onsite.core.errors import Problem
from onsite.roster.read_people import asks_consent
from onsite.store.database_engine import engine_for
from onsite.store.events import EventKind, read_events
from onsite.store.migrations import VERSION, migrate, schema_version
from onsite.store.schema import Camera, File, Frame, Person, SymbolReading
from onsite.store.settings import Settings, write_settings
from onsite.store.shoot import Shoot, create_shoot, open_shoot

DUMPS = Path(__file__).parent / "data"


def from_dump(folder: Path, version: int) -> Path:
    folder.mkdir()
    write_settings(folder, Settings(name="Festival", timezone="Europe/Vienna"))
    with closing(sqlite3.connect(folder / "onsite.db")) as database:
        database.executescript((DUMPS / f"version-{version}.sql").read_text(encoding="utf-8"))
    return folder


@contextmanager
def opened(folder: Path) -> Iterator[Engine]:
    engine = engine_for(folder, "")
    try:
        yield engine
    finally:
        engine.dispose()


@pytest.mark.parametrize("version", range(1, VERSION + 1))
def test_a_shoot_of_any_version_opens(tmp_path: Path, version: int) -> None:
    shoot = open_shoot(from_dump(tmp_path / "old", version))
    assert shoot.mark == "AAAA"
    with shoot.reading() as session:
        person = session.get_one(Person, 1)
        assert (person.name, person.group, person.extra) == ("Zoë Ó Súilleabháin", "Alto 2", {"Bus": "3"})
        assert session.get_one(Camera, 1).serial == "0042"
        assert session.get_one(File, 1).size == 5_000_000_000
        assert session.get_one(Frame, 1).look == b"\x00\xff"
        assert [event.kind for event in read_events(session)] == [
            EventKind.LISTED,
            EventKind.ARRIVED,
            EventKind.INGESTED,
        ]
    shoot.engine.dispose()


def test_readings_of_every_version_are_kept(tmp_path: Path) -> None:
    for version, by, margin, codes in ((2, None, None, None), (3, "known codes", 9.5, 2)):
        shoot = open_shoot(from_dump(tmp_path / f"version-{version}", version))
        with shoot.reading() as session:
            reading = session.get_one(SymbolReading, 1)
            assert (reading.text, reading.by, reading.margin) == ("NXAAAA3479AC", by, margin)
            assert session.get_one(Frame, 1).codes == codes
        shoot.engine.dispose()


@pytest.mark.parametrize(
    ("consent", "walk_in", "details", "asked"),
    [
        ("yes", 0, "{}", True),
        ("", 0, "{}", False),
        ("yes", 1, "{}", False),
        ("", 0, '{"consent": ["no", ""]}', True),
        ("", 0, '{"note": ["", "x"]}', False),
    ],
)
def test_a_shoot_that_had_answers_about_consent_before_still_has(
    tmp_path: Path, consent: str, walk_in: int, details: str, asked: bool
) -> None:
    folder = from_dump(tmp_path / "old", 4)
    with closing(sqlite3.connect(folder / "onsite.db")) as database, database:
        database.execute("UPDATE person SET consent = ?, walk_in = ?", (consent, walk_in))
        database.execute("UPDATE event SET kind = 'changed', details = ? WHERE id = 1", (details,))
    shoot = open_shoot(folder)
    with shoot.reading() as session:
        assert asks_consent(session) is asked
    shoot.engine.dispose()


def columns(database: Path) -> dict[str, list[str]]:
    with closing(sqlite3.connect(database)) as connection:
        tables = [row[0] for row in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        pragmas = ("table_info", "foreign_key_list", "index_list")
        return {
            f"{table} {pragma}": sorted(
                repr(row[1:]) for row in connection.execute(f"PRAGMA {pragma}({table})")
            )
            for table in tables
            for pragma in pragmas
        }


def test_a_new_shoot_has_the_schema_of_the_newest_dump(shoot: Shoot, tmp_path: Path) -> None:
    """Fails when a table was changed and neither VERSION raised nor a step added."""
    old = from_dump(tmp_path / "old", VERSION)
    assert columns(old / "onsite.db") == columns(shoot.folder / "onsite.db")


def test_an_older_database_is_brought_up_to_date_and_a_copy_of_it_kept(tmp_path: Path) -> None:
    folder = from_dump(tmp_path / "old", 1)
    steps = {
        2: [
            "ALTER TABLE person ADD COLUMN voice VARCHAR DEFAULT '' NOT NULL",
            "UPDATE person SET voice = 'alto'",
        ]
    }
    with opened(folder) as engine:
        migrate(engine, steps, newest=2)
        assert schema_version(engine) == 2
        migrate(engine, steps, newest=2)  # does nothing
    with closing(sqlite3.connect(folder / "onsite.db")) as now:
        assert now.execute("SELECT name, voice FROM person").fetchall() == [("Zoë Ó Súilleabháin", "alto")]
    with closing(sqlite3.connect(folder / "onsite.db.version-1")) as before:
        assert before.execute("SELECT value FROM meta WHERE key = 'schema_version'").fetchone() == ("1",)
        assert "voice" not in [row[1] for row in before.execute("PRAGMA table_info(person)")]


def test_a_step_that_fails_changes_nothing(tmp_path: Path) -> None:
    folder = from_dump(tmp_path / "old", 1)
    steps = {2: ["ALTER TABLE person ADD COLUMN voice VARCHAR", "UPDATE nowhere SET voice = 1"]}
    with opened(folder) as engine, pytest.raises(Problem):
        migrate(engine, steps, newest=2)
    with closing(sqlite3.connect(folder / "onsite.db")) as now:
        assert "voice" not in [row[1] for row in now.execute("PRAGMA table_info(person)")]
    open_shoot(folder).engine.dispose()


def test_a_database_of_a_newer_version_is_refused_untouched(shoot: Shoot) -> None:
    with closing(sqlite3.connect(shoot.folder / "onsite.db")) as database, database:
        database.execute("UPDATE meta SET value = ? WHERE key = 'schema_version'", (str(VERSION + 1),))
    with pytest.raises(Problem, match="newer version") as told:
        open_shoot(shoot.folder)
    assert "Update onsite" in told.value.remedy
    with closing(sqlite3.connect(shoot.folder / "onsite.db")) as database:
        kept = database.execute("SELECT value FROM meta WHERE key = 'schema_version'").fetchone()
    assert kept == (str(VERSION + 1),)


@pytest.mark.parametrize(
    "content", [b"", b"this is a letter, not a database\n" * 200, b"SQLite format 3\0" + b"\xff" * 5000]
)
def test_a_file_that_is_no_database_is_told(tmp_path: Path, content: bytes) -> None:
    write_settings(tmp_path, Settings(name="Festival"))
    (tmp_path / "onsite.db").write_bytes(content)
    with pytest.raises(Problem) as told:
        open_shoot(tmp_path)
    assert told.value.remedy
    assert "\n" not in told.value.what
    assert (tmp_path / "onsite.db").read_bytes() == content or not content


def test_somebody_elses_database_is_told(tmp_path: Path) -> None:
    write_settings(tmp_path, Settings(name="Festival"))
    with closing(sqlite3.connect(tmp_path / "onsite.db")) as database:
        database.execute("CREATE TABLE songs (title)")
    with pytest.raises(Problem, match="not onsite's"):
        open_shoot(tmp_path)


@pytest.mark.parametrize("value", ["", "one", "-1"])
def test_a_version_that_makes_no_sense_is_told(shoot: Shoot, value: str) -> None:
    with closing(sqlite3.connect(shoot.folder / "onsite.db")) as database, database:
        database.execute("UPDATE meta SET value = ? WHERE key = 'schema_version'", (value,))
    with pytest.raises(Problem, match="version"):
        open_shoot(shoot.folder)


def test_a_database_cut_short_is_told(tmp_path: Path) -> None:
    create_shoot(tmp_path, Settings(name="Festival"), "AAAA").engine.dispose()
    database = tmp_path / "onsite.db"
    database.write_bytes(database.read_bytes()[: 3 * 4096])
    with pytest.raises(Problem) as told:
        open_shoot(tmp_path)
    assert told.value.remedy
