"""Stations on one server hear at once of what the others write."""

from __future__ import annotations

import threading
from datetime import UTC, datetime
from pathlib import Path

import pytest
import sqlalchemy as sa

from onsite.store.events import EventKind, add_event
from onsite.store.settings import Settings
from onsite.store.shoot import Shoot, create_shoot
from onsite.store.store_change_signal import has_change_signal, listen_for_changes
from tests.patience import PATIENCE
from tests.store.server import new_database
from tests.store.server import server_url as server_url


def test_sqlite_has_none(shoot: Shoot) -> None:
    assert not has_change_signal(shoot.engine)


@pytest.mark.long
def test_every_write_is_heard_and_a_lost_connection_is_made_again(server_url: str, tmp_path: Path) -> None:
    settings = Settings("Festival", store=new_database(server_url, "signal"))
    shoot = create_shoot(tmp_path / "one", settings, "AAAA")
    heard, stop = threading.Semaphore(0), threading.Event()
    listener = threading.Thread(
        target=listen_for_changes, args=(shoot.engine, heard.release, stop.is_set), daemon=True
    )
    listener.start()
    assert heard.acquire(timeout=PATIENCE)  # it listens
    for _ in range(2):
        with shoot.writing() as session:
            add_event(session, EventKind.INGESTED, datetime.now(UTC))
        assert heard.acquire(timeout=PATIENCE)
        end_other_connections(shoot)
        assert heard.acquire(timeout=PATIENCE)  # it listens again
    stop.set()
    listener.join(PATIENCE)
    assert not listener.is_alive()
    shoot.engine.dispose()


def end_other_connections(shoot: Shoot) -> None:
    with shoot.reading() as session:
        session.execute(
            sa.text("SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE query LIKE 'LISTEN%'")
        )
