"""The client's list, looked at and changed before it is loaded."""

from __future__ import annotations

from pathlib import Path

import pytest

from onsite.roster.read_people import read_people
from onsite.store.shoot import Shoot
from onsite.tui.app import OnsiteApp
from onsite.tui.commands.command_form import CommandFormScreen
from onsite.tui.roster.list_screen import ListScreen
from tests.roster.test_roster_list_preview import LIST
from tests.tui.driving import opened, screen_text, told, typed, until


def names(shoot: Shoot) -> list[str]:
    with shoot.reading() as session:
        return [person.name for person in read_people(session)]


@pytest.mark.long
async def test_a_list_is_mended_with_arrow_keys_and_loaded(shoot: Shoot, tmp_path: Path) -> None:
    path = tmp_path / "choir.csv"
    path.write_text(LIST, encoding="utf-8")
    async with opened(shoot, size=(80, 24)) as pilot:
        app = pilot.app
        assert isinstance(app, OnsiteApp)
        app.action_load_list()
        await until(pilot, lambda: isinstance(app.screen, CommandFormScreen))
        await typed(pilot, str(path))
        await pilot.press("enter")
        await until(pilot, lambda: "what does a yes mean" in screen_text(pilot))
        await pilot.press("enter")  # nothing is loaded before the question is answered
        assert isinstance(app.screen, ListScreen)
        await pilot.press("end", "right")
        await until(pilot, lambda: "Column E: what does a yes mean?" in screen_text(pilot))
        await pilot.press("up", "left")
        await until(pilot, lambda: "Enter loads it: 2 added." in screen_text(pilot))
        assert "C: set 2 names in capitals as written: Ana HORVAT → Ana Horvat" in screen_text(pilot)
        await pilot.press("c")
        await until(pilot, lambda: "Set as names are written: 2 names" in screen_text(pilot))
        await pilot.press("enter")
        await until(pilot, lambda: not isinstance(app.screen, ListScreen))
        await until(pilot, lambda: "2 people added, 0 changed. Next: print tickets" in told(pilot))
    assert names(shoot) == ["Ana Horvat", "Bo Lind"]


@pytest.mark.long
async def test_a_file_that_is_no_list_is_refused_with_the_reason(shoot: Shoot, tmp_path: Path) -> None:
    path = tmp_path / "picture.csv"
    path.write_bytes(b"\xff\xd8\xff\xe0")
    async with opened(shoot) as pilot:
        app = pilot.app
        assert isinstance(app, OnsiteApp)
        app.push_screen(ListScreen(app, path))
        await until(pilot, lambda: not isinstance(app.screen, ListScreen) and "JPEG" in told(pilot))
    assert names(shoot) == []


@pytest.mark.long
async def test_a_row_that_may_be_a_total_is_left_out_with_one_key(shoot: Shoot, tmp_path: Path) -> None:
    path = tmp_path / "choir.csv"
    path.write_text("name,count\nAna Horvat,\nTotal Altos,1\nBo Lind,\nCy Ro,\n", encoding="utf-8")
    async with opened(shoot) as pilot:
        app = pilot.app
        assert isinstance(app, OnsiteApp)
        app.push_screen(ListScreen(app, path))
        await until(pilot, lambda: "if it is one: press T" in screen_text(pilot))
        await pilot.press("t")
        await until(pilot, lambda: "taken for a total, left out: Total Altos" in screen_text(pilot))
        await pilot.press("t")
        await until(pilot, lambda: "Enter loads it: 4 added." in screen_text(pilot))
        await pilot.press("t")
        await until(pilot, lambda: "Enter loads it: 3 added." in screen_text(pilot))
        await pilot.press("enter")
        await until(pilot, lambda: not isinstance(app.screen, ListScreen))
    assert names(shoot) == ["Ana Horvat", "Bo Lind", "Cy Ro"]
