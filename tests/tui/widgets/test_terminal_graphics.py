"""Which graphics a terminal gets."""

from __future__ import annotations

import re

import numpy as np
import pytest
from PIL import Image
from textual_image._sixel import image_to_sixels

from onsite.tui.widgets.terminal_graphics import kitty_version, selected_when_defined


@pytest.mark.parametrize(
    ("answer", "version"),
    [
        ("\x1bP>|kitty(0.26.5)\x1b\\", (0, 26)),
        ("\x1bP>|kitty(1.2.3)\x1b\\", (1, 2)),
        ("\x1bP>|XTerm(379)\x1b\\", None),
        ("", None),
    ],
)
def test_the_version_is_read_from_the_answer(answer: str, version: tuple[int, int] | None) -> None:
    assert kitty_version(answer) == version


def test_each_colour_is_selected_where_it_is_defined() -> None:
    """xterm goes on in the colour before after a definition; ECMA-48's device control string stays whole."""
    rng = np.random.default_rng(1)
    picture = Image.fromarray(rng.integers(0, 255, (12, 16, 3), dtype=np.uint8))
    graphics = image_to_sixels(picture)
    said = selected_when_defined(graphics)
    defined = re.findall(r"#(\d+);2;\d+;\d+;\d+", graphics)
    selected = re.findall(r"#(\d+);2;\d+;\d+;\d+#(\d+)", said)
    assert len(defined) > 10
    assert selected == [(number, number) for number in defined]
    assert said.startswith("\x1bP")
    assert said.endswith("\x1b\\")
