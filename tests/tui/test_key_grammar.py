"""The grammar of keys: one meaning for a key in all modes, held over every binding of every mode."""

from __future__ import annotations

from collections import Counter

import pytest
from textual.binding import Binding

from onsite.store.shoot import Shoot
from onsite.tui.app import OnsiteApp
from onsite.tui.key_grammar import GRAMMAR
from onsite.tui.mode_screen import ModeScreen
from tests.tui.driving import opened, screen_text, told, typed, until

MEANING = {key: entry for entry in GRAMMAR for key in entry.keys.split(",")}
DISPLAY = {"u": {"U", "F9"}, "f9": {"U", "F9"}}
"""At the door letters are typed, so its footer shows the function key of the same meaning."""

MODES = {name: mode for name, mode in OnsiteApp.MODES.items() if issubclass(mode, ModeScreen)}


def bindings(mode: type[ModeScreen]) -> list[Binding]:
    """The bindings of a mode, its own and those that all modes have."""
    made = [
        entry
        for cls in mode.__mro__
        if issubclass(cls, ModeScreen)
        for entry in cls.__dict__.get("BINDINGS", ())
    ]
    assert all(isinstance(entry, Binding) for entry in made)
    return [entry for entry in made if isinstance(entry, Binding)]


def test_no_key_means_two_things() -> None:
    keys = [key for entry in GRAMMAR for key in entry.keys.split(",")]
    assert [key for key, count in Counter(keys).items() if count > 1] == []


@pytest.mark.parametrize("mode", MODES)
def test_every_binding_of_a_mode_follows_the_grammar(mode: str) -> None:
    assert len(MODES) == 5
    for binding in bindings(MODES[mode]):
        for key in binding.key.split(","):
            meaning = MEANING[key]
            assert binding.action == meaning.action, key
            assert binding.key_display in DISPLAY.get(key, {meaning.display}), key
        name = binding.action.partition("(")[0]
        assert name.startswith("app.") or hasattr(MODES[mode], f"action_{name}"), name


@pytest.mark.parametrize("mode", MODES)
def test_every_mode_has_the_main_thing_and_says_so_first(mode: str) -> None:
    keys = {key for binding in bindings(MODES[mode]) for key in binding.key.split(",")}
    assert {"enter", "tab", "question_mark"} <= keys
    footer = [binding for binding in MODES[mode].__dict__["BINDINGS"] if binding.show]
    assert footer[0].key == "enter"


@pytest.mark.long
@pytest.mark.parametrize("mode", ["set", "reconcile", "board", "desk"])
async def test_a_question_mark_explains_the_signs_of_the_mode(choirs: Shoot, mode: str) -> None:
    async with opened(choirs, mode, size=(110, 50)) as pilot:
        await pilot.press("question_mark")
        await until(pilot, lambda: "Ctrl+P everything that can be done" in screen_text(pilot))
        text = " ".join(screen_text(pilot).split())
        for sign, meaning in MODES[mode].SIGNS:
            assert sign in text
            assert meaning.split()[0] in text


@pytest.mark.long
async def test_a_click_on_a_tab_goes_there(choirs: Shoot) -> None:
    async with opened(choirs, "door") as pilot:
        await pilot.click("Bar", offset=(12, 0))
        await until(pilot, lambda: pilot.app.current_mode == "set")
        await pilot.click("Bar", offset=(2, 0))
        await until(pilot, lambda: pilot.app.current_mode == "door")


async def test_a_click_on_the_footer_checks_in(choirs: Shoot) -> None:
    async with opened(choirs, "door") as pilot:
        await typed(pilot, "bo lind")
        await pilot.click("FooterKey")  # the first one is the main thing
        await until(pilot, lambda: "1: Bo Lind arrived" in told(pilot))
