"""The server of a shoot goes away in the middle: the door goes on, and nothing is lost when it is back."""

from __future__ import annotations

from pathlib import Path

import pytest

from onsite.checkin.offline_journal import reserve_offline_journal
from onsite.checkin.waiting_people import OFFLINE_NUMBERS
from onsite.core.errors import NoServer
from onsite.roster.load_roster import load_list
from onsite.roster.read_people import read_people
from onsite.store.events import EventKind, read_events
from onsite.store.local_copy import open_without_server, save_local_copy
from onsite.store.settings import Settings
from onsite.store.shoot import create_shoot, open_shoot
from tests.store.server import started, stopped, url_of
from tests.tui.driving import opened, screen_text, told, typed, until


@pytest.mark.long
async def test_the_door_goes_on_and_all_is_recorded_when_the_server_is_back(tmp_path: Path) -> None:
    (tmp_path / "list.csv").write_text("key,name\nC-1,Ida Sommer\nC-2,Bo Lind\nC-3,Cleo Marín\n")
    server = started()
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


@pytest.mark.long
async def test_the_screens_open_without_the_server_and_let_walk_ins_in(tmp_path: Path) -> None:
    (tmp_path / "list.csv").write_text("key,name\nC-1,Ida Sommer\nC-2,Bo Lind\n")
    server = started()
    made = create_shoot(tmp_path / "day", Settings("Festival", store=url_of(server)), "AAAA")
    load_list(made, tmp_path / "list.csv")
    assert reserve_offline_journal(made) is not None
    save_local_copy(made)
    made.engine.dispose()
    with stopped(server):
        with pytest.raises(NoServer):
            open_shoot(tmp_path / "day")
        shoot, last_known = open_without_server(tmp_path / "day")
        async with opened(shoot, "door", last_known=last_known) as pilot:
            await typed(pilot, "C-2")
            await pilot.press("enter")
            await until(pilot, lambda: f"{OFFLINE_NUMBERS}: Bo Lind arrived" in told(pilot))
            await typed(pilot, "Nora Zeh")
            await pilot.press("f8")
            await until(pilot, lambda: "A walk-in: somebody" in screen_text(pilot))
            await pilot.press("ctrl+s")
            await until(pilot, lambda: f"{OFFLINE_NUMBERS + 1}: Nora Zeh arrived" in told(pilot))
        async with opened(shoot, "door", last_known=last_known) as pilot:
            kept = pilot.app.status_cache.statuses.values()
            here = {status.person.name: status.person.sequence for status in kept if status.arrived}
            assert here == {"Bo Lind": OFFLINE_NUMBERS, "Nora Zeh": OFFLINE_NUMBERS + 1}
            server.ensure_postgres_running()
            await until(pilot, lambda: sorted(pilot.app.status_cache.statuses) == [1, 2, 3])
    with shoot.reading() as session:
        numbers = {person.name: person.sequence for person in read_people(session)}
    assert numbers == {"Ida Sommer": None, "Bo Lind": OFFLINE_NUMBERS, "Nora Zeh": OFFLINE_NUMBERS + 1}
    for one in (shoot, last_known):
        one.engine.dispose()
    server.cleanup()
