"""The wrap on PostgreSQL: the same lanes, the same frames as they land, the same undo."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from onsite.reconcile import store_match
from onsite.reconcile.camera_lanes import read_day_lanes
from onsite.reconcile.current_match import current_verdicts, is_match_current, match_now
from onsite.reconcile.end_of_day_lists import read_end_of_day_lists
from onsite.reconcile.live_match import live_frames
from onsite.reconcile.overrides import give_frames, join_runs, split_run, undo_last_override
from onsite.store.settings import Settings
from onsite.store.shoot import Shoot, create_shoot
from tests.matching.days import SHOOT, Day
from tests.reconcile.stored import store_day
from tests.store.server import new_database
from tests.store.server import server_url as server_url


@pytest.fixture
def shared(server_url: str, tmp_path: Path) -> Iterator[Shoot]:
    settings = Settings("Festival", timezone="Europe/Vienna", store=new_database(server_url, "wrap"))
    made = create_shoot(tmp_path / "shared", settings, SHOOT)
    yield made
    made.engine.dispose()


@pytest.mark.long
def test_the_wrap_is_the_same(shoot: Shoot, shared: Shoot, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(store_match, "_AT_ONCE", 7)  # kept in parts
    day = Day(log_shown=True).people(range(1, 8)).person(8, "unread").people(range(9, 12))
    for one in (shoot, shared):
        store_day(one, day)
        match_now(one)
        give_frames(one, day.ids(8)[:2], 8, "set-A")
        split_run(one, day.ids(4)[2], "set-A")
        join_runs(one, day.ids(6)[0], day.ids(6)[0] - 1 - len(day.ids(5)), "set-A")
        undone = undo_last_override(one, "set-A")
        assert undone is not None
        match_now(one)
        assert is_match_current(one)
    assert current_verdicts(shared) == current_verdicts(shoot)
    assert read_day_lanes(shared) == read_day_lanes(shoot)
    assert live_frames(shared, 1) == live_frames(shoot, 1)
    assert (
        read_end_of_day_lists(shared, read_day_lanes(shared)).gaps
        == read_end_of_day_lists(shoot, read_day_lanes(shoot)).gaps
    )
