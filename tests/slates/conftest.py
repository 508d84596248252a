"""Decoders and viewers that do not come with the project, and the cards that the tests draw."""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from onsite.slates import printable_slate_names, slate_fonts
from onsite.slates.slate_layout import Ticket
from tests.slates.sample_cards import NAMES, cards_for


@pytest.fixture
def cards() -> list[Ticket]:
    return cards_for(NAMES)


def tool(name: str) -> Callable[..., str]:
    """A program's standard output as a function of its arguments; skips the test where it is absent."""
    if shutil.which(name) is None:
        pytest.skip(f"{name} is not installed here")

    def run(*arguments: object) -> str:
        done = subprocess.run([name, *map(str, arguments)], capture_output=True, check=False, text=True)
        return done.stdout

    return run


@pytest.fixture
def zbar() -> Callable[[Path], list[str]]:
    """The texts of the QR symbols in a picture, read by zbarimg of the ZBar project."""
    zbarimg = tool("zbarimg")
    return lambda path: zbarimg("--quiet", "--raw", "-Sdisable", "-Sqrcode.enable", path).split()


@pytest.fixture
def pdf_tool() -> Callable[[str], Callable[..., str]]:
    """A program of the Poppler project by its name."""
    return tool


@pytest.fixture
def only_bundled_fonts(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """A machine on which no font is installed."""

    def forget() -> None:
        slate_fonts.typeface_for.cache_clear()
        printable_slate_names.letter_text.cache_clear()

    forget()
    monkeypatch.setattr(slate_fonts, "installed_fonts", lambda: ())
    yield
    forget()
