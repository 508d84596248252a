"""A command from the palette: found, its form filled with keys, run, and its result."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from threading import Event

import pytest
from textual.command import CommandPalette

from onsite.roster.read_people import read_people
from onsite.store.shoot import Shoot
from onsite.tui.app import OnsiteApp
from onsite.tui.commands.choose_path import ChoosePathScreen
from onsite.tui.commands.command_form import CommandFormScreen
from onsite.tui.commands.command_palette import EverydayNames
from onsite.tui.commands.command_run import CommandRunScreen
from onsite.tui.commands.palette_command import CommandResult, PaletteCommand, RunSettings
from onsite.tui.commands.start_command import start_command
from tests.tui.driving import COMMANDS, Driven, screen_text, typed, until


@asynccontextmanager
async def opened(shoot: Shoot, size: tuple[int, int] = (100, 30)) -> AsyncIterator[Driven]:
    app = OnsiteApp(shoot, "door-1", commands=COMMANDS)
    async with app.run_test(size=size) as pilot:
        await until(pilot, lambda: app.ready)
        yield pilot


def start(pilot: Driven, title: str) -> None:
    app = pilot.app
    assert isinstance(app, OnsiteApp)
    start_command(app, app, next(command for command in COMMANDS if command.title == title))


async def test_tickets_are_printed_with_a_few_keys(choirs: Shoot) -> None:
    async with opened(choirs) as pilot:
        await pilot.press("ctrl+p")
        await until(pilot, lambda: isinstance(pilot.app.screen, CommandPalette))
        await typed(pilot, "print tickets")
        await until(pilot, lambda: "Make tickets to print and cut: for everybody" in screen_text(pilot))
        await pilot.press("enter", "enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, CommandFormScreen))
        form = pilot.app.screen
        assert isinstance(form, CommandFormScreen)
        assert form.values["file"] == str(choirs.folder.absolute() / "tickets.pdf")
        await pilot.press("ctrl+s")
        await until(pilot, lambda: "6 tickets in" in screen_text(pilot))
        assert "Next: Print it at full size" in screen_text(pilot)
        await pilot.press("enter")
        await until(pilot, lambda: not isinstance(pilot.app.screen, CommandRunScreen))
    assert (choirs.folder / "tickets.pdf").is_file()


@pytest.mark.long
async def test_a_refusal_comes_back_in_the_form_with_what_was_typed(choirs: Shoot) -> None:
    async with opened(choirs) as pilot:
        start(pilot, "Walk-in")
        await until(pilot, lambda: isinstance(pilot.app.screen, CommandFormScreen))
        await typed(pilot, "Bo")
        await pilot.press("enter")
        await typed(pilot, "Lind")
        await pilot.press("ctrl+s")
        await until(pilot, lambda: "Bo Lind" in screen_text(pilot) and "!" in screen_text(pilot))
        assert isinstance(pilot.app.screen, CommandFormScreen)
        assert pilot.app.screen.values["given"] == "Bo"
        assert "--" not in screen_text(pilot)


async def test_enter_completes_a_group_and_leaves_a_person_as_typed(choirs: Shoot) -> None:
    async with opened(choirs) as pilot:
        start(pilot, "Check somebody in")
        await until(pilot, lambda: isinstance(pilot.app.screen, CommandFormScreen))
        await typed(pilot, "jür")
        await pilot.press("enter")
        assert isinstance(pilot.app.screen, CommandFormScreen)
        assert pilot.app.screen.values["who"] == "jür"
        await pilot.press("escape")
        start(pilot, "Walk-in")
        await until(pilot, lambda: bool(pilot.app.screen.query("#field-group")))
        pilot.app.screen.query_one("#field-group").focus()
        await typed(pilot, "ten")
        await pilot.press("enter")
        assert pilot.app.screen.values["group"] == "Tenors"


@pytest.mark.long
async def test_what_is_needed_is_asked_for(choirs: Shoot) -> None:
    async with opened(choirs) as pilot:
        start(pilot, "Give frames to a person")
        await until(pilot, lambda: isinstance(pilot.app.screen, CommandFormScreen))
        await pilot.press("ctrl+s")
        assert "frames is needed" in screen_text(pilot)


@pytest.mark.long
async def test_a_file_is_chosen_with_the_arrow_keys(choirs: Shoot) -> None:
    (choirs.folder / "a list.csv").write_text("x", encoding="utf-8")
    async with opened(choirs) as pilot:
        start(pilot, "Load picks")
        await until(pilot, lambda: isinstance(pilot.app.screen, CommandFormScreen))
        await typed(pilot, str(choirs.folder))
        await pilot.press("ctrl+o")
        await until(pilot, lambda: isinstance(pilot.app.screen, ChoosePathScreen))
        await until(pilot, lambda: "a list.csv" in screen_text(pilot))
        lines = screen_text(pilot).splitlines()
        first = next(number for number, line in enumerate(lines) if "backups" in line)
        wanted = next(number for number, line in enumerate(lines) if "a list.csv" in line)
        await pilot.press(*["down"] * (wanted - first + 1), "enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, CommandFormScreen))
        assert isinstance(pilot.app.screen, CommandFormScreen)
        assert pilot.app.screen.values["file"] == str(choirs.folder / "a list.csv")


@pytest.mark.long
async def test_progress_is_shown_and_escape_stops_it(choirs: Shoot) -> None:
    stepped = Event()

    def counts(_: object, settings: RunSettings) -> CommandResult:
        try:
            for done in range(1, 10_000):
                settings.progress(done, 10_000)
                stepped.set()
                Event().wait(0.01)
        except KeyboardInterrupt:
            return CommandResult("so far", stopped=True)
        return CommandResult("to the end")

    async with opened(choirs) as pilot:
        app = pilot.app
        assert isinstance(app, OnsiteApp)
        start_command(app, app, PaletteCommand("Count", "", "", (), counts))
        await until(pilot, lambda: "of 10,000" in screen_text(pilot))
        await pilot.press("enter")  # once too often
        stepped.clear()
        await until(pilot, stepped.is_set)
        await pilot.press("escape")
        await until(pilot, lambda: "Stopped. What was done so far is kept." in screen_text(pilot))
        assert "so far" in screen_text(pilot)
        await pilot.press("escape")
        await until(pilot, lambda: not isinstance(pilot.app.screen, CommandRunScreen))


@pytest.mark.long
async def test_a_mode_that_does_the_same_opens_instead(choirs: Shoot) -> None:
    async with opened(choirs) as pilot:
        app = pilot.app
        assert isinstance(app, OnsiteApp)
        entry = next(entry for entry in app.palette_entries() if entry.title == "Watch a folder")
        entry.call()
        await until(pilot, lambda: app.current_mode == "set")
        await until(pilot, lambda: "camera label" in screen_text(pilot))


@pytest.mark.long
async def test_every_form_fits_a_small_terminal(choirs: Shoot) -> None:
    async with opened(choirs, (80, 24)) as pilot:
        app = pilot.app
        assert isinstance(app, OnsiteApp)
        for command in (command for command in COMMANDS if command.fields and not command.by):
            start_command(app, app, command)
            await until(pilot, lambda: isinstance(app.screen, CommandFormScreen))
            text = screen_text(pilot)
            missing = [field.label for field in command.fields if field.at_once and field.label not in text]
            assert not missing, command.title
            await pilot.press("escape")
            await until(pilot, lambda: not isinstance(app.screen, CommandFormScreen))


def test_what_a_mode_does_in_its_own_way_is_there() -> None:
    for command in COMMANDS:
        if command.by is not None:
            mode, action = command.by
            assert hasattr(OnsiteApp.MODES[mode] if mode else OnsiteApp, f"action_{action}"), command.title


async def test_a_person_is_forgotten_only_after_a_look_and_a_yes(choirs: Shoot) -> None:
    def names() -> list[str]:
        with choirs.reading() as session:
            return [person.name for person in read_people(session)]

    async with opened(choirs) as pilot:
        for key, stays in (("enter", True), ("y", False)):
            start(pilot, "Forget a person")
            await until(pilot, lambda: isinstance(pilot.app.screen, CommandFormScreen))
            await typed(pilot, "Bo Lind")
            await pilot.press("ctrl+s")
            await until(pilot, lambda: "Y: yes, forget them. It cannot be taken back" in screen_text(pilot))
            assert "Forget a person: Bo Lind" in screen_text(pilot)
            assert "would be removed" in screen_text(pilot)
            await pilot.press(key)
            if not stays:
                await until(pilot, lambda: "Done." in screen_text(pilot))
                await pilot.press("enter")
            await until(pilot, lambda: not isinstance(pilot.app.screen, CommandRunScreen))
            assert ("Bo Lind" in names()) is stays


FOUND_FIRST = {
    "load": "Load the client's list",
    "list": "Load the client's list",
    "roster": "Load the client's list",
    "names": "Load the client's list",
    "import": "Load the client's list",
    "tickets": "Print tickets",
    "print": "Print tickets",
    "lost": "Print tickets",
    "card": "Read memory cards",
    "send": "Send to retoucher",
    "remind": "Write reminders",
    "undo": "Undo",
    "wrong": "Correct a person",
    "spelling": "Correct a person",
    "delete": "Forget a person",
    "consent": "Write down consent",
    "pick": "Load picks",
    "check": "Check somebody in",
    "backup": "Make a backup now",
    "slate": "Show a slate on this screen",
    "flash": "Set",
}


async def test_an_everyday_word_finds_the_everyday_thing_first(choirs: Shoot) -> None:
    async with opened(choirs) as pilot:
        names = EverydayNames(pilot.app.screen)
        first = {}
        for word in FOUND_FIRST:
            hits = [hit async for hit in names.search(word)]
            first[word] = str(max(hits, key=lambda hit: hit.score).text)
    assert first == FOUND_FIRST
