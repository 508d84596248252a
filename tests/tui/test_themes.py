"""Themes: their files, what is wrong with some, and whether their text can be read.

Contrast: WCAG 2.2, success criterion 1.4.3 (AA): 4.5 to 1 for text; 1.4.11: 3 to 1 for parts of the screen
that carry meaning. Computed by coloraide, a general colour library, from the definition in WCAG.
"""

from pathlib import Path
from typing import Any

import pytest
from coloraide import Color

from onsite.core.errors import Problem
from onsite.files.program_resources import shipped_folder
from onsite.store.shoot import Shoot
from onsite.tui import themes
from tests.tui.driving import opened, screen_text, until

SHIPPED = sorted(shipped_folder("themes").glob("*.toml"))
TEXT_ON_GROUND = [
    ("ink", "ground"),
    ("ink", "raised"),
    ("quiet", "ground"),
    ("quiet", "raised"),
    ("on_mark", "mark"),
    ("on_alert", "alert"),
    ("alert", "ground"),
]


def contrast(one: str, other: str) -> float:
    return Color(one).contrast(other, method="wcag21")


def test_the_contrast_of_black_and_white_is_21() -> None:
    """The ends of the scale as WCAG 2.2 defines it."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#ffffff") == pytest.approx(
        4.48, abs=0.005
    )  # the known near miss, from memory


def test_three_themes_are_shipped() -> None:
    assert [path.stem for path in SHIPPED] == ["daylight", "graycard", "safelight"]


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
@pytest.mark.parametrize(("text", "ground"), TEXT_ON_GROUND)
def test_text_of_shipped_themes_meets_aa(path: Path, text: str, ground: str) -> None:
    colours = themes.read_theme(path).colours
    assert contrast(colours[text], colours[ground]) >= 4.5


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_the_chosen_row_and_an_alert_stand_out(path: Path) -> None:
    colours = themes.read_theme(path).colours
    for name in ("mark", "alert"):
        assert contrast(colours[name], colours["ground"]) >= 3


@pytest.mark.parametrize("name", ["graycard", "daylight"])
def test_an_alert_is_no_plain_text_and_no_cursor(name: str) -> None:
    """A colour difference (CIEDE2000) of 20, ten times what is just seen side by side: our own choice. The
    safelight has one hue and little range: only an alert is filled there, and what is chosen underlined."""
    colours = themes.read_theme(shipped_folder("themes") / f"{name}.toml").colours
    for other in ("ink", "mark"):
        assert Color(colours["alert"]).delta_e(colours[other], method="2000") >= 20


def test_daylight_has_the_highest_contrast_there_is() -> None:
    colours = themes.read_theme(shipped_folder("themes") / "daylight.toml").colours
    assert contrast(colours["ink"], colours["ground"]) == pytest.approx(21)


def test_nothing_in_graycard_but_an_alert_has_a_hue() -> None:
    for name, colour in themes.read_theme(shipped_folder("themes") / "graycard.toml").colours.items():
        if name == "alert":
            continue
        red, green, blue = Color(colour).coords()
        assert red == green == blue


def test_safelight_is_red_on_black() -> None:
    """Next to no light but red leaves the screen: what little green and blue there is makes text legible."""
    look = themes.read_theme(shipped_folder("themes") / "safelight.toml")
    assert look.tint
    for colour in look.colours.values():
        red, green, blue = (channel for channel in Color(colour).convert("srgb-linear").coords())
        assert green + blue <= 0.12 * red


@pytest.fixture
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The user's own folder of themes."""
    folder = tmp_path / "themes"
    folder.mkdir()
    monkeypatch.setattr(themes, "user_folder", lambda: folder)
    return folder


def test_a_theme_of_ones_own_is_loaded_beside_the_shipped_ones(own: Path) -> None:
    mine = (shipped_folder("themes") / "daylight.toml").read_text().replace("#8c0000", "#00008c")
    (own / "mine.toml").write_text(mine)
    looks, problems = themes.all_themes()
    assert sorted(looks) == ["daylight", "graycard", "mine", "safelight"]
    assert looks["mine"].colours["alert"] == "#00008c"
    assert not problems


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("dark = ", "cannot be read"),
        ("dark = true", "no colour for ground"),
        ('colours = "red"', "no table"),
        ('[colours]\nground = "bluish"', "no colour for ground"),
    ],
)
def test_a_broken_theme_is_told_and_the_others_are_there(own: Path, text: str, told: str) -> None:
    (own / "broken.toml").write_text(text)
    looks, problems = themes.all_themes()
    assert sorted(looks) == ["daylight", "graycard", "safelight"]
    (problem,) = problems
    assert isinstance(problem, Problem)
    assert told in problem.what
    assert "broken.toml" in problem.what


def test_the_choice_is_kept(own: Path) -> None:  # noqa: ARG001
    assert themes.chosen_theme() == "graycard"
    themes.choose_theme("safelight")
    assert themes.chosen_theme() == "safelight"


@pytest.mark.long
async def test_a_theme_is_on_the_screens_as_the_cursor_comes_to_it_and_taken_back(choirs: Shoot) -> None:
    async with opened(choirs, "board") as pilot:
        app: Any = pilot.app
        before = app.theme
        app.action_preview_themes()
        await until(pilot, lambda: "Enter keeps it" in screen_text(pilot))
        assert "Photographed, by group" in screen_text(pilot)  # the screen behind is the preview
        await pilot.press("down")
        await until(pilot, lambda: app.theme != before)
        await pilot.press("escape")
        await until(pilot, lambda: app.theme == before)
        app.action_preview_themes()
        await pilot.pause()
        await pilot.press("end", "enter")
        await until(pilot, lambda: app.theme == themes.chosen_theme() == "safelight")
