"""Contrast of what is really drawn, letter by letter, in every mode and theme.

WCAG 2.2, success criterion 1.4.3 (AA): 4.5 to 1 for text; 1.4.11: 3 to 1 for what else carries meaning, here
the shapes of stages and runs. Computed by coloraide, a general colour library.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from functools import lru_cache

import pytest
from coloraide import Color
from rich.style import Style
from textual.widget import Widget

from onsite.checkin.check_in import check_in
from onsite.store.shoot import Shoot
from onsite.tui.widgets.frame_picture import FramePicture
from tests.tiers import long_after
from tests.tui.driving import Driven, opened, screen_text, typed, until

THEMES = long_after(1, ("safelight", "daylight", "graycard"))
LINES = set("━┃┏┓┗┛─│┌┐└┘▔▊▎▏▕")
"""Borders part the screen and say nothing."""


@lru_cache
def contrast(text: str, ground: str) -> float:
    return Color(text).contrast(ground, method="wcag21")


def drawn(pilot: Driven) -> Iterator[tuple[str, str, str]]:
    """(letter, its colour, its ground) of each cell that is not empty, pictures aside."""
    screen = pilot.app.screen
    pictures: list[Widget] = [one for one in screen.query(FramePicture) if one.display]
    for y, strip in enumerate(screen._compositor.render_strips()):
        x = 0
        for text, style, _ in strip:
            for letter in text:
                inside = any(picture.region.contains(x, y) for picture in pictures)
                if letter.strip() and letter not in LINES and not inside:
                    yield letter, *colours(style or Style())
                x += 2 if unicodedata.east_asian_width(letter) in "WF" else 1


def colours(style: Style) -> tuple[str, str]:
    assert style.color is not None
    assert style.bgcolor is not None
    pair = (style.color.get_truecolor().hex, style.bgcolor.get_truecolor().hex)
    return (pair[1], pair[0]) if style.reverse else pair


@pytest.mark.long
@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("keys", ["f1", "f2", "f3", "f4", "f10", "f5", "f8", "ctrl+p"])
async def test_all_that_is_drawn_can_be_read(choirs: Shoot, theme: str, keys: str) -> None:
    for key in "234":
        check_in(choirs, key)
    async with opened(choirs, size=(100, 30)) as pilot:
        pilot.app.theme = theme
        await typed(pilot, "zoe")
        await until(pilot, lambda: "MUST NOT BE PUBLISHED" in screen_text(pilot))
        await pilot.press(keys)
        await pilot.pause(0.3)
        cells = set(drawn(pilot))
    assert len(cells) > 20
    for letter, text, ground in cells:
        if keys == "ctrl+p" and not letter.isalnum():
            continue  # the palette's frame: its letters say all
        least = 4.5 if letter.isalnum() else 3.0
        assert contrast(text, ground) >= least, (letter, text, ground)


@pytest.mark.long
@pytest.mark.parametrize("theme", THEMES)
async def test_alert_and_selection_stand_out_from_their_ground_as_drawn(choirs: Shoot, theme: str) -> None:
    """WCAG 2.2, 1.4.11: 3 to 1 for what carries meaning: here the fill of a bar against the ground."""
    check_in(choirs, "3")
    async with opened(choirs, size=(100, 30)) as pilot:
        pilot.app.theme = theme
        await typed(pilot, "zoe")
        await until(pilot, lambda: "MUST NOT BE PUBLISHED" in screen_text(pilot))
        await pilot.press("enter")
        await until(pilot, lambda: "ALREADY HERE" in screen_text(pilot))
        await pilot.press("down")
        await pilot.pause(0.3)
        fills = {ground for _, _, ground in drawn(pilot)}
        look = pilot.app.screen_themes[theme]  # type: ignore[attr-defined]
        strips = pilot.app.screen._compositor.render_strips()
        underlined = {
            colours(style)[0] for line in strips for _, style, _ in line if style and style.underline
        }
    assert look.colours["alert"] in fills
    assert look.colours["mark"] in (underlined if look.tint else fills)
    assert not look.tint or len(fills) == 3  # the ground, the raised one, and the alert's
    for fill in ("alert", "mark"):
        assert contrast(look.colours[fill], look.colours["ground"]) >= 3
