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
from onsite.tui.roster.column_kinds import ColumnKindScreen
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


async def taken_as(pilot: Driven, text: str) -> None:
    """Opens the choice for the column under the cursor, and takes what the text finds."""
    await pilot.press("enter")
    await until(pilot, lambda: isinstance(pilot.app.screen, ColumnKindScreen))
    await typed(pilot, text)
    await pilot.press("enter")
    await until(pilot, lambda: isinstance(pilot.app.screen, ListScreen))


def flat(pilot: Driven) -> str:
    return " ".join(screen_text(pilot).split())


@pytest.mark.long
async def test_a_list_is_mended_and_loaded(shoot: Shoot, tmp_path: Path) -> None:
    path = tmp_path / "choir.csv"
    path.write_text(LIST, encoding="utf-8")
    async with opened(shoot, size=(80, 24)) as pilot:
        app = pilot.app
        assert isinstance(app, OnsiteApp)
        app.action_load_list()
        await until(pilot, lambda: isinstance(app.screen, CommandFormScreen))
        await typed(pilot, str(path))
        await pilot.press("enter")
        await until(pilot, lambda: "Does column E say who may be published?" in screen_text(pilot))
        await pilot.press("ctrl+s")  # nothing is loaded before the question is answered
        assert isinstance(app.screen, ListScreen)
        await pilot.press("enter", "down", "down", "down", "enter")  # not about consent
        await until(pilot, lambda: "Does column F say who may be published?" in screen_text(pilot))
        await pilot.press("enter", "n", "o", "down", "enter")  # a letter answers nothing
        await until(pilot, lambda: "Ctrl+S loads it: 2 added." in screen_text(pilot))
        assert "2 names would be loaded as written (Ana HORVAT). C: write them as Ana Horvat" in flat(pilot)
        await pilot.press("c")
        await until(pilot, lambda: "2 names set as names are written" in screen_text(pilot))
        await pilot.press("ctrl+s")
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
        await until(pilot, lambda: "Ctrl+S loads it: 4 added." in screen_text(pilot))
        await pilot.press("t")
        await until(pilot, lambda: "Ctrl+S loads it: 3 added." in screen_text(pilot))
        await pilot.press("ctrl+s")
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
        await pilot.press("ctrl+s")
        await until(pilot, lambda: not isinstance(app.screen, ListScreen))
    assert names(shoot) == ["Ana Horvat", "Bo Lind", "Cy Ro", "Di Sol"]


@pytest.mark.long
async def test_what_does_not_fit_is_read_on_with_page_down(shoot: Shoot, tmp_path: Path) -> None:
    path = tmp_path / "choir.csv"
    rows = "".join(f"Ana {letter}o,Elvish {letter},\n" for letter in "ABCDEFGHIJKLMNOPQRST")
    path.write_text(f"name,language,count\n{rows}Total Altos,,20\n", encoding="utf-8")
    async with list_opened(shoot, path, (80, 24)) as pilot:
        await until(
            pilot,
            lambda: (
                "Consent: no answer in this list, so everybody on it may be published." in screen_text(pilot)
            ),
        )
        assert "may be a total" in screen_text(pilot)
        await pilot.press("pagedown", "pagedown", "pagedown")
        await until(pilot, lambda: "Elvish T" in screen_text(pilot))
        await pilot.press("pageup", "pageup", "pageup")
        await until(
            pilot,
            lambda: (
                "Consent: no answer in this list, so everybody on it may be published." in screen_text(pilot)
            ),
        )


@pytest.mark.long
async def test_two_columns_taken_as_one_field_leave_the_others_as_they_were(
    shoot: Shoot, tmp_path: Path
) -> None:
    path = tmp_path / "choir.csv"
    path.write_text("name,email,note,b\nAna Horvat,ana@example.org,early,late\n", encoding="utf-8")
    async with list_opened(shoot, path) as pilot:
        await until(pilot, lambda: "Ctrl+S loads it: 1 added." in screen_text(pilot))
        await pilot.press("end")
        await taken_as(pilot, "e-m")
        await pilot.press("up")
        await taken_as(pilot, "e-m")
        await until(pilot, lambda: "Map every field to one column" in screen_text(pilot))
        assert "full name" in screen_text(pilot)


PROGRAMME = "Name,OK for the programme book?\nAna Horvat,yes\nBo Lind,no\nCy Ro,ask mother\nDi Sol,no\n"


async def test_a_column_of_yes_and_no_under_any_heading_is_asked_about_before_loading(
    shoot: Shoot, tmp_path: Path
) -> None:
    path = tmp_path / "choir.csv"
    path.write_text(PROGRAMME, encoding="utf-8")
    async with list_opened(shoot, path, (80, 24)) as pilot:
        await until(pilot, lambda: "Does column B say who may be published?" in screen_text(pilot))
        await pilot.press("ctrl+s", "enter", "enter")  # the first line is how it is taken now
        await until(pilot, lambda: isinstance(pilot.app.screen, ListScreen))
        assert "Does column B say who may be published?" in screen_text(pilot)
        await pilot.press("enter", "down")
        await until(pilot, lambda: "1 may be published (Ana Horvat: yes), 2 must not be" in flat(pilot))
        await pilot.press("enter")
        await until(pilot, lambda: "Ctrl+S loads it: 4 added." in screen_text(pilot))
        assert "Consent: 1 may be published, 2 must not be published, 1 not clear." in screen_text(pilot)
        await pilot.press("ctrl+s")
        await until(pilot, lambda: not isinstance(pilot.app.screen, ListScreen))
    with shoot.reading() as session:
        assert [p.name for p in read_people(session) if p.publication.allowed] == ["Ana Horvat"]


@pytest.mark.long
async def test_what_a_column_holds_is_found_by_its_letters(shoot: Shoot, tmp_path: Path) -> None:
    path = tmp_path / "choir.csv"
    path.write_text("Name,Where\nAna Horvat,Alto\n", encoding="utf-8")
    async with list_opened(shoot, path) as pilot:
        await until(pilot, lambda: "Ctrl+S loads it: 1 added." in screen_text(pilot))
        await pilot.press("end", "enter", "g", "r", "escape")
        await until(pilot, lambda: isinstance(pilot.app.screen, ListScreen))
        await taken_as(pilot, "gr")
        await until(pilot, lambda: "Ctrl+S loads it: 1 added." in screen_text(pilot))
        await pilot.press("ctrl+s")
        await until(pilot, lambda: not isinstance(pilot.app.screen, ListScreen))
    with shoot.reading() as session:
        assert [p.group for p in read_people(session)] == ["Alto"]
