"""While nothing new is read from the shoot, every screen says so, until it is read again."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from onsite.core.errors import Problem
from onsite.store.shoot import Shoot
from onsite.tui import thread_retries
from onsite.tui.app import OnsiteApp
from onsite.tui.dialogs.key_help import HelpScreen
from tests.tui.driving import Driven, opened, screen_text, told, until

DAMAGED = "The shoot's database is damaged: table "


class Page:
    """The first page of a table in the file of the database: damaged, and whole again."""

    def __init__(self, database: Path, table: str) -> None:
        with sqlite3.connect(database) as store:
            store.execute("pragma wal_checkpoint(truncate)")
            found = store.execute("select rootpage from sqlite_master where name = ?", (table,)).fetchone()
            (self.size,) = store.execute("pragma page_size").fetchone()
        store.close()
        self.database, self.start = database, (found[0] - 1) * self.size
        with database.open("rb") as file:
            file.seek(self.start)
            self.whole = file.read(self.size)

    def write(self, content: bytes) -> None:
        with self.database.open("r+b") as file:
            file.seek(self.start)
            file.write(content)

    def damage(self) -> None:
        self.write(b"\xff" * self.size)


def stands(pilot: Driven) -> bool:
    """Whether the screen in front says so, on a line of its own."""
    return any(line.startswith(f" ! {DAMAGED}") for line in screen_text(pilot).splitlines())


@pytest.mark.long
@pytest.mark.parametrize("table", ["event", "person"])
async def test_damage_stands_on_every_screen_until_it_is_mended(
    choirs: Shoot, table: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(thread_retries, "LONGEST_PAUSE", 1.0)
    async with opened(choirs, size=(160, 30), station="door-2") as pilot:
        page = Page(choirs.folder / "onsite.db", table)
        page.damage()
        await until(pilot, lambda: stands(pilot))  # nobody presses a key
        assert any(step in screen_text(pilot) for step in ("onsite restore 1", "go on in the last copy"))
        assert DAMAGED not in told(pilot)  # it is said once
        await pilot.press("f4")
        await until(pilot, lambda: "Board" in type(pilot.app.screen).__name__ and stands(pilot))
        await pilot.press("f5")
        await until(pilot, lambda: isinstance(pilot.app.screen, HelpScreen))
        await pilot.press("f5")
        await until(pilot, lambda: stands(pilot))
        page.write(page.whole)
        await until(pilot, lambda: not stands(pilot))
        assert told(pilot) == "Looking for what has happened in the shoot works again."
        await pilot.press("f1")
        await pilot.pause()
        assert not stands(pilot)


@pytest.mark.long
async def test_a_worker_does_not_say_that_it_works_again_meanwhile(choirs: Shoot) -> None:
    async with opened(choirs) as pilot:
        app = pilot.app
        assert isinstance(app, OnsiteApp)
        app._live.looking_problem = Problem(DAMAGED)
        app.show_worker_message(Problem("Reading who waits has failed.", "It is tried again by itself."))
        await until(pilot, lambda: "Reading who waits has failed." in told(pilot))
        app.show_worker_message("Reading who waits works again.")
        await pilot.pause(0.1)
        assert "has failed" in told(pilot)
        app._live.looking_problem = None
        app.show_worker_message("Reading who waits works again.")
        await until(pilot, lambda: "works again" in told(pilot))
