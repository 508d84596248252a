from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image
from rich.cells import cell_len

from onsite.core.errors import Problem
from onsite.slates.qr_symbol import qr_modules
from onsite.slates.terminal_slate import slate_ansi, slate_block, slate_lines, slate_text

CODE = "NX34ACDEFHJK"
HALVES = {" ": (0, 0), "▀": (1, 0), "▄": (0, 1), "█": (1, 1)}
"""Which halves of a cell are inked (Unicode, block elements U+2580 to U+2588)."""

ESCAPE = re.compile(r"\x1b\[([0-9;]*)m")


def pixels(lines: list[str]) -> NDArray[np.bool_]:
    """The picture that a terminal makes of half blocks, one pixel to a half cell; True is dark."""
    halves = np.array([[HALVES[char] for char in line] for line in lines], dtype=bool)
    return halves.transpose(0, 2, 1).reshape(2 * len(lines), -1)


def symbol_rows(lines: list[str]) -> list[str]:
    return [line for line in lines if set(line) <= set(HALVES)]


@pytest.mark.parametrize("scale", [1, 2, 3])
def test_the_slate_on_screen_decodes(scale: int, tmp_path: Path, zbar: Callable[[Path], list[str]]) -> None:
    dark = pixels(slate_lines(CODE, scale))
    Image.fromarray(np.kron(~dark, np.ones((8, 8), bool))).save(tmp_path / "screen.png")
    assert zbar(tmp_path / "screen.png") == [CODE]


def test_the_symbol_has_its_quiet_zone_on_screen() -> None:
    dark = pixels(slate_lines(CODE))
    assert (
        dark[4:25, 4:25] == qr_modules(CODE)
    ).all()  # ISO/IEC 18004, 5.3.8: four light modules on every side
    assert dark.shape == (30, 29)  # an odd number of modules: one more light row at the bottom
    assert dark.sum() == qr_modules(CODE).sum()


def test_colours_are_black_on_white_on_every_line_and_end_with_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    for line in slate_ansi(CODE, "Ida Berg").splitlines():
        first, *between, last = ESCAPE.findall(line)
        # ISO/IEC 8613-6 (ITU-T T.416), 13.1.8: 38;2;r;g;b sets the ink, 48;2;r;g;b the ground.
        assert first == "0;38;2;0;0;0;48;2;255;255;255"
        assert (between, last) == ([], "0")
        assert line.startswith("\x1b")
        assert line.endswith("m")


def test_what_is_printed_decodes(tmp_path: Path, zbar: Callable[[Path], list[str]]) -> None:
    printed = [
        ESCAPE.sub("", line) for line in slate_ansi(CODE, "Ida Berg", columns=100, rows=40).splitlines()
    ]
    dark = pixels(symbol_rows(printed))
    Image.fromarray(np.kron(~dark, np.ones((5, 5), bool))).save(tmp_path / "screen.png")
    assert zbar(tmp_path / "screen.png") == [CODE]


def test_name_and_code_stand_under_the_symbol() -> None:
    lines = slate_block(CODE, "Ida Berg")
    assert [line.strip() for line in lines[-3:]] == ["Ida Berg", "NX34 ACDE FHJK", ""]


@pytest.mark.parametrize("name", ["", "Ida", "李小龍", "Maria " * 20, "李" * 40, "שרה בן־דוד"])
@pytest.mark.parametrize(("columns", "rows"), [(29, 18), (80, 24), (58, 32), (300, 100)])
def test_a_slate_is_a_rectangle_that_fits(name: str, columns: int, rows: int) -> None:
    lines = slate_block(CODE, name, columns, rows)
    assert len(lines) <= rows
    (width,) = {cell_len(line) for line in lines}
    assert width <= columns


@pytest.mark.parametrize(
    ("columns", "rows", "scale"), [(80, 24, 1), (58, 33, 2), (57, 200, 1), (200, 47, 2), (200, 48, 3)]
)
def test_the_slate_is_as_large_as_the_terminal_allows(columns: int, rows: int, scale: int) -> None:
    assert len(slate_block(CODE, "Ida", columns, rows)[0]) == 29 * scale


@pytest.mark.parametrize(("columns", "rows"), [(28, 50), (80, 17), (0, 0)])
def test_a_terminal_too_small_is_a_problem_that_says_what_is_needed(columns: int, rows: int) -> None:
    with pytest.raises(Problem, match="29 columns by 18 rows"):
        slate_ansi(CODE, "Ida", columns=columns, rows=rows)


def test_a_hostile_name_is_shown_and_not_obeyed() -> None:
    name = "Eve\x1b[2J\n[bold]\x07"
    assert "\x1b[2J" not in slate_ansi(CODE, name)
    assert "Eve\ufffd[2J [bold]\ufffd" in slate_ansi(CODE, name)
    assert "[bold]" in slate_text(CODE, name).plain


def test_on_a_rich_screen_every_cell_is_black_on_white() -> None:
    from rich.console import Console

    text = slate_text(CODE, "Ida Berg")
    assert text.plain.split("\n") == slate_block(CODE, "Ida Berg")
    console = Console(width=80, color_system="truecolor", force_terminal=True, no_color=False)
    for segment in console.render(text):
        if segment.text.strip("\n"):
            assert segment.style is not None
            assert (segment.style.color, segment.style.bgcolor) != (None, None)
            assert str(segment.style) == "#000000 on #ffffff"
