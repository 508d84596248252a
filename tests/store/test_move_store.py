"""A shoot moves from SQLite to a server and back, with everything in it, and nobody writes where it was."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa
from sqlmodel import SQLModel

from onsite.core.errors import Problem
from onsite.store import move_store as moving
from onsite.store.events import EventKind, add_event, newest_event_id, read_events
from onsite.store.join_store import join_store
from onsite.store.move_store import move_store
from onsite.store.schema import Frame, Meta, Person
from onsite.store.shoot import MOVED, Shoot, open_shoot
from tests.matching.days import Day
from tests.reconcile.stored import store_day
from tests.store.server import new_database
from tests.store.server import server_url as server_url

AT = datetime(2026, 6, 13, 7, 40, 7, 250_000, tzinfo=UTC)


@pytest.fixture
def day(shoot: Shoot) -> Shoot:
    """A shoot with a day in it, with a frame of no time and a name that needs every kind of character."""
    store_day(shoot, Day(log_shown=True).people([1, 2, 3]))
    with shoot.writing() as session:
        session.get_one(Person, 1).name = "Zoë \u202eÓ 'Sú\\illeabháin\" 🎻"
        session.add(Frame(id=900, camera_id=1, name="x", source="x", look=b"\0\xff", taken=None))
    return shoot


@pytest.fixture
def url(server_url: str, request: pytest.FixtureRequest) -> str:
    return new_database(server_url, request.node.name[:60])


@pytest.fixture
def opened() -> Iterator[list[Shoot]]:
    shoots: list[Shoot] = []
    yield shoots
    for shoot in shoots:
        shoot.engine.dispose()


def contents(shoot: Shoot) -> dict[str, list[Any]]:
    """All rows of all tables, but for what says where the store is."""
    with shoot.reading() as session:
        rows = {
            table.name: [tuple(row) for row in session.execute(sa.select(table))]
            for table in SQLModel.metadata.sorted_tables
        }
    rows["meta"] = [row for row in rows["meta"] if row[0] not in ("settings", MOVED)]
    return {name: sorted(found, key=repr) for name, found in rows.items()}


def test_to_the_server_and_back_with_everything(day: Shoot, url: str, opened: list[Shoot]) -> None:
    before = contents(day)
    moved = move_store(day, url)
    assert moved.rows["event"] == len(before["event"]) > 0
    opened.append(there := open_shoot(day.folder))
    assert there.engine.dialect.name == "postgresql"
    assert contents(there) == before
    with there.writing() as session:  # numbers go on after the highest
        add_event(session, EventKind.SLATE_SHOWN, AT, person_id=1)
        session.add(Person(key="new", name="Ida Sommer", code="new"))
    after = contents(there)
    move_store(there, "")
    opened.append(back := open_shoot(day.folder))
    assert back.engine.dialect.name == "sqlite"
    assert contents(back) == after


def test_nobody_writes_to_the_store_that_was_left(day: Shoot, url: str) -> None:
    other = open_shoot(day.folder)  # a station that is open while the shoot moves
    move_store(day, url)
    with pytest.raises(Problem, match="has moved to the store"), other.writing() as session:
        add_event(session, EventKind.SLATE_SHOWN, AT, person_id=1)
    with other.reading() as session:
        assert read_events(session, person_id=1, kinds=[EventKind.SLATE_SHOWN])[-1].at != AT
    other.engine.dispose()


def test_the_password_is_in_no_message(day: Shoot, url: str) -> None:
    secret = str(sa.make_url(url).set(password="s3cret").render_as_string(hide_password=False))
    assert "s3cret" not in move_store(day, secret).store
    with day.reading() as session:
        assert "s3cret" not in session.get_one(Meta, MOVED).value


def test_interrupted_before_the_mark_nothing_has_moved(
    day: Shoot, url: str, opened: list[Shoot], monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(moving, "keep_settings", fails)  # the copy is complete, and not yet marked
        with pytest.raises(KeyboardInterrupt):
            move_store(day, url)
    with day.writing() as session:  # work goes on, and the next move takes it too
        add_event(session, EventKind.SLATE_SHOWN, AT, person_id=1)
    before = contents(day)
    move_store(day, url)
    opened.append(there := open_shoot(day.folder))
    assert contents(there) == before


def test_interrupted_after_the_mark_the_same_command_finishes(
    day: Shoot, url: str, opened: list[Shoot], monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: object) -> None:
        raise KeyboardInterrupt

    before = contents(day)
    with monkeypatch.context() as patched:
        patched.setattr(moving, "write_settings", fails)
        with pytest.raises(KeyboardInterrupt):
            move_store(day, url)
    with pytest.raises(Problem, match="has moved"):
        open_shoot(day.folder)
    opened.append(half := open_shoot(day.folder, even_if_moved=True))
    with pytest.raises(Problem, match="has moved"):
        move_store(half, url + "_other")
    move_store(half, url)
    opened.append(there := open_shoot(day.folder))
    assert there.engine.dialect.name == "postgresql"
    assert contents(there) == before


def test_another_shoot_is_never_overwritten(day: Shoot, url: str, tmp_path: Path) -> None:
    from onsite.store.settings import Settings
    from onsite.store.shoot import create_shoot

    create_shoot(tmp_path / "other", Settings("Other", store=url), "ZZZZ").engine.dispose()
    with pytest.raises(Problem, match="holds another shoot"):
        move_store(day, url)
    with day.writing() as session:
        assert newest_event_id(session) > 0


def test_a_second_machine_joins(day: Shoot, url: str, tmp_path: Path, opened: list[Shoot]) -> None:
    move_store(day, url)
    settings = join_store(url, tmp_path / "second")
    opened.append(first := open_shoot(day.folder))
    opened.append(second := open_shoot(tmp_path / "second"))
    assert settings == first.settings == second.settings
    assert (second.mark, contents(second)) == (first.mark, contents(first))
    with pytest.raises(Problem, match="is a shoot already"):
        join_store(url, tmp_path / "second")


def test_where_no_shoot_is_nobody_joins(url: str, tmp_path: Path) -> None:
    with pytest.raises(Problem, match="no shoot in this store"):
        join_store(url, tmp_path / "second")
    assert not (tmp_path / "second").exists()
