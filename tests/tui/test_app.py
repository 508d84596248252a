"""What is around the modes: keys, help, palette, closing."""

from __future__ import annotations

import threading

import pytest
from textual.command import CommandPalette

from onsite.checkin.check_in import check_in
from onsite.core.errors import Problem
from onsite.reconcile.current_match import matched_until
from onsite.store.events import EventKind, newest_event_id, read_events
from onsite.store.shoot import Shoot
from onsite.tui.app import OnsiteApp
from onsite.tui.commands.command_palette import has_words
from onsite.tui.dialogs.key_help import HelpScreen
from tests.tiers import long_after
from tests.tui.driving import opened, screen_text, told, typed, until

MODES = {"f1": "door", "f2": "set", "f3": "reconcile", "f4": "board", "f10": "desk"}


async def test_one_key_for_each_mode_from_wherever_one_is(choirs: Shoot) -> None:
    async with opened(choirs) as pilot:
        for _ in range(2):
            for key, mode in MODES.items():
                await pilot.press(key)
                await until(pilot, lambda mode=mode: pilot.app.current_mode == mode)  # type: ignore[misc]


@pytest.mark.long
async def test_the_desk_has_a_second_key_for_terminals_that_keep_f10(choirs: Shoot) -> None:
    async with opened(choirs) as pilot:
        await typed(pilot, "bo")
        await pilot.press("ctrl+g")
        await until(pilot, lambda: pilot.app.current_mode == "desk")


@pytest.mark.parametrize("mode", long_after(1, MODES.values()))
async def test_help_lists_every_key_that_the_mode_has(choirs: Shoot, mode: str) -> None:
    async with opened(choirs, mode, size=(100, 60)) as pilot:
        bindings = [
            active.binding
            for active in pilot.app.screen.active_bindings.values()
            if active.binding.show and active.binding.description
        ]
        await pilot.press("f5")
        await until(pilot, lambda: isinstance(pilot.app.screen, HelpScreen))
        text = screen_text(pilot)
        assert len(bindings) >= 3
        for binding in bindings:
            assert binding.description.casefold() in text.casefold()
        await pilot.press("f5")
        assert not isinstance(pilot.app.screen, HelpScreen)


@pytest.mark.long
async def test_the_palette_goes_to_a_mode_and_changes_the_theme(choirs: Shoot) -> None:
    async with opened(choirs) as pilot:
        await pilot.press("ctrl+p")
        await until(pilot, lambda: isinstance(pilot.app.screen, CommandPalette))
        await typed(pilot, "safelight")
        await pilot.pause(0.5)
        await pilot.press("enter", "enter")
        await until(pilot, lambda: pilot.app.theme == "safelight")
    again = OnsiteApp(choirs)
    assert again.theme == "safelight"  # it is kept for the next time


@pytest.mark.parametrize("words", ["new shoot", "make a shoot", "demo", "join", "another shoot"])
async def test_what_is_done_outside_a_shoot_is_found_too(choirs: Shoot, words: str) -> None:
    app = OnsiteApp(choirs)
    async with app.run_test() as pilot:
        await pilot.pause()
        found = [entry for entry in app.palette_entries() if has_words(entry, words)]
        found[0].call()
        await pilot.pause()
    assert app.goes_to_another


@pytest.mark.long
async def test_closing_waits_until_everything_is_written(choirs: Shoot) -> None:
    go_on = threading.Event()
    done: list[int] = []
    async with opened(choirs) as pilot:
        app = pilot.app
        assert isinstance(app, OnsiteApp)
        app.write(lambda: go_on.wait(10))
        for number in range(3):
            app.write(lambda number=number: done.append(number))  # type: ignore[misc]
        threading.Timer(0.3, go_on.set).start()
    assert done == [0, 1, 2]


@pytest.mark.long
async def test_a_refused_write_is_told_and_the_next_is_carried_out(choirs: Shoot) -> None:
    def refused() -> None:
        raise Problem("The disk is full: nothing of this was saved.", "Free some space and do it again.")

    async with opened(choirs) as pilot:
        app = pilot.app
        assert isinstance(app, OnsiteApp)
        app.write(refused)
        await until(pilot, lambda: told(pilot).startswith("! The disk is full"))
        await typed(pilot, "bo lind")
        await pilot.press("enter")
        await until(pilot, lambda: "1: Bo Lind arrived" in told(pilot))


@pytest.mark.long
async def test_a_shoot_without_a_list_says_what_to_do(shoot: Shoot) -> None:
    async with opened(shoot) as pilot:
        await until(pilot, lambda: "nobody has come yet" in screen_text(pilot))
        for key in MODES:
            await pilot.press(key)
            await pilot.pause()


@pytest.mark.long
async def test_at_reconcile_whatever_happens_is_matched_at_once(choirs: Shoot) -> None:
    """Elsewhere an arrival, which names no frame, waits for the next match that matters."""
    async with opened(choirs, "reconcile") as pilot:
        await until(pilot, lambda: fresh(choirs))
        check_in(choirs, "2")
        await until(pilot, lambda: fresh(choirs))


@pytest.mark.long
async def test_two_screens_on_one_shoot_see_each_other(choirs: Shoot) -> None:
    async with (
        opened(choirs, "door", station="door-1") as door,
        opened(choirs, "set", station="set-A") as on_set,
    ):
        await typed(door, "bo lind")
        await door.press("enter")
        await until(on_set, lambda: "Bo Lind" in screen_text(on_set))
        await on_set.press("enter")
        await until(on_set, lambda: shown_at(choirs) == ["set-A"])


def fresh(shoot: Shoot) -> bool:
    """Whether the match kept knows all that has happened."""
    with shoot.reading() as session:
        return matched_until(session) == newest_event_id(session)


def shown_at(shoot: Shoot) -> list[str]:
    with shoot.reading() as session:
        return [event.station for event in read_events(session, (EventKind.SLATE_SHOWN,))]
