"""Themes: one TOML file each, shipped or in the user's own folder.

A theme names the few colours that the screens are made of. Every other colour that Textual would choose is
set from these, so that nothing on the screen has a colour that the file does not name.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from textual.color import Color, ColorParseError
from textual.theme import Theme

from onsite.core.errors import Problem
from onsite.files.program_resources import shipped_folder

DEFAULT = "graycard"

COLOURS = ("ground", "raised", "ink", "quiet", "mark", "on_mark", "alert", "on_alert", "line")
"""The colours that a theme file must name.

The background, a raised background, text, quieter text, the background and text of the chosen row, the
background and text of a warning, and lines and bars.
"""


@dataclass(frozen=True, slots=True)
class ScreenTheme:
    """A theme read from a file. `tint` says that pictures are shown in shades of the ink colour alone."""

    name: str
    dark: bool
    tint: bool
    colours: dict[str, str]

    def theme(self) -> Theme:
        """The Textual theme with these colours."""
        c = self.colours
        return Theme(
            name=self.name,
            dark=self.dark,
            primary=c["line"],
            secondary=c["line"],
            accent=c["ink"],
            warning=c["ink"],
            error=c["ink"],
            success=c["ink"],
            foreground=c["ink"],
            background=c["ground"],
            surface=c["ground"],
            panel=c["raised"],
            boost=c["raised"],
            variables=_variables(c) | _marked(c, self.tint),
        )


_TAKEN_FROM = {
    "ink": """text foreground link-color input-foreground button-foreground footer-foreground
        footer-description-foreground footer-key-foreground text-primary text-secondary text-warning
        text-error text-success text-accent block-cursor-blurred-foreground input-cursor-background""",
    "quiet": "text-muted text-disabled foreground-muted foreground-disabled border-blurred",
    "ground": """input-cursor-foreground scrollbar-background scrollbar-background-hover
        scrollbar-background-active scrollbar-corner-color surface-active link-background""",
    "raised": """footer-background footer-key-background footer-description-background footer-item-background
        block-hover-background block-cursor-blurred-background primary-muted secondary-muted accent-muted
        warning-muted error-muted success-muted""",
    "mark": """block-cursor-background input-selection-background screen-selection-background
        link-background-hover""",
    "on_mark": """block-cursor-foreground input-selection-foreground screen-selection-foreground
        link-color-hover button-color-foreground""",
    "line": "border scrollbar scrollbar-hover scrollbar-active",
}
"""Textual's colour variables, by the theme colour that they are set to."""


def _variables(colours: dict[str, str]) -> dict[str, str]:
    taken = {name: colours[colour] for colour, names in _TAKEN_FROM.items() for name in names.split()}
    return taken | {name.replace("_", "-"): colour for name, colour in colours.items()}


def _marked(colours: dict[str, str], tint: bool) -> dict[str, str]:
    """How what is chosen is drawn: as a filled bar; in a theme of one hue underlined, where only an alert is
    filled."""
    if tint:
        return {"mark-text": colours["ink"], "mark-fill": colours["raised"], "mark-style": "bold underline"}
    return {"mark-text": colours["on_mark"], "mark-fill": colours["mark"], "mark-style": "bold"}


def read_theme(path: Path) -> ScreenTheme:
    """The theme in the file. Raises Problem where it cannot be read or lacks a colour."""
    try:
        values = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise Problem(f"The theme {path} cannot be read: {error}", "Mend that line, or remove it.") from error
    colours = values.get("colours", {})
    if not isinstance(colours, dict):
        raise Problem(f"The theme {path} has no table [colours].", f"It names: {', '.join(COLOURS)}.")
    for name in COLOURS:
        try:
            Color.parse(str(colours.get(name, "")))
        except ColorParseError as error:
            raise Problem(
                f"The theme {path} gives no colour for {name}.", 'Write it like ground = "#000000".'
            ) from error
    given = {name: str(colours[name]) for name in COLOURS}
    return ScreenTheme(path.stem, bool(values.get("dark", True)), bool(values.get("tint", False)), given)


def user_folder() -> Path:
    """The folder with the user's own themes and the choice of a theme."""
    import platformdirs

    return platformdirs.user_config_path("onsite") / "themes"


def all_themes() -> tuple[dict[str, ScreenTheme], list[Problem]]:
    """Every theme by name, the user's own before shipped ones, and what was wrong with unreadable files."""
    looks: dict[str, ScreenTheme] = {}
    problems: list[Problem] = []
    for path in _files():
        try:
            look = read_theme(path)
        except Problem as problem:
            problems.append(problem)
        else:
            looks[look.name] = look
    return looks, problems


def _files() -> Iterator[Path]:
    for folder in (shipped_folder("themes"), user_folder()):
        if folder.is_dir():
            yield from sorted(folder.glob("*.toml"))


def chosen_theme() -> str:
    """The name of the theme chosen last on this machine."""
    try:
        return (user_folder() / "chosen").read_text(encoding="utf-8").strip() or DEFAULT
    except (OSError, UnicodeDecodeError):
        return DEFAULT


def choose_theme(name: str) -> None:
    """Save the choice for the next time; a folder that cannot be written is no reason to stop."""
    import contextlib

    with contextlib.suppress(OSError):
        user_folder().mkdir(parents=True, exist_ok=True)
        (user_folder() / "chosen").write_text(name, encoding="utf-8")
