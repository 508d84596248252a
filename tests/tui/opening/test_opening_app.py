"""What opens outside a shoot."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from onsite.cli.command_tree import root_command
from onsite.cli.screen_commands import opening_commands
from onsite.store.settings import Settings, read_settings
from onsite.store.shoot import create_shoot
from onsite.tui.commands.command_form import CommandFormScreen
from onsite.tui.opening.opening_app import Beginning, Chosen, OpeningApp
from tests.tui.driving import screen_text, typed, until


def app_in(folder: Path) -> OpeningApp:
    return OpeningApp(opening_commands(root_command), folder)


@pytest.mark.long
async def test_a_shoot_is_made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    app = app_in(tmp_path)
    async with app.run_test(size=(80, 24)) as pilot:
        driven: Any = pilot
        await until(driven, lambda: "Make a shoot" in screen_text(driven))
        await pilot.press("enter")
        await until(driven, lambda: isinstance(app.screen, CommandFormScreen))
        await typed(driven, "autumn")
        await pilot.press("enter")
        await typed(driven, "Autumn concert")
        await pilot.press("ctrl+s")
        await until(driven, lambda: "Next: Load the client" in screen_text(driven))
        await pilot.press("enter")
    assert app.return_value == Chosen(Beginning.MAKE, tmp_path / "autumn")
    assert read_settings(tmp_path / "autumn").name == "Autumn concert"


@pytest.mark.long
async def test_shoots_in_the_folder_are_offered(tmp_path: Path) -> None:
    create_shoot(tmp_path / "spring", Settings(name="Spring concert"), "AAAA").engine.dispose()
    app = app_in(tmp_path)
    async with app.run_test(size=(80, 24)) as pilot:
        driven: Any = pilot
        await until(driven, lambda: "Open Spring concert" in screen_text(driven))
        await pilot.press("down", "enter")
    assert app.return_value == Chosen(Beginning.OPEN, tmp_path / "spring")


@pytest.mark.long
async def test_a_folder_that_is_no_shoot_is_refused(tmp_path: Path) -> None:
    app = app_in(tmp_path)
    async with app.run_test(size=(80, 24)) as pilot:
        driven: Any = pilot
        await until(driven, lambda: "Open another shoot" in screen_text(driven))
        await pilot.press("down", "enter")
        await until(driven, lambda: isinstance(app.screen, CommandFormScreen))
        await typed(driven, str(tmp_path))
        await pilot.press("enter")
        await until(driven, lambda: "it has no shoot.toml" in screen_text(driven))
    assert app.return_value is None
