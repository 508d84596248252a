"""The client's list, looked at and changed before it is loaded."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import pytest

from onsite.roster.load_roster import load_list
from onsite.roster.read_people import read_people
from onsite.store.shoot import Shoot
from onsite.tui.app import OnsiteApp
from onsite.tui.commands.command_form import CommandFormScreen
from onsite.tui.roster.list_screen import ListScreen
from tests.roster.test_roster_list_preview import LIST
from tests.tui.driving import Driven, opened, screen_text, told, typed, until


def names(shoot: Shoot) -> list[str]:
    with shoot.reading() as session:
        return [person.name for person in read_people(session)]


@asynccontextmanager
async def list_opened(shoot: Shoot, path: Path, size: tuple[int, int] = (100, 30)) -> AsyncIterator[Driven]:
    """The screens with a list in front."""
    async with opened(shoot, size=size) as pilot:
        app = pilot.app
        assert isinstance(app, OnsiteApp)
        await until(pilot, lambda: app.ready)
        app.push_screen(ListScreen(app, path))
        yield pilot


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
        await until(pilot, lambda: "The list is loaded: 2 added. Next: print tickets" in told(pilot))
    assert names(shoot) == ["Ana Horvat", "Bo Lind"]


@pytest.mark.long
async def test_a_file_that_is_no_list_is_refused_with_the_reason(shoot: Shoot, tmp_path: Path) -> None:
    path = tmp_path / "picture.csv"
    path.write_bytes(b"\xff\xd8\xff\xe0")
    async with list_opened(shoot, path) as pilot:
        app = pilot.app
        await until(pilot, lambda: not isinstance(app.screen, ListScreen) and "JPEG" in told(pilot))
    assert names(shoot) == []


@pytest.mark.long
async def test_a_row_that_may_be_a_total_is_left_out_with_one_key(shoot: Shoot, tmp_path: Path) -> None:
    path = tmp_path / "choir.csv"
    path.write_text("name,count\nAna Horvat,\nTotal Altos,1\nBo Lind,\nCy Ro,\n", encoding="utf-8")
    async with list_opened(shoot, path) as pilot:
        app = pilot.app
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


@pytest.mark.long
async def test_a_newer_list_says_whose_consent_changes_and_who_goes_and_comes(
    shoot: Shoot, tmp_path: Path
) -> None:
    older, newer = tmp_path / "older.csv", tmp_path / "newer.csv"
    older.write_text("Name,Consent\nAna Horvat,yes\nBo Lind,yes\nCy Ro,yes\n", encoding="utf-8")
    newer.write_text("Name,Consent\nAna Horvat,no\nBo Lind,yes\nDi Sol,yes\n", encoding="utf-8")
    load_list(shoot, older)
    async with list_opened(shoot, newer, (80, 24)) as pilot:
        app = pilot.app
        await until(pilot, lambda: "consent of Ana Horvat: yes → no." in screen_text(pilot))
        assert "Consent: 2 may be published, 1 must not be published." in screen_text(pilot)
        assert "withdrawn: Cy Ro." in screen_text(pilot)
        assert "added: Di Sol." in screen_text(pilot)
        await pilot.press("enter")
        await until(pilot, lambda: not isinstance(app.screen, ListScreen))
    assert names(shoot) == ["Ana Horvat", "Bo Lind", "Cy Ro", "Di Sol"]


@pytest.mark.long
async def test_what_does_not_fit_is_read_on_with_page_down(shoot: Shoot, tmp_path: Path) -> None:
    path = tmp_path / "choir.csv"
    rows = "".join(f"Ana {letter}o,Elvish {letter},\n" for letter in "ABCDEFGHIJKLMNOPQRST")
    path.write_text(f"name,language,count\n{rows}Total Altos,,20\n", encoding="utf-8")
    async with list_opened(shoot, path, (80, 24)) as pilot:
        await until(pilot, lambda: "Consent: the list does not say." in screen_text(pilot))
        assert "may be a total" in screen_text(pilot)
        await pilot.press("pagedown", "pagedown", "pagedown")
        await until(pilot, lambda: "Elvish T" in screen_text(pilot))
        await pilot.press("pageup", "pageup", "pageup")
        await until(pilot, lambda: "Consent: the list does not say." in screen_text(pilot))


@pytest.mark.long
async def test_two_columns_taken_as_one_field_leave_the_others_as_they_were(
    shoot: Shoot, tmp_path: Path
) -> None:
    path = tmp_path / "choir.csv"
    path.write_text("name,email,note,b\nAna Horvat,ana@example.org,early,late\n", encoding="utf-8")
    async with list_opened(shoot, path) as pilot:
        await until(pilot, lambda: "Enter loads it: 1 added." in screen_text(pilot))
        await pilot.press("home", "down", "down", "right", "left", "end", "left", "left", "left")
        await until(pilot, lambda: "Map every field to one column" in screen_text(pilot))
        assert "e-mail" in screen_text(pilot)
        assert "full name" in screen_text(pilot)
