"""The server of a shoot goes away in the middle: the door goes on, and nothing is lost when it is back."""

from __future__ import annotations

from pathlib import Path

import pytest

from onsite.checkin.waiting_people import OFFLINE_NUMBERS
from onsite.roster.load_roster import load_list
from onsite.store.events import EventKind, read_events
from onsite.store.settings import Settings
from onsite.store.shoot import create_shoot
from tests.store.server import started, stopped, url_of
from tests.tui.driving import opened, told, typed, until


@pytest.mark.long
async def test_the_door_goes_on_and_all_is_recorded_when_the_server_is_back(
    tmp_path: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    (tmp_path / "list.csv").write_text("key,name\nC-1,Ida Sommer\nC-2,Bo Lind\nC-3,Cleo Marín\n")
    server = started(tmp_path_factory)
    shoot = create_shoot(tmp_path / "day", Settings("Festival", store=url_of(server)), "AAAA")
    load_list(shoot, tmp_path / "list.csv")
    async with opened(shoot, "door") as pilot:
        await typed(pilot, "C-1")
        await pilot.press("enter")
        await until(pilot, lambda: "1: Ida Sommer arrived" in told(pilot))
        with stopped(server):
            await typed(pilot, "C-2")
            await pilot.press("enter")
            await until(pilot, lambda: f"{OFFLINE_NUMBERS}: Bo Lind arrived" in told(pilot))
            assert "kept on this machine until the server is back" in told(pilot)
            await until(pilot, lambda: pilot.app.looking_problem is not None)
            assert "The server of this shoot does not answer" in str(pilot.app.looking_problem)
        await until(pilot, lambda: pilot.app.looking_problem is None)
        await until(pilot, lambda: pilot.app.status_cache.statuses[2].arrival is not None)
        await typed(pilot, "C-3")
        await pilot.press("enter")
        await until(pilot, lambda: "2: Cleo Marín arrived" in told(pilot))
    with shoot.reading() as session:
        numbers = [event.details["sequence"] for event in read_events(session, [EventKind.ARRIVED])]
    assert sorted(numbers) == [1, 2, OFFLINE_NUMBERS]
    shoot.engine.dispose()
    server.cleanup()
