"""With 16 colours, with none, and at any size."""

from __future__ import annotations

import pytest
from rich.color import Color, ColorSystem
from rich.style import Style

from onsite.checkin.check_in import check_in
from onsite.store.shoot import Shoot
from onsite.tui.dialogs.full_screen import SlateScreen
from onsite.tui.widgets.virtual_list import VirtualList
from tests.tiers import long_after
from tests.tui.driving import Driven, opened, screen_text, typed, until

THEMES = long_after(1, ("safelight", "daylight", "graycard"))
MODES = ("door", "set", "reconcile", "board", "desk")


def cells(pilot: Driven) -> list[tuple[str, Style]]:
    strips = pilot.app.screen._compositor.render_strips()
    return [(text, style or Style()) for strip in strips for text, style, _ in strip if text.strip()]


def in_16(colour: Color | None) -> int | None:
    """The number of the colour nearest to it, of the sixteen."""
    return None if colour is None else colour.downgrade(ColorSystem.STANDARD).number


@pytest.mark.long
@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("mode", MODES)
async def test_text_and_ground_differ_in_16_colours(choirs: Shoot, theme: str, mode: str) -> None:
    check_in(choirs, "2")
    async with opened(choirs, mode) as pilot:
        pilot.app.theme = theme
        await pilot.pause(0.2)
        shown = cells(pilot)
    assert len(shown) > 10
    for text, style in shown:
        if any(letter.isalnum() for letter in text):
            assert in_16(style.color) != in_16(style.bgcolor), (text, style)


@pytest.mark.long
@pytest.mark.parametrize("theme", THEMES)
async def test_the_chosen_row_stands_out_in_16_colours(choirs: Shoot, theme: str) -> None:
    async with opened(choirs, "board") as pilot:
        pilot.app.theme = theme
        await until(pilot, lambda: len(pilot.app.screen.query_one("#people", VirtualList).items) == 6)
        roll = pilot.app.screen.query_one("#people", VirtualList)
        await pilot.pause(0.2)
        chosen, other = (next(style for _, style, _ in roll.render_line(y)) for y in (0, 1))
    assert chosen is not None
    assert other is not None
    assert in_16(chosen.bgcolor) != in_16(other.bgcolor) or chosen.underline != other.underline


@pytest.mark.long
@pytest.mark.parametrize("theme", THEMES)
async def test_the_slate_is_black_on_white_whatever_the_theme(choirs: Shoot, theme: str) -> None:
    async with opened(choirs) as pilot:
        pilot.app.theme = theme
        await typed(pilot, "bo lind")
        await pilot.press("f6")
        await until(pilot, lambda: isinstance(pilot.app.screen, SlateScreen))
        await pilot.pause(0.2)
        strips = pilot.app.screen._compositor.render_strips()
        styles = {style for strip in strips for _, style, _ in strip if style}
    assert {style.bgcolor.get_truecolor().hex for style in styles if style.bgcolor} == {"#ffffff"}
    assert (0, 15) in {(in_16(style.color), in_16(style.bgcolor)) for style in styles}


@pytest.mark.long
async def test_without_colour_stages_and_warnings_are_words(
    choirs: Shoot, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    check_in(choirs, "3")
    async with opened(choirs, "door") as pilot:
        await typed(pilot, "zoe")
        await until(pilot, lambda: "! MUST NOT BE PUBLISHED" in screen_text(pilot))
        assert "▄ here" in screen_text(pilot)
        for _, style in cells(pilot):  # greys alone are drawn
            for colour in (style.color, style.bgcolor):
                red, green, blue = colour.get_truecolor() if colour else (0, 0, 0)
                assert red == green == blue


@pytest.mark.long
@pytest.mark.parametrize("mode", long_after(2, MODES))
async def test_any_size_and_back(choirs: Shoot, mode: str, monkeypatch: pytest.MonkeyPatch) -> None:
    now = choirs.now()
    monkeypatch.setattr(Shoot, "now", lambda _: now)  # the bar shows the time
    async with opened(choirs, mode, size=(120, 36)) as pilot:
        await pilot.pause(1)
        before = screen_text(pilot)
        for size in ((200, 60), (80, 24), (40, 12), (20, 5), (1, 1), (120, 36)):
            await pilot.resize_terminal(*size)
            await pilot.pause(0.1)
        await until(pilot, lambda: screen_text(pilot) == before)
